//! Reading a journal line by line, with bounds, and checking every link.

use std::fs::File;
use std::io::{self, BufRead, BufReader, Read, Seek, SeekFrom};
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use uuid::Uuid;

use super::clock::Hlc;
use super::link::{Link, TAIL_BYTES, runs_past_a_line, split};
use super::scan::scan;
use super::torn::Torn;
use super::wire::{self, Blame};
use super::{FILE_BYTES_MAX, FORMAT, JournalError, JournalFault, JournalWhy, LINE_BYTES_MAX};
use crate::job::{Entry, Person};

const BUFFER_BYTES: usize = 256 << 10;

/// How much of a file is read at all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// The longest line, without its newline.
    pub line_bytes: usize,
    /// The largest file.
    pub file_bytes: u64,
}

impl Limits {
    /// For files that this tablet has written itself.
    pub const OWN: Limits = Limits {
        line_bytes: LINE_BYTES_MAX,
        file_bytes: FILE_BYTES_MAX,
    };
    /// For files that come from elsewhere: room for some 40,000 events, twenty times what
    /// the longest job comes to. With the entries in memory it is some 40 MB.
    pub const FOREIGN: Limits = Limits {
        line_bytes: LINE_BYTES_MAX,
        file_bytes: 16 << 20,
    };
}

/// How far a journal has been read or written: the end of its last good line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mark {
    /// Format of the lines up to here; 0 before the header.
    pub format: u32,
    /// Good lines, the header included.
    pub lines: u64,
    /// Number of the last event.
    pub n: u64,
    /// Length of the good lines.
    pub bytes: u64,
    /// Link of the last good line.
    pub link: Link,
    /// Clock of the last event.
    pub clock: Hlc,
}

impl Mark {
    /// Before the first line of a file.
    pub const START: Mark = Mark {
        format: 0,
        lines: 0,
        n: 0,
        bytes: 0,
        link: Link::BEFORE_ALL,
        clock: Hlc { ms: 0, counter: 0 },
    };

    /// Whether not even a header is there yet.
    pub fn is_start(&self) -> bool {
        self.lines == 0
    }
}

impl Default for Mark {
    fn default() -> Self {
        Self::START
    }
}

/// How far a reader came, and what stopped it.
#[derive(Clone, Debug, Default)]
pub struct ReadEnd {
    /// The end of the last good line.
    pub mark: Mark,
    /// Events of a newer format that this program does not know.
    pub unknown: u64,
    /// A last line that was never finished.
    pub torn: Option<Torn>,
    /// The first thing that does not hold.
    pub fault: Option<JournalFault>,
}

/// Reads a journal line by line and keeps nothing but its place.
#[derive(Debug)]
pub struct Reader<R> {
    file: PathBuf,
    job: Uuid,
    tablet: Uuid,
    limits: Limits,
    input: BufReader<R>,
    line: Vec<u8>,
    mark: Mark,
    who: Person,
}

impl Reader<File> {
    /// Opens a journal to be read on from a mark ([`Mark::START`] for the whole of it).
    /// The outer error is the system's. The inner one is a file that is too large, or
    /// that does not have the lines up to the mark any more.
    ///
    /// # Errors
    /// [`JournalError`] if the file cannot be opened or is no plain file.
    pub fn open(
        path: &Path,
        job: Uuid,
        tablet: Uuid,
        limits: Limits,
        mark: Mark,
    ) -> Result<Result<Self, JournalFault>, JournalError> {
        let fault = |field: &str, why: JournalWhy| JournalFault {
            file: path.to_owned(),
            line: mark.lines + 1,
            field: field.to_owned(),
            why,
        };
        let failed = |e| JournalError::from_io(path, "reading it", e);
        let mut file = open_plain(path).map_err(failed)?;
        let bytes = file.metadata().map_err(failed)?.len();
        if bytes > limits.file_bytes {
            let most = limits.file_bytes;
            return Ok(Err(fault("", JournalWhy::FileTooLarge { bytes, most })));
        }
        if !still_has(&mut file, &mark).map_err(failed)? {
            return Ok(Err(fault("link", JournalWhy::ReadBefore)));
        }
        Ok(Ok(Reader::new(file, path, job, tablet, limits, mark)))
    }
}

impl<R: Read> Reader<R> {
    /// Reads from `input`, which stands at the mark.
    pub fn new(input: R, file: &Path, job: Uuid, tablet: Uuid, limits: Limits, mark: Mark) -> Self {
        Self {
            file: file.to_owned(),
            job,
            tablet,
            limits,
            input: BufReader::with_capacity(BUFFER_BYTES, input),
            line: Vec::new(),
            mark,
            who: Person::new(""),
        }
    }

