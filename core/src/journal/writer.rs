//! The one writer of a journal.

use std::fs;
use std::path::{Path, PathBuf};

use uuid::Uuid;

use super::clock::Hlc;
use super::disk::{Disk, FileDisk, sync_folder};
use super::folder::{job_path, journal_path};
use super::journal_read::JournalRead;
use super::reader::{Limits, Mark, Reader};
use super::wire;
use super::{FILE_BYTES_MAX, FIRST_FORMAT, JournalError, LINE_BYTES_MAX, Link};
use crate::job::Entry;

const APPENDING: &str = "writing to it";

/// A journal opened by its own tablet.
#[derive(Debug)]
pub struct Opened {
    /// Goes on with it.
    pub writer: Writer,
    /// What is in it. If `torn` is set, that line has been set aside in the side file.
    /// What is appended from now on does not show here.
    pub read: JournalRead,
}

/// Appends to a journal. While it lives nobody else can.
#[derive(Debug)]
pub struct Writer<D = FileDisk> {
    file: PathBuf,
    job: Uuid,
    tablet: Uuid,
    disk: D,
    mark: Mark,
    text: Vec<u8>,
    poisoned: Option<String>,
}

impl Writer<FileDisk> {
    /// Opens this tablet's journal of a job in a data folder, and makes it with its
    /// header if it is not there. A torn last line is set aside and then cut off.
    ///
    /// # Errors
    /// [`JournalError::SecondWriter`] while another writer has it,
    /// [`JournalError::Faulty`] and [`JournalError::NewerFormat`] if it can only be read,
    /// and what the system says.
    pub fn open(data: &Path, job: Uuid, tablet: Uuid) -> Result<Opened, JournalError> {
        let file = journal_path(data, job, tablet);
        fs::create_dir_all(job_path(data, job))
            .map_err(|e| JournalError::from_io(&file, "making its folder", e))?;
        let mut disk = FileDisk::open(&file)?;
        let read = read_through(&mut disk, &file, job, tablet)?;
        read.is_writable()?;
        if let Some(torn) = &read.torn {
            torn.set_aside()
                .and_then(|()| disk.truncate(read.mark.bytes))
                .and_then(|()| disk.sync())
                .map_err(|e| JournalError::from_io(&file, "setting a torn line aside", e))?;
        }
        let is_new = read.mark.is_start();
        let made = Writer::on(disk, &file, job, tablet, read.mark).and_then(|writer| {
            if is_new {
                sync_new(data, job)
                    .map_err(|e| JournalError::from_io(&file, "making its folder durable", e))?;
            }
            Ok(writer)
        });
        match made {
            Ok(writer) => Ok(Opened { writer, read }),
            Err(error) => {
                if is_new {
                    // Nothing is in it; a file without a header would only puzzle people.
                    fs::remove_file(&file)
                        .and_then(|()| fs::remove_dir(job_path(data, job)))
                        .ok();
                }
                Err(error)
            }
        }
    }
}

/// Entries written at once when a journal is restored.
const RESTORED_AT_ONCE: usize = 32;

impl Writer<FileDisk> {
    /// Opens the journal again after an error, with every entry of this tablet that was
    /// acknowledged still in memory. What the file has lost of them is written again;
    /// the same entries make the same bytes. If the file or its folder was deleted, it is
    /// made anew.
    ///
    /// # Errors
    /// As [`Writer::open`]; and [`JournalError::Unwritable`] if the file holds something
    /// else than the beginning of these entries.
    pub fn restore(
        data: &Path,
        job: Uuid,
        tablet: Uuid,
        entries: &[Entry],
    ) -> Result<Opened, JournalError> {
        let mut opened = Self::open(data, job, tablet)?;
        let found = &opened.read.entries;
        // More may be there than was acknowledged: the last batch, whole on disk before
        // the error came.
        let common = found.len().min(entries.len());
        if let Some(other) = (0..common).find(|at| found[*at] != entries[*at]) {
            let why = "the file holds another event in its place".to_owned();
            let id = entries[other].id;
            return Err(opened.writer.unwritable(id, "n", why));
        }
        for batch in entries[common..].chunks(RESTORED_AT_ONCE) {
            opened.writer.append(batch)?;
            opened.read.entries.extend_from_slice(batch);
        }
        opened.read.mark = *opened.writer.mark();
        Ok(opened)
    }
}

