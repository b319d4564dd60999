//! Other tablets' journals from the shop folder into copies in the data folder.
//!
//! A foreign file is untrusted. Only plain files of bounded size are read; every line
//! has to follow from the lines before; and a line with a person's signature counts only
//! once its tablet has signed it in turn. What is wrong is listed and left alone, and
//! what is not finished yet is simply not read yet.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry as Place;
use std::fs::{self, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use trayzero_core::job::{Entry, Event};
use trayzero_core::journal::{
    JournalFile, Limits, Link, Mark, Reader, job_path, journal_path, open_plain, seal_holds,
};
use uuid::Uuid;

use super::pins::Pins;
use super::{FileFault, ShopFault};
use crate::data::store::small_file;

/// The most new bytes of one file that are taken in one round; the rest follows.
const ROUND_BYTES_MAX: u64 = 8 << 20;

/// A copy of a foreign journal in the data folder.
#[derive(Debug)]
struct Copied {
    mark: Mark,
    /// The copy there still had our last line when it was last looked at.
    is_compared: bool,
    /// Length there when nothing could be taken; looked at again once it changes.
    stuck_at: Option<u64>,
    fault: Option<FileFault>,
}

/// The copies of foreign journals, by job and tablet.
#[derive(Debug, Default)]
pub(super) struct Puller {
    copies: BTreeMap<(Uuid, Uuid), Copied>,
}

impl Puller {
    /// Takes in what is new in one foreign journal. Gives whether there was anything.
    /// What does not hold is kept and listed by [`Puller::faults`].
    pub fn pull(
        &mut self,
        root: &Path,
        job: Uuid,
        there: &JournalFile,
        pins: &mut Pins,
    ) -> Result<bool, ShopFault> {
        let copied = match self.copies.entry((job, there.tablet)) {
            Place::Occupied(known) => known.into_mut(),
            Place::Vacant(place) => {
                let copied = Copied::read(root, job, there.tablet)
                    .map_err(|e| ShopFault::of(&journal_path(root, job, there.tablet), &e))?;
                place.insert(copied)
            }
        };
        let is_known = copied.is_compared && there.bytes == copied.mark.bytes;
        if is_known || copied.stuck_at == Some(there.bytes) {
            return Ok(false);
        }
        copied.take(root, job, there, pins)
    }

    /// What does not hold in any foreign journal.
    pub fn faults(&self) -> impl Iterator<Item = &FileFault> {
        self.copies.values().filter_map(|c| c.fault.as_ref())
    }

    /// Forgets a tablet's faults, so that its files are looked at again.
    pub fn look_again(&mut self, tablet: Uuid) {
        let copies = self.copies.iter_mut();
        for (_, copied) in copies.filter(|((_, of), _)| *of == tablet) {
            copied.stuck_at = None;
        }
    }
}

impl Copied {
    /// Reads the copy in the data folder. It is only a copy: what does not hold at its
    /// end is cut off, and comes again from the shop folder.
    fn read(root: &Path, job: Uuid, tablet: Uuid) -> io::Result<Self> {
        let path = journal_path(root, job, tablet);
        let mut copied = Self {
            mark: Mark::START,
            is_compared: false,
            stuck_at: None,
            fault: None,
        };
        let bytes = match path.symlink_metadata() {
            Ok(known) => known.len(),
            Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(copied),
            Err(e) => return Err(e),
        };
        let reader = Reader::new(
            open_plain(&path)?,
            &path,
            job,
            tablet,
            Limits::FOREIGN,
            Mark::START,
        );
        copied.mark = reader.for_each(|_, _, _| {}).mark;
        if copied.mark.bytes < bytes {
            let file = OpenOptions::new().write(true).open(&path)?;
            file.set_len(copied.mark.bytes)?;
            file.sync_all()?;
        }
        Ok(copied)
    }

    fn take(
        &mut self,
        root: &Path,
        job: Uuid,
        there: &JournalFile,
        pins: &mut Pins,
    ) -> Result<bool, ShopFault> {
        let failed = |e: io::Error| ShopFault::of(&there.path, &e);
        let is_too_large = there.bytes > Limits::FOREIGN.file_bytes;
        if is_too_large || there.bytes < self.mark.bytes || !self.still_has(job, there)? {
            let why = if is_too_large {
                format!("it has {} bytes, more than are read", there.bytes)
            } else {
                "it no longer has the lines that were read from it before; they are kept here"
                    .to_owned()
            };
            self.blame(there, why);
            return Ok(false);
        }
        self.is_compared = true;
        let new = read_from(&there.path, self.mark.bytes).map_err(failed)?;
        let reader = Reader::new(
            new.as_slice(),
            &there.path,
            job,
            there.tablet,
            Limits::FOREIGN,
            self.mark,
        );
        let weighed = Weighed::of(reader, self.mark, there.tablet, pins);
        self.fault = weighed.fault.map(|why| FileFault {
            path: there.path.clone(),
            why,
        });
        let good = weighed.good;
        self.stuck_at = (good.bytes == self.mark.bytes).then_some(there.bytes);
        if self.stuck_at.is_some() {
            return Ok(false);
        }
        let length = (good.bytes - self.mark.bytes) as usize;
        let copy = journal_path(root, job, there.tablet);
        keep(root, job, &copy, self.mark.bytes, &new[..length])
            .map_err(|e| ShopFault::of(&copy, &e))?;
        self.mark = good;
        Ok(true)
    }

    fn still_has(&self, job: Uuid, there: &JournalFile) -> Result<bool, ShopFault> {
        let opened = Reader::open(&there.path, job, there.tablet, Limits::FOREIGN, self.mark);
        match opened {
            Ok(opened) => Ok(opened.is_ok()),
            Err(error) => Err(ShopFault::Io {
                path: there.path.clone(),
                cause: error.to_string(),
            }),
        }
    }

    fn blame(&mut self, there: &JournalFile, why: String) {
        self.stuck_at = Some(there.bytes);
        self.fault = Some(FileFault {
            path: there.path.clone(),
            why,
        });
    }
}

/// New lines of a foreign journal, weighed.
struct Weighed {
    /// Up to here they may be taken.
    good: Mark,
    fault: Option<String>,
}

impl Weighed {
    fn of(mut reader: Reader<&[u8]>, from: Mark, tablet: Uuid, pins: &mut Pins) -> Self {
        use trayzero_core::journal::LineRead;
        let mut weighed = Self {
            good: from,
            fault: None,
        };
        // Lines from the first signature on wait for the tablet's own.
        let mut waits = false;
        loop {
            let over = reader.mark().link;
            match reader.step() {
                Ok(LineRead::Entry(entry)) => {
                    if let Some(why) = weigh_seal(&entry, over, tablet, pins) {
                        let line = reader.mark().lines;
                        weighed.fault.get_or_insert(format!("line {line}: {why}"));
                    } else if matches!(entry.event, Event::Sealed(_)) {
                        waits = false;
                    }
                    waits |= entry.event.signatures().next().is_some();
                }
                Ok(LineRead::Header | LineRead::Unknown) => {}
                Ok(LineRead::End | LineRead::Torn(_)) => return weighed,
                Ok(LineRead::Fault(fault)) => {
                    weighed.fault = Some(describe(fault.line, &fault.field, &fault.why));
                    return weighed;
                }
                Err(error) => {
                    weighed.fault = Some(error.to_string());
                    return weighed;
                }
            }
            if !waits {
                weighed.good = *reader.mark();
            }
        }
    }
}

/// What is wrong with a seal; `None` if it holds, or if the entry is none.
fn weigh_seal(entry: &Entry, over: Link, tablet: Uuid, pins: &mut Pins) -> Option<String> {
    let Event::Sealed(seal) = &entry.event else {
        return None;
    };
    if let Err(why) = seal_holds(seal, over) {
        return Some(why);
    }
    if pins.meet(tablet, None, &seal.key) {
        None
    } else {
        Some("signed with another key than this tablet was first seen with".to_owned())
    }
}

fn describe(line: u64, field: &str, why: &str) -> String {
    if field.is_empty() {
        format!("line {line}: {why}")
    } else {
        format!("line {line}, field \"{field}\": {why}")
    }
}

fn read_from(path: &Path, from: u64) -> io::Result<Vec<u8>> {
    let mut file = open_plain(path)?;
    file.seek(SeekFrom::Start(from))?;
    let mut new = Vec::new();
    file.take(ROUND_BYTES_MAX).read_to_end(&mut new)?;
    Ok(new)
}

/// Adds lines to the copy in the data folder, durably.
fn keep(root: &Path, job: Uuid, copy: &Path, from: u64, lines: &[u8]) -> io::Result<()> {
    let is_new = from == 0;
    if is_new {
        fs::create_dir_all(job_path(root, job))?;
    }
    let mut file = OpenOptions::new().append(true).create(true).open(copy)?;
    if file.metadata()?.len() != from {
        return Err(io::Error::other("somebody else has changed this copy"));
    }
    file.write_all(lines)?;
    file.sync_data()?;
    if is_new {
        for name in [copy.to_owned(), job_path(root, job)] as [PathBuf; 2] {
            small_file::sync_parent(&name)?;
        }
    }
    Ok(())
}
