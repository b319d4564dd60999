//! A PDF taken apart: the files within it, and what its pages show.
//!
//! It reads what this program writes, and what a tool leaves of it that copies a PDF object
//! by object: one table of objects at the end, streams that are packed (Flate) or not. All
//! else is refused, and so is a file that something was added to after its end, for readers
//! differ in what they make of it. Every step has a bound, also of what a packed stream opens
//! to, which readers of any PDF do not have.

mod object;
mod page;
mod shown;

use std::cell::Cell;
use std::collections::BTreeMap;
use std::io::Read;

use flate2::read::ZlibDecoder;
use thiserror::Error;

use object::Dict;
pub use object::{Lexer, Object};
pub use page::{PageFont, PageParts};

/// The largest file that is read, in bytes.
pub const FILE_BYTES_MAX: usize = 96 << 20;
/// What all streams of a file may open to, in bytes.
const OPENED_BYTES_MAX: u64 = 128 << 20;
/// The longest object, its stream apart, in bytes: what is read of it takes some twenty times
/// as much memory.
const OBJECT_BYTES_MAX: usize = 4 << 20;
/// What all looking up of objects may come to, in bytes read.
const READ_BYTES_MAX: u64 = 16 << 20;
/// The most objects of a file.
const OBJECTS_MAX: usize = 400_000;
/// The most attachments, and the most pages.
const NAMES_MAX: usize = 5_000;
/// What stands before the place of the table of objects.
const START: &[u8] = b"startxref";
/// How deep trees of names and pages may be.
const TREE_DEPTH_MAX: usize = 20;

/// Why a file cannot be taken apart.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum NotRead {
    /// It is no PDF.
    #[error("it is no PDF")]
    NoPdf,
    /// It is larger than anything that is read.
    #[error("it has {bytes} bytes; at most {FILE_BYTES_MAX} are read")]
    TooLarge {
        /// Its length.
        bytes: usize,
    },
    /// It is written in a way that this program does not write.
    #[error("{0}")]
    OtherWay(OtherWay),
    /// It does not hold together.
    #[error("it does not hold together: {0}")]
    Broken(String),
}

/// In which way that this program does not write.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum OtherWay {
    /// It is locked.
    #[error("it is locked with a password")]
    Locked,
    /// It was added to.
    #[error("something was added to it after it was written; ask for the file as it was")]
    AddedTo,
    /// Its objects are packed.
    #[error(
        "its objects are packed by another program; ask for the file as it was written, or \
         unpack it: qpdf --object-streams=disable"
    )]
    PackedObjects,
    /// A stream is packed otherwise.
    #[error("it is packed in a way that is not read")]
    PackedStream,
    /// A page holds what this program does not write.
    #[error("this page holds what only other programs write, so it is not drawn here")]
    Page,
}

/// A file within a PDF.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileWithin {
    /// Its name.
    pub name: String,
    /// Its bytes.
    ///
    /// # Errors
    /// Why they cannot be had.
    pub bytes: Result<Vec<u8>, NotRead>,
    /// Whether it is in the list of names, where every program looks.
    pub is_listed: bool,
}

/// A PDF.
pub struct PdfFile<'a> {
    bytes: &'a [u8],
    /// Where each object begins.
    places: BTreeMap<u32, usize>,
    root: Object<'a>,
    /// What its streams may still open to.
    left: Cell<u64>,
    /// What may still be read of its objects.
    unread: Cell<u64>,
}

/// An object with the raw bytes of its stream, where it has one.
struct FoundObject<'a> {
    object: Object<'a>,
    stream: Option<&'a [u8]>,
}

fn broken(why: impl Into<String>) -> NotRead {
    NotRead::Broken(why.into())
}