impl<D: Disk> Writer<D> {
    /// Goes on at a mark of a file that is already open; at [`Mark::START`] it writes the
    /// header first.
    ///
    /// # Errors
    /// What the disk says.
    pub fn on(
        disk: D,
        file: &Path,
        job: Uuid,
        tablet: Uuid,
        mark: Mark,
    ) -> Result<Self, JournalError> {
        let mut writer = Self {
            file: file.to_owned(),
            job,
            tablet,
            disk,
            mark,
            text: Vec::new(),
            poisoned: None,
        };
        if mark.is_start() {
            let mark = writer.encode_header(FIRST_FORMAT, mark)?;
            writer.commit(mark)?;
        }
        Ok(writer)
    }

    /// Adds a header to the text: the lines after it are of this format.
    fn encode_header(&mut self, format: u32, mark: Mark) -> Result<Mark, JournalError> {
        let (job, tablet) = (self.job, self.tablet);
        let header = wire::Header {
            format,
            job,
            tablet,
        };
        let link = wire::encode_header(&mut self.text, &header, mark.link)
            .map_err(|why| self.unwritable(job, "format", why))?;
        Ok(Mark {
            format,
            lines: mark.lines + 1,
            link,
            ..mark
        })
    }

    /// The file.
    pub fn file(&self) -> &Path {
        &self.file
    }

    /// The end of what is acknowledged.
    pub fn mark(&self) -> &Mark {
        &self.mark
    }

    /// Whether an earlier error has stopped it; then it has to be opened again.
    pub fn is_poisoned(&self) -> bool {
        self.poisoned.is_some()
    }

    /// The link that the next line follows; what a seal signs.
    pub fn link(&self) -> Link {
        self.mark.link
    }

    /// The clock of the last event written. The next one's is to be later.
    pub fn clock(&self) -> Hlc {
        self.mark.clock
    }

    /// Appends entries: one write and one sync for all of them. When it returns they are
    /// on the disk, all of them; when it fails, none is acknowledged, the file is cut
    /// back to what was, and the writer takes nothing more until it is opened again.
    ///
    /// Should cutting back fail too, whole lines may be left that were not acknowledged;
    /// who opens the file next then finds them as events. Nothing that was acknowledged is
    /// ever cut.
    ///
    /// # Errors
    /// [`JournalError::Unwritable`] for an entry that cannot stand in this file (the
    /// writer stays good), or what went wrong with the disk.
    pub fn append(&mut self, entries: &[Entry]) -> Result<(), JournalError> {
        if let Some(cause) = &self.poisoned {
            return Err(JournalError::Poisoned {
                file: self.file.clone(),
                cause: cause.clone(),
            });
        }
        if entries.is_empty() {
            return Ok(());
        }
        self.text.clear();
        let mut mark = self.mark;
        for entry in entries {
            let format =
                wire::format_of(&entry.event, entry.after.is_some(), entry.paper.is_some());
            if mark.format < format {
                mark = self.encode_header(format, mark)?;
            }
            mark = self.encode(entry, mark)?;
        }
        self.commit(mark)
    }