    /// How far it has read.
    pub fn mark(&self) -> &Mark {
        &self.mark
    }

    /// Reads one line: an entry, or nothing for a header and for an event that this program does
    /// not know. Breaks where there is no more to be read, and tells in `end` why.
    pub(super) fn step(&mut self, end: &mut ReadEnd) -> ControlFlow<(), Option<Entry>> {
        let longest = self.limits.line_bytes as u64 + 1;
        let mut line = std::mem::take(&mut self.line);
        line.clear();
        let got = (&mut self.input).take(longest).read_until(b'\n', &mut line);
        let step = match got {
            Ok(0) => Ok(ControlFlow::Break(())),
            Ok(_) => self.take_line(&line, end),
            Err(e) => Err(of_line(JournalWhy::Disk(e.to_string()))),
        };
        self.line = line;
        step.unwrap_or_else(|blame| {
            end.fault = Some(self.fault(blame));
            ControlFlow::Break(())
        })
    }

    /// Reads to the end. `take` gets each entry with its line, counted from 1, and the
    /// link before it.
    pub fn for_each(mut self, mut take: impl FnMut(Entry, u64, Link)) -> ReadEnd {
        let mut end = ReadEnd::default();
        let mut over = self.mark.link;
        while let ControlFlow::Continue(entry) = self.step(&mut end) {
            if let Some(entry) = entry {
                take(entry, self.mark.lines, over);
            }
            over = self.mark.link;
        }
        end.mark = self.mark;
        end
    }

    fn take_line(
        &mut self,
        line: &[u8],
        end: &mut ReadEnd,
    ) -> Result<ControlFlow<(), Option<Entry>>, Blame> {
        if self.mark.bytes + line.len() as u64 > self.limits.file_bytes {
            return Err(of_line(JournalWhy::FileTooLong(self.limits.file_bytes)));
        }
        let Some(line) = line.strip_suffix(b"\n") else {
            end.torn = Some(self.unfinished(line)?);
            return Ok(ControlFlow::Break(()));
        };
        let bad_link = |why: JournalWhy| ("link".to_owned(), why);
        let (body, digits) = split(line).ok_or_else(|| bad_link(JournalWhy::NoLink))?;
        let link = self.mark.link.then(body);
        if link.digits() != digits {
            return Err(bad_link(JournalWhy::DoesNotFollow));
        }
        let mut mark = Mark {
            lines: self.mark.lines + 1,
            bytes: self.mark.bytes + line.len() as u64 + 1,
            link,
            ..self.mark
        };
        let step = if self.mark.is_start() || body.starts_with(wire::HEADER_START) {
            self.take_header(line, &mut mark)?;
            None
        } else {
            let entry = self.take_event(line, body, &mut mark)?;
            end.unknown += u64::from(entry.is_none());
            entry
        };
        self.mark = mark;
        Ok(ControlFlow::Continue(step))
    }

    fn take_header(&self, line: &[u8], mark: &mut Mark) -> Result<(), Blame> {
        let header = wire::decode_header(line)?;
        let other = |field: &str, here: Uuid, path: Uuid| {
            (field.to_owned(), JournalWhy::Elsewhere { here, path })
        };
        if header.job != self.job {
            return Err(other("job", header.job, self.job));
        }
        if header.tablet != self.tablet {
            return Err(other("tablet", header.tablet, self.tablet));
        }
        if header.format <= mark.format {
            let why = JournalWhy::FormatAgain(header.format, mark.format);
            return Err(("format".to_owned(), why));
        }
        mark.format = header.format;
        Ok(())
    }

