//! What can go wrong with the data folder, and why a tap is not taken.

use std::path::PathBuf;
use std::sync::Arc;

use thiserror::Error;
use trayzero_core::job::Refusal;
use trayzero_core::journal::{JournalError, Torn};
use uuid::Uuid;

use super::small_file::FileError;
use super::told::AnyFault;

/// What is wrong with the data folder. Each message names the file.
#[derive(Debug, Error)]
pub enum StoreError {
    /// The system knows no folder for a user's data.
    #[error("this system names no folder for the user's data; name one with --data")]
    NoFolder,
    /// The system has no random numbers.
    #[error("the system gives no random numbers: {cause}")]
    NoChance {
        /// The system's own words.
        cause: String,
    },
    /// A small file cannot be read or written.
    #[error(transparent)]
    File(#[from] FileError),
    /// A sealed file cannot be read or written, or was changed by hand.
    #[error(transparent)]
    Sealed(#[from] SealedError),
    /// A journal cannot be read or written.
    #[error(transparent)]
    Journal(#[from] JournalError),
    /// A small file does not read as what it should be.
    #[error("{}: {why}", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What is wrong, in words.
        why: String,
    },
    /// A tablet's card of a version that this program does not know.
    #[error("{}: format {format}; this program knows format 1", path.display())]
    CardFormat {
        /// The file.
        path: PathBuf,
        /// Its format.
        format: u32,
    },
    /// A tablet's key that is none.
    #[error("{}: it is no key: 64 hex digits", path.display())]
    NoKey {
        /// The file.
        path: PathBuf,
    },
    /// A name that cannot be one.
    #[error("\"{name}\" cannot be a name: 1 to 40 printable characters")]
    BadName {
        /// The name, shortened.
        name: String,
    },
    /// The opening could not be kept.
    #[error("{0}")]
    NotKept(AnyFault),
    /// There is no such job here.
    #[error("there is no job {job} in this tablet's folder")]
    NoSuchJob {
        /// The job.
        job: Uuid,
    },
    /// The opening was refused.
    #[error("{}: {:?}", .0.code(), .0)]
    Refused(Refusal),
}

/// Why a tap was not taken. Nothing of its events is on the disk or in the state.
#[derive(Debug, Error)]
pub enum ProposeError {
    /// The rules refuse an event.
    #[error("{}: {refusal:?}", refusal.code())]
    Refused {
        /// Which of the events, counted from 0.
        at: usize,
        /// Why, and the way out.
        refusal: Refusal,
    },
    /// It could not be kept on the disk.
    #[error("{why}")]
    Disk {
        /// The error; it names the file.
        why: AnyFault,
        /// What kind of trouble it is.
        trouble: DiskTrouble,
    },
    /// The job can only be read here.
    #[error("{0}")]
    ReadOnly(AnyFault),
}

/// What the person at the tablet should know about the files of a job.
#[derive(Debug, Error)]
pub enum StoreNote {
    /// A line that was never finished was set aside.
    #[error("{0}. It was never shown as done; it is kept in the side file")]
    Torn(Torn),
    /// The lines could not be signed.
    #[error("the tablet's signature could not be kept: {0}")]
    SealNotKept(ProposeError),
}

/// What kind of trouble a disk makes, for the way out of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DiskTrouble {
    /// It is full.
    Full,
    /// It cannot be written to.
    ReadOnly,
    /// The file was deleted while it was open.
    Gone,
    /// Anything else.
    Other,
}

impl From<StoreError> for ProposeError {
    fn from(error: StoreError) -> Self {
        Self::Disk {
            why: Arc::new(error),
            trouble: DiskTrouble::Other,
        }
    }
}

impl From<JournalError> for ProposeError {
    fn from(error: JournalError) -> Self {
        let trouble = match &error {
            JournalError::NoSpace { .. } => DiskTrouble::Full,
            JournalError::ReadOnly { .. } => DiskTrouble::ReadOnly,
            JournalError::Gone { .. } => DiskTrouble::Gone,
            _ => DiskTrouble::Other,
        };
        Self::Disk {
            why: Arc::new(error),
            trouble,
        }
    }
}

/// Why a sealed file cannot be trusted.
#[derive(Debug, Error)]
pub enum SealedError {
    /// It cannot be read or written.
    #[error(transparent)]
    File(#[from] FileError),
    /// It does not read as what it should be.
    #[error("{}: {why}", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What is wrong, in words.
        why: String,
    },
    /// Its contents are not what was sealed.
    #[error("{}: it was changed by hand since it was sealed ({why})", path.display())]
    Changed {
        /// The file.
        path: PathBuf,
        /// What is wrong, in words.
        why: String,
    },
}