    /// Adds the line of an entry to the text and says where it will end.
    fn encode(&mut self, entry: &Entry, mark: Mark) -> Result<Mark, JournalError> {
        let bad = |writer: &Self, field, why: String| writer.unwritable(entry.id, field, why);
        if entry.tablet != self.tablet {
            let why = format!("{} does not write to this file", entry.tablet);
            return Err(bad(self, "tablet", why));
        }
        let clock = Hlc::from(entry.clock);
        if mark.n > 0 && clock <= mark.clock {
            let why = format!("{:?} is not after {:?}", clock.pair(), mark.clock.pair());
            return Err(bad(self, "clock", why));
        }
        let n = mark.n + 1;
        let link = wire::encode(&mut self.text, n, entry, mark.link)
            .map_err(|(field, why)| bad(self, field, why))?;
        let bytes = self.mark.bytes + self.text.len() as u64;
        if self.text.len() > LINE_BYTES_MAX || bytes > FILE_BYTES_MAX {
            let why = format!(
                "{} bytes at once, {bytes} in all; at most {LINE_BYTES_MAX} and {FILE_BYTES_MAX} are written",
                self.text.len()
            );
            return Err(bad(self, "event", why));
        }
        Ok(Mark {
            format: mark.format,
            lines: mark.lines + 1,
            n,
            bytes,
            link,
            clock,
        })
    }

    /// Brings the text to disk; then, and only then, the mark moves.
    fn commit(&mut self, mark: Mark) -> Result<(), JournalError> {
        let bytes = self.mark.bytes + self.text.len() as u64;
        match self.write_through(bytes) {
            Ok(()) => {
                self.mark = Mark { bytes, ..mark };
                Ok(())
            }
            Err(error) => {
                self.fall_back(&error);
                Err(error)
            }
        }
    }

    fn write_through(&mut self, expected: u64) -> Result<(), JournalError> {
        let failed = |e| JournalError::from_io(&self.file, APPENDING, e);
        self.disk.append(&self.text).map_err(failed)?;
        self.disk.sync().map_err(failed)?;
        let state = self.disk.state().map_err(failed)?;
        if !state.is_linked {
            return Err(JournalError::Gone {
                file: self.file.clone(),
            });
        }
        if state.bytes != expected {
            return Err(JournalError::Changed {
                file: self.file.clone(),
                expected,
                found: state.bytes,
            });
        }
        Ok(())
    }

    /// After an error nobody knows what the disk has: the file is cut back to what was
    /// acknowledged, as far as the disk lets it, and the writer stops.
    #[cold]
    fn fall_back(&mut self, error: &JournalError) {
        let mut cause = error.to_string();
        // Another program's bytes are not ours to cut.
        if !matches!(error, JournalError::Changed { .. }) {
            let cut = self.disk.truncate(self.mark.bytes);
            if let Err(e) = cut.and_then(|()| self.disk.sync()) {
                cause = format!("{cause}; it could not be cut back either: {e}");
            }
        }
        self.poisoned = Some(cause);
    }

    #[cold]
    fn unwritable(&self, id: Uuid, field: &'static str, why: String) -> JournalError {
        JournalError::Unwritable {
            file: self.file.clone(),
            id,
            field,
            why,
        }
    }
}

/// Reads the file through the handle that holds its lock.
fn read_through(
    disk: &mut FileDisk,
    file: &Path,
    job: Uuid,
    tablet: Uuid,
) -> Result<JournalRead, JournalError> {
    let input = disk
        .rewound()
        .map_err(|e| JournalError::from_io(file, "reading it", e))?;
    let mut read = JournalRead::nothing_of(file, job, tablet);
    read.take_all(Reader::new(
        input,
        file,
        job,
        tablet,
        Limits::OWN,
        Mark::START,
    ));
    Ok(read)
}