    /// The entry of a line; nothing where this program does not know its event.
    fn take_event(
        &mut self,
        line: &[u8],
        body: &[u8],
        mark: &mut Mark,
    ) -> Result<Option<Entry>, Blame> {
        let read = if mark.format > FORMAT {
            wire::decode_newer(line)?
        } else if let Some(read) = scan(body) {
            read
        } else {
            wire::decode(line, mark.format)?
        };
        // What an older program cannot read does not stand in its format.
        let needed = read
            .event
            .as_ref()
            .map(|e| wire::format_of(e, false, false));
        if let Some(needed) = needed.filter(|needed| *needed > mark.format) {
            let why = JournalWhy::EventOfLater(mark.format, needed);
            return Err(("event".to_owned(), why));
        }
        if read.n != mark.n + 1 {
            let why = JournalWhy::NotDue(read.n, mark.n + 1);
            return Err(("n".to_owned(), why));
        }
        if mark.n > 0 && read.clock <= mark.clock {
            let why = JournalWhy::ClockStands(read.clock.pair());
            return Err(("clock".to_owned(), why));
        }
        mark.n = read.n;
        mark.clock = read.clock;
        let Some(event) = read.event else {
            return Ok(None);
        };
        // One technician taps for hours: the name is kept rather than made anew.
        if *self.who.0 != *read.who {
            self.who = Person::new(&read.who);
        }
        Ok(Some(Entry {
            id: read.id,
            tablet: self.tablet,
            at_ms: read.at_ms,
            offset_min: read.offset_min,
            clock: read.clock.pair(),
            after: read.after,
            paper: read.paper,
            who: self.who.clone(),
            event,
        }))
    }

    /// Bytes without a newline: a torn write, unless they are more than one can leave.
    fn unfinished(&self, line: &[u8]) -> Result<Torn, Blame> {
        if line.len() > self.limits.line_bytes {
            return Err(of_line(JournalWhy::LineTooLong(self.limits.line_bytes)));
        }
        if runs_past_a_line(Torn::without_zeros(line), self.mark.link) {
            return Err(of_line(JournalWhy::NotEnded));
        }
        Ok(Torn {
            file: self.file.clone(),
            line: self.mark.lines + 1,
            offset: self.mark.bytes,
            bytes: line.to_vec(),
        })
    }

    /// The line that was read last has a clock after which nothing could be written.
    pub(super) fn no_room(&self) -> JournalFault {
        JournalFault {
            file: self.file.clone(),
            line: self.mark.lines,
            field: "clock".to_owned(),
            why: JournalWhy::NoRoom,
        }
    }

    fn fault(&self, (field, why): Blame) -> JournalFault {
        JournalFault {
            file: self.file.clone(),
            line: self.mark.lines + 1,
            field,
            why,
        }
    }
}

/// Blames a line as a whole.
fn of_line(why: JournalWhy) -> Blame {
    (String::new(), why)
}

/// Opens a plain file for reading, and nothing that a link or a pipe stands for.
///
/// # Errors
/// What the system says, or that it is no plain file.
pub fn open_plain(path: &Path) -> io::Result<File> {
    if !path.symlink_metadata()?.is_file() {
        return Err(io::Error::new(
            io::ErrorKind::InvalidInput,
            "it is no plain file",
        ));
    }
    File::open(path)
}

/// Reads a plain file from a place on, `most` bytes at the most.
///
/// # Errors
/// What the system says, or that it is no plain file.
pub fn read_plain(path: &Path, from: u64, most: u64) -> io::Result<Vec<u8>> {
    let mut file = open_plain(path)?;
    file.seek(SeekFrom::Start(from))?;
    let mut bytes = Vec::new();
    file.take(most).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// The link of the line of a journal that ends at byte `end`; `None` if none ends there.
///
/// # Errors
/// What the system says, or that it is no plain file.
pub fn link_at(path: &Path, end: u64) -> io::Result<Option<Link>> {
    tail_link(&mut open_plain(path)?, end)
}

/// Whether the file still has the line that ends at the mark. Leaves it standing there.
pub(super) fn still_has(file: &mut File, mark: &Mark) -> io::Result<bool> {
    if mark.is_start() {
        return Ok(true);
    }
    Ok(tail_link(file, mark.bytes)? == Some(mark.link))
}

/// The link of the line that ends at byte `end`; `None` if no line ends there. Leaves the
/// file standing at `end`.
pub(super) fn tail_link(file: &mut File, end: u64) -> io::Result<Option<Link>> {
    let mut tail = [0; TAIL_BYTES + 1];
    let Some(start) = end.checked_sub(tail.len() as u64) else {
        return Ok(None);
    };
    file.seek(SeekFrom::Start(start))?;
    match file.read_exact(&mut tail) {
        Ok(()) => {}
        Err(e) if e.kind() == io::ErrorKind::UnexpectedEof => return Ok(None),
        Err(e) => return Err(e),
    }
    let Some(line) = tail.strip_suffix(b"\n") else {
        return Ok(None);
    };
    Ok(split(line).and_then(|(_, digits)| Link::from_hex(str::from_utf8(digits).ok()?)))
}