impl<'a> PdfFile<'a> {
    /// Looks up where everything is.
    ///
    /// # Errors
    /// [`NotRead`].
    pub fn open(bytes: &'a [u8]) -> Result<Self, NotRead> {
        if bytes.len() > FILE_BYTES_MAX {
            let bytes = bytes.len();
            return Err(NotRead::TooLarge { bytes });
        }
        if !bytes.starts_with(b"%PDF-") {
            return Err(NotRead::NoPdf);
        }
        let tail = bytes.len().saturating_sub(1_024);
        let found = bytes[tail..].windows(START.len()).rposition(|w| w == START);
        let end = tail + found.ok_or_else(|| broken("its end is missing"))? + START.len();
        let table = Lexer::new(bytes, end).whole();
        let table = table
            .filter(|at| *at < end)
            .ok_or_else(|| broken("its end names no table"))?;
        let mut file = Self {
            bytes,
            places: BTreeMap::new(),
            root: Object::Plain(b"null"),
            left: Cell::new(OPENED_BYTES_MAX),
            unread: Cell::new(READ_BYTES_MAX),
        };
        let trailer = file.read_table(table)?;
        if trailer.contains_key(b"Encrypt".as_slice()) {
            return Err(NotRead::OtherWay(OtherWay::Locked));
        }
        if trailer.contains_key(b"Prev".as_slice()) || trailer.contains_key(b"XRefStm".as_slice()) {
            return Err(NotRead::OtherWay(OtherWay::AddedTo));
        }
        let root = trailer.get(b"Root".as_slice());
        file.root = root.cloned().ok_or_else(|| broken("it has no catalogue"))?;
        Ok(file)
    }