/// A new name is durable only when the folders above it are synced, too.
fn sync_new(data: &Path, job: Uuid) -> std::io::Result<()> {
    let folder = job_path(data, job);
    sync_folder(&folder)?;
    for above in folder.ancestors().skip(1).take(2) {
        sync_folder(above)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::job::{Event, Person};
    use crate::journal::{event_id, read_journal};

    const JOB: Uuid = Uuid::from_u128(0xA);
    const TABLET: Uuid = Uuid::from_u128(0xB);

    fn entry(step: u8, last: Hlc) -> Entry {
        let at_ms = 1_796_000_000_000 + i64::from(step);
        Entry {
            id: event_id(at_ms, &[step; 10]),
            tablet: TABLET,
            at_ms,
            offset_min: -150,
            clock: last.tick(at_ms).pair(),
            after: None,
            paper: None,
            who: Person::new("Ada \"Lock\" Étoile"),
            event: Event::AirOn {
                cylinder: step,
                bar: 0.1 + 0.2,
            },
        }
    }

    #[test]
    fn what_was_appended_is_read_back_and_gone_on_with() {
        let data = tempfile::tempdir().unwrap();
        let Opened { mut writer, read } = Writer::open(data.path(), JOB, TABLET).unwrap();
        assert!(read.entries.is_empty());
        let first = entry(1, writer.clock());
        writer.append(std::slice::from_ref(&first)).unwrap();
        let second = entry(2, writer.clock());
        let third = entry(3, second.clock.into());
        writer.append(&[second.clone(), third.clone()]).unwrap();
        let end = *writer.mark();
        drop(writer);
        let Opened { mut writer, read } = Writer::open(data.path(), JOB, TABLET).unwrap();
        assert_eq!(read.entries, [first, second, third]);
        assert_eq!((read.mark, *writer.mark()), (end, end));
        writer.append(&[entry(4, writer.clock())]).unwrap();
        let read = read_journal(writer.file(), JOB, TABLET, Limits::FOREIGN).unwrap();
        assert_eq!((read.mark.n, read.mark.lines), (4, 5));
        assert_eq!((read.torn, read.fault), (None, None));
    }

    #[test]
    fn a_second_writer_is_turned_away_while_the_first_lives() {
        let data = tempfile::tempdir().unwrap();
        let first = Writer::open(data.path(), JOB, TABLET).unwrap();
        let second = Writer::open(data.path(), JOB, TABLET).unwrap_err();
        assert!(
            matches!(second, JournalError::SecondWriter { .. }),
            "{second}"
        );
        drop(first);
        Writer::open(data.path(), JOB, TABLET).unwrap();
    }

    #[test]
    fn what_cannot_stand_in_the_file_is_refused_and_the_writer_stays_good() {
        let data = tempfile::tempdir().unwrap();
        let mut writer = Writer::open(data.path(), JOB, TABLET).unwrap().writer;
        writer.append(&[entry(9, writer.clock())]).unwrap();
        let good = entry(10, writer.clock());
        let refused = |change: &dyn Fn(&mut Entry), field: &str, writer: &mut Writer| {
            let mut bad = good.clone();
            change(&mut bad);
            let error = writer.append(&[good.clone(), bad]).unwrap_err();
            assert!(
                matches!(&error, JournalError::Unwritable { field: f, .. } if *f == field),
                "{error}"
            );
        };
        refused(&|e| e.tablet = JOB, "tablet", &mut writer);
        refused(&|_| {}, "clock", &mut writer);
        let later = good.clock.0 + 1;
        refused(
            &|e| (e.clock, e.at_ms) = ((later, 0), i64::MAX),
            "at",
            &mut writer,
        );
        refused(
            &|e| {
                e.clock = (later, 0);
                e.event = Event::AirOn {
                    cylinder: 1,
                    bar: f64::NAN,
                };
            },
            "event",
            &mut writer,
        );
        refused(&|e| e.clock = (u64::MAX, 0), "clock", &mut writer);
        refused(
            &|e| {
                e.clock = (later, 0);
                e.event = Event::Noted {
                    text: "x".repeat(LINE_BYTES_MAX),
                };
            },
            "event",
            &mut writer,
        );
        writer.append(&[good]).unwrap();
        assert_eq!(writer.mark().n, 2);
    }
}
