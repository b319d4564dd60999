//! A journal as read into memory: its good entries, and what stands in the way of more.

use std::io::Read;
use std::path::{Path, PathBuf};

use uuid::Uuid;

use super::reader::{Limits, Mark, Reader, open_plain, still_has};
use super::torn::Torn;
use super::{FORMAT, JournalError, JournalFault};
use crate::job::Entry;

/// A journal as read: the good entries, and what stands in the way of more.
#[derive(Clone, Debug)]
pub struct JournalRead {
    /// The file.
    pub file: PathBuf,
    /// The job it belongs to.
    pub job: Uuid,
    /// The tablet that writes it.
    pub tablet: Uuid,
    /// The good entries in the order written.
    pub entries: Vec<Entry>,
    /// Events of a newer format that this program does not know.
    pub unknown: u64,
    /// The end of the last good line.
    pub mark: Mark,
    /// A line that was never finished.
    pub torn: Option<Torn>,
    /// The first thing that does not hold.
    pub fault: Option<JournalFault>,
}

impl JournalRead {
    /// Nothing read yet of a journal.
    pub fn nothing_of(file: &Path, job: Uuid, tablet: Uuid) -> Self {
        Self {
            file: file.to_owned(),
            job,
            tablet,
            entries: Vec::new(),
            unknown: 0,
            mark: Mark::START,
            torn: None,
            fault: None,
        }
    }

    /// Whether a newer program has written some of it.
    pub fn is_newer(&self) -> bool {
        self.mark.format > FORMAT
    }

    /// Whether its own tablet may go on writing to it.
    ///
    /// # Errors
    /// The reason why not.
    pub fn is_writable(&self) -> Result<(), JournalError> {
        if let Some(fault) = &self.fault {
            return Err(JournalError::Faulty(fault.clone()));
        }
        if self.is_newer() {
            return Err(JournalError::NewerFormat {
                file: self.file.clone(),
                format: self.mark.format,
            });
        }
        Ok(())
    }

    /// Whether the file no longer has the lines that were read from it: they were rolled
    /// back, and it is to be read anew.
    pub fn is_rolled_back(&self) -> bool {
        let still_has =
            open_plain(&self.file).and_then(|mut file| still_has(&mut file, &self.mark));
        still_has.is_ok_and(|still_has| !still_has)
    }

    /// Reads what has been appended since; the work grows with the new bytes alone.
    /// Returns how many entries are new. A fault or a torn line found before is looked at
    /// again: a file on its way through a network is often half there.
    ///
    /// # Errors
    /// [`JournalError`] if the file cannot be opened; what was read before is kept.
    pub fn read_on(&mut self, limits: Limits) -> Result<usize, JournalError> {
        let known = self.entries.len();
        match Reader::open(&self.file, self.job, self.tablet, limits, self.mark)? {
            Ok(reader) => self.take_all(reader),
            Err(fault) => self.fault = Some(fault),
        }
        Ok(self.entries.len() - known)
    }

    /// Takes in everything that a reader has to give.
    pub(super) fn take_all<R: Read>(&mut self, reader: Reader<R>) {
        let end = reader.for_each(|entry, _, _| self.entries.push(entry));
        self.unknown += end.unknown;
        self.mark = end.mark;
        self.torn = end.torn;
        self.fault = end.fault;
    }
}

/// Reads a whole journal. What is wrong with its lines is in the answer, not an error.
///
/// # Errors
/// [`JournalError`] if the file cannot be opened or is no plain file.
pub fn read_journal(
    path: &Path,
    job: Uuid,
    tablet: Uuid,
    limits: Limits,
) -> Result<JournalRead, JournalError> {
    let mut read = JournalRead::nothing_of(path, job, tablet);
    read.read_on(limits)?;
    Ok(read)
}
