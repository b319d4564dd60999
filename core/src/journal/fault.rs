//! What can be wrong: with a file, and with reading or writing it.

use std::fmt;
use std::io::{Error, ErrorKind};
use std::path::{Path, PathBuf};

use thiserror::Error;
use uuid::Uuid;

use super::JournalWhy;

/// The first thing in a journal that does not hold. What stands before it is good, and
/// nothing after it is trusted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JournalFault {
    /// The file.
    pub file: PathBuf,
    /// The line, counted from 1; the header is line 1.
    pub line: u64,
    /// The field of the line; empty where the line as a whole is meant.
    pub field: String,
    /// What is wrong with it.
    pub why: JournalWhy,
}

impl fmt::Display for JournalFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, line {}", self.file.display(), self.line)?;
        if !self.field.is_empty() {
            write!(f, ", field \"{}\"", self.field)?;
        }
        write!(f, ": {}", self.why)
    }
}

/// A file that does not hold, or that is none of ours. It is left as it is.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Error)]
#[error("{}: {why}", path.display())]
pub struct FileFault {
    /// The file.
    pub path: PathBuf,
    /// What is wrong, in words, with the line where there is one.
    pub why: String,
}

impl FileFault {
    /// What is wrong with a file.
    pub fn new(path: &Path, why: impl Into<String>) -> Self {
        Self {
            path: path.to_owned(),
            why: why.into(),
        }
    }
}

/// Why a journal could not be opened, read or written. Each message names the file and
/// says what is the case; nothing was acknowledged where one is returned.
#[derive(Debug, Error)]
pub enum JournalError {
    /// Somebody else writes this file.
    #[error(
        "{}: another copy of the program has this job open for writing; close it there first",
        file.display()
    )]
    SecondWriter {
        /// The file.
        file: PathBuf,
    },
    /// The disk is full.
    #[error(
        "{}: no space left on the disk while {doing}; make room, then open the job again",
        file.display()
    )]
    NoSpace {
        /// The file.
        file: PathBuf,
        /// What was being done.
        doing: &'static str,
    },
    /// The disk or the folder cannot be written to.
    #[error("{}: no right to write here ({cause}) while {doing}", file.display())]
    ReadOnly {
        /// The file.
        file: PathBuf,
        /// What was being done.
        doing: &'static str,
        /// The system's own words.
        cause: Error,
    },
    /// The file is not there any more.
    #[error(
        "{}: the file was deleted while it was open; nothing more can be kept in it",
        file.display()
    )]
    Gone {
        /// The file.
        file: PathBuf,
    },
    /// Another program has changed the file.
    #[error(
        "{}: the file has {found} bytes where {expected} were written; another program has changed it",
        file.display()
    )]
    Changed {
        /// The file.
        file: PathBuf,
        /// Bytes that it should have.
        expected: u64,
        /// Bytes that it has.
        found: u64,
    },
    /// An earlier append has failed; the file has to be opened again.
    #[error("{}: not written since an earlier error ({cause}); open the job again", file.display())]
    Poisoned {
        /// The file.
        file: PathBuf,
        /// The message of the earlier error.
        cause: String,
    },
    /// Anything else that the system reports.
    #[error("{}: {cause} while {doing}", file.display())]
    Io {
        /// The file.
        file: PathBuf,
        /// What was being done.
        doing: &'static str,
        /// The system's own words.
        cause: Error,
    },
    /// The file does not hold; it can be read up to there and not be written.
    #[error("{0}; the job can be read up to there and is not written to")]
    Faulty(JournalFault),
    /// A newer program has written the file.
    #[error(
        "{}: written in format {format}, this program writes {}; it is read as far as known and not written to",
        file.display(),
        super::FORMAT
    )]
    NewerFormat {
        /// The file.
        file: PathBuf,
        /// Its format.
        format: u32,
    },
    /// What was to be written cannot stand in this file.
    #[error("{}: event {id} cannot be written, field \"{field}\": {why}", file.display())]
    Unwritable {
        /// The file.
        file: PathBuf,
        /// The event.
        id: Uuid,
        /// The field that does not fit.
        field: &'static str,
        /// Why not.
        why: String,
    },
}

impl JournalError {
    /// The system's own words, as what keeps a journal from being read.
    pub fn unread(&self) -> JournalWhy {
        JournalWhy::Disk(match self {
            Self::ReadOnly { cause, .. } | Self::Io { cause, .. } => cause.to_string(),
            other => other.to_string(),
        })
    }

    /// Names a system error as precisely as the system does.
    pub(super) fn from_io(file: &Path, doing: &'static str, cause: Error) -> Self {
        let file = file.to_owned();
        match cause.kind() {
            ErrorKind::StorageFull | ErrorKind::QuotaExceeded => Self::NoSpace { file, doing },
            ErrorKind::ReadOnlyFilesystem | ErrorKind::PermissionDenied => {
                Self::ReadOnly { file, doing, cause }
            }
            _ => Self::Io { file, doing, cause },
        }
    }
}