    /// Reads the table of objects and what follows it.
    fn read_table(&mut self, at: usize) -> Result<Dict<'a>, NotRead> {
        let mut lexer = Lexer::new(self.bytes, at);
        lexer.skip_blank();
        lexer
            .pass(b"xref")
            .ok_or(NotRead::OtherWay(OtherWay::PackedObjects))?;
        let wrong = || broken("its table of objects does not read");
        loop {
            lexer.skip_blank();
            if lexer.pass(b"trailer").is_some() {
                break;
            }
            let from = lexer.whole().ok_or_else(wrong)?;
            let count = lexer.whole().ok_or_else(wrong)?;
            if count > OBJECTS_MAX || self.places.len() + count > OBJECTS_MAX {
                return Err(broken("it has too many objects"));
            }
            for number in from..from.saturating_add(count) {
                let place = lexer.whole().ok_or_else(wrong)?;
                let generation = lexer.whole().ok_or_else(wrong)?;
                let is_used = match lexer.word() {
                    b"n" => true,
                    b"f" => false,
                    _ => return Err(wrong()),
                };
                if is_used {
                    let number = u32::try_from(number).map_err(|_| wrong())?;
                    let is_new = self.places.insert(number, place).is_none();
                    if generation != 0 || !is_new {
                        return Err(wrong());
                    }
                }
            }
        }
        let trailer = self.lexer_at(lexer.at()).object().ok_or_else(wrong)?;
        trailer.dict().cloned().ok_or_else(wrong)
    }

    /// Reads an object from a place on, as far as any goes.
    fn lexer_at(&self, at: usize) -> Lexer<'a> {
        let end = at.saturating_add(OBJECT_BYTES_MAX).min(self.bytes.len());
        Lexer::new(&self.bytes[..end], at)
    }

    /// The object of a number.
    fn find(&self, number: u32) -> Result<FoundObject<'a>, NotRead> {
        let wrong = || broken(format!("object {number} does not read"));
        let at = self.places.get(&number).ok_or_else(wrong)?;
        let mut lexer = self.lexer_at(*at);
        let named = (lexer.whole(), lexer.whole());
        if named != (Some(number as usize), Some(0)) || lexer.word() != b"obj" {
            return Err(wrong());
        }
        let object = lexer.object().ok_or_else(wrong)?;
        let unread = self.unread.get().checked_sub((lexer.at() - at) as u64);
        let unread = unread.ok_or_else(|| broken("its objects name each other on and on"))?;
        self.unread.set(unread);
        lexer.skip_blank();
        let mut stream = None;
        if lexer.pass(b"stream").is_some() {
            lexer.pass_line_end().ok_or_else(wrong)?;
            let dict = object.dict().ok_or_else(wrong)?;
            let bytes = match dict.get(b"Length".as_slice()).ok_or_else(wrong)? {
                Object::Reference(of) if *of != number => self.plain(*of)?,
                length => length.whole(),
            };
            let from = lexer.at();
            let to = from
                .checked_add(bytes.ok_or_else(wrong)?)
                .ok_or_else(wrong)?;
            stream = Some(self.bytes.get(from..to).ok_or_else(wrong)?);
            let mut after = Lexer::new(self.bytes, to);
            after.skip_blank();
            after.pass(b"endstream").ok_or_else(wrong)?;
        }
        Ok(FoundObject { object, stream })
    }

    /// A whole number that stands as an object of its own.
    fn plain(&self, number: u32) -> Result<Option<usize>, NotRead> {
        let at = self.places.get(&number).copied();
        let at = at.ok_or_else(|| broken("a length is missing"))?;
        let mut lexer = Lexer::new(self.bytes, at);
        let _ = (lexer.whole(), lexer.whole(), lexer.word());
        Ok(lexer.whole())
    }

    /// The object itself, or the one that it refers to.
    fn resolve(&self, object: &Object<'a>) -> Result<Object<'a>, NotRead> {
        match object {
            Object::Reference(number) => Ok(self.find(*number)?.object),
            object => Ok(object.clone()),
        }
    }

    /// A dictionary's value as a dictionary.
    fn dict_in(&self, dict: &Dict<'a>, name: &str) -> Result<Option<Dict<'a>>, NotRead> {
        let Some(value) = dict.get(name.as_bytes()) else {
            return Ok(None);
        };
        let value = self.resolve(value)?;
        let dict = value.dict().cloned();
        dict.map(Some)
            .ok_or_else(|| broken(format!("{name} is no dictionary")))
    }

    fn catalogue(&self) -> Result<Dict<'a>, NotRead> {
        let root = self.resolve(&self.root)?;
        root.dict()
            .cloned()
            .ok_or_else(|| broken("it has no catalogue"))
    }

    /// The bytes of a stream, opened; `None` where it is packed in another way than Flate.
    fn opened(&self, dict: &Dict<'a>, raw: &[u8]) -> Result<Option<Vec<u8>>, NotRead> {
        let filters = match dict.get(b"Filter".as_slice()) {
            None => Vec::new(),
            Some(Object::Array(filters)) => filters.clone(),
            Some(filter) => vec![filter.clone()],
        };
        let has_parameters = dict.contains_key(b"DecodeParms".as_slice());
        let left = self.left.get();
        let mut bytes = Vec::new();
        match &filters[..] {
            _ if has_parameters => return Ok(None),
            [] => bytes.extend_from_slice(raw),
            [Object::Name(name)] if name == b"FlateDecode" => {
                let opened = ZlibDecoder::new(raw).take(left + 1).read_to_end(&mut bytes);
                opened.map_err(|e| broken(format!("a packed stream does not open: {e}")))?;
            }
            _ => return Ok(None),
        }
        let left = left.checked_sub(bytes.len() as u64);
        self.left
            .set(left.ok_or_else(|| broken("it opens to more than is read"))?);
        Ok(Some(bytes))
    }

    /// The files within it, in the order of their names. Where two of them have one name, both
    /// are given.
    ///
    /// # Errors
    /// [`NotRead`] where the list of them does not hold.
    pub fn files(&self) -> Result<Vec<FileWithin>, NotRead> {
        let catalogue = self.catalogue()?;
        let mut named = Vec::new();
        if let Some(names) = self.dict_in(&catalogue, "Names")?
            && let Some(tree) = self.dict_in(&names, "EmbeddedFiles")?
        {
            self.leaves(&tree, 0, &mut named)?;
        }
        let mut listed = Vec::new();
        let mut files = Vec::new();
        for (key, spec) in &named {
            if let Object::Reference(number) = spec {
                listed.push(*number);
            }
            let mut file = self.file_of(spec)?;
            if file.name != text_of(key) {
                let names = format!("{} and {}", text_of(key), file.name);
                return Err(broken(format!("a file within it has two names: {names}")));
            }
            file.is_listed = true;
            files.push(file);
        }
        // What belongs to the document without a name is shown by some programs alone.
        if let Some(others) = catalogue.get(b"AF".as_slice()) {
            let others = self.resolve(others)?;
            for other in others.array().unwrap_or_default() {
                let is_listed =
                    matches!(other, Object::Reference(number) if listed.contains(number));
                if !is_listed && self.resolve(other)? != Object::Plain(b"null") {
                    files.push(self.file_of(other)?);
                }
            }
        }
        Ok(files)
    }

    /// The pairs of a tree of names.
    fn leaves(
        &self,
        node: &Dict<'a>,
        depth: usize,
        into: &mut Vec<(Vec<u8>, Object<'a>)>,
    ) -> Result<(), NotRead> {
        if depth > TREE_DEPTH_MAX {
            return Err(broken("its list of files has no end"));
        }
        if let Some(pairs) = node.get(b"Names".as_slice()) {
            let pairs = self.resolve(pairs)?;
            let pairs = pairs.array().unwrap_or_default().chunks_exact(2);
            for pair in pairs {
                let name = self.resolve(&pair[0])?;
                let name = name.text().ok_or_else(|| broken("a file has no name"))?;
                into.push((name.to_vec(), pair[1].clone()));
                if into.len() > NAMES_MAX {
                    return Err(broken("it has too many files within"));
                }
            }
        }
        if let Some(kids) = node.get(b"Kids".as_slice()) {
            let kids = self.resolve(kids)?;
            for kid in kids.array().unwrap_or_default() {
                let kid = self.resolve(kid)?;
                let kid = kid
                    .dict()
                    .ok_or_else(|| broken("its list of files does not read"))?;
                self.leaves(kid, depth + 1, into)?;
            }
        }
        Ok(())
    }

    fn file_of(&self, spec: &Object<'a>) -> Result<FileWithin, NotRead> {
        let wrong = || broken("a file within it does not read");
        let spec = self.resolve(spec)?;
        let spec = spec.dict().ok_or_else(wrong)?;
        let told = ["UF", "F"].map(|name| spec.get(name.as_bytes()).and_then(Object::text));
        let mut names = told.into_iter().flatten().map(text_of);
        let name = names.next().ok_or_else(wrong)?;
        if let Some(other) = names.find(|other| *other != name) {
            let why = format!("a file within it has two names: {name} and {other}");
            return Err(broken(why));
        }
        let streams = self.dict_in(spec, "EF")?.ok_or_else(wrong)?;
        let mut numbers = streams.values().map(|of| match of {
            Object::Reference(number) => Some(*number),
            _ => None,
        });
        let number = numbers.next().flatten().ok_or_else(wrong)?;
        if numbers.any(|other| other != Some(number)) {
            return Err(broken(format!(
                "the file {name} within it is there in two ways"
            )));
        }
        let found = self.find(number)?;
        let dict = found.object.dict().ok_or_else(wrong)?;
        let raw = found.stream.ok_or_else(wrong)?;
        let bytes = self
            .opened(dict, raw)
            .and_then(|bytes| bytes.ok_or(NotRead::OtherWay(OtherWay::PackedStream)));
        Ok(FileWithin {
            name,
            bytes,
            is_listed: false,
        })
    }
}

/// A text of a PDF: UTF-16 with its mark, or one character a byte.
fn text_of(bytes: &[u8]) -> String {
    let Some(units) = bytes.strip_prefix(b"\xfe\xff") else {
        return bytes.iter().map(|byte| char::from(*byte)).collect();
    };
    let units: Vec<u16> = units
        .chunks_exact(2)
        .map(|pair| u16::from_be_bytes([pair[0], pair[1]]))
        .collect();
    String::from_utf16_lossy(&units)
}
