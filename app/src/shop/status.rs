//! What the screen says about the shop folder.

use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;
use trayzero_core::journal::FileFault;
use trayzero_core::shop_log::StrangerFile;
use uuid::Uuid;

use super::bucket::BucketFault;
use super::shared_fault::SharedFault;
use crate::data::store::FileError;
use crate::data::store::sealed::SealedError;

/// Why the shop folder as a whole does not serve. The work at the bay goes on all the
/// same, and what is missing there is caught up later.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ShopFault {
    /// The folder is not there.
    #[error("the shop folder {} is not there", folder.display())]
    Vanished {
        /// The folder.
        folder: PathBuf,
    },
    /// Something is there, but not the folder that this tablet has joined: most often
    /// the share is not mounted.
    #[error(
        "{} is not the shop folder that this tablet has joined; is the share mounted?",
        folder.display()
    )]
    NotTheShopFolder {
        /// The folder.
        folder: PathBuf,
    },
    /// It has no room.
    #[error("no space left in the shop folder for {}", path.display())]
    Full {
        /// What was being written.
        path: PathBuf,
    },
    /// It cannot be written to.
    #[error("the shop folder cannot be written to: {} ({cause})", path.display())]
    ReadOnly {
        /// What was being written.
        path: PathBuf,
        /// The system's own words.
        cause: String,
    },
    /// The bucket in its place does not serve.
    #[error("{}: {why}", place.display())]
    Bucket {
        /// As the person wrote it.
        place: PathBuf,
        /// Why.
        why: BucketFault,
    },
    /// Anything else that the system reports.
    #[error("the shop folder fails at {}: {cause}", path.display())]
    Io {
        /// What was being read or written.
        path: PathBuf,
        /// The system's own words.
        cause: String,
    },
}

impl ShopFault {
    /// Names what the system reports of a path as precisely as it does.
    pub(super) fn at(path: &Path) -> impl Fn(io::Error) -> Self + Copy {
        use io::ErrorKind as K;
        move |cause| match cause.kind() {
            K::StorageFull | K::QuotaExceeded => Self::Full {
                path: path.to_owned(),
            },
            K::ReadOnlyFilesystem | K::PermissionDenied => Self::ReadOnly {
                path: path.to_owned(),
                cause: cause.to_string(),
            },
            _ => Self::io(path, &cause),
        }
    }

    /// In the system's own words.
    pub(super) fn io(path: &Path, cause: &impl ToString) -> Self {
        Self::Io {
            path: path.to_owned(),
            cause: cause.to_string(),
        }
    }
}

impl From<FileError> for ShopFault {
    fn from(error: FileError) -> Self {
        Self::at(&error.path)(error.cause)
    }
}

impl From<SealedError> for ShopFault {
    fn from(error: SealedError) -> Self {
        match error {
            SealedError::File(error) => error.into(),
            SealedError::Unreadable { ref path, .. } | SealedError::Changed { ref path, .. } => {
                Self::io(path, &error)
            }
        }
    }
}

/// Lines in the shop folder that count for nothing until somebody vouches for them. They
/// hold the gate of their job, for they may be true.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct NotConfirmed {
    /// The job.
    pub job: Uuid,
    /// The tablet in whose name they are.
    pub tablet: Uuid,
    /// Why they do not count.
    pub why: WhyNotConfirmed,
}

/// Why lines do not count.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum WhyNotConfirmed {
    /// Nobody has admitted the tablet.
    Stranger,
    /// Its tablet has not sealed them.
    Unsealed {
        /// How many.
        lines: u64,
    },
    /// Its tablet has sealed lines that are not there.
    Missing,
    /// Sealed lines that were there are no longer there, or are others.
    Changed,
    /// Its tablet's key has sealed two courses of the job.
    Twice,
    /// The file does not hold to its end, or is too large to be read.
    Unread,
}

/// A tablet whose clock is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClockAhead {
    /// The tablet.
    pub tablet: Uuid,
    /// By how many whole days its latest line is ahead of this tablet's clock.
    pub ahead_days: u64,
}

/// A tablet signs with another key than the one it was first seen with. A foreman has to
/// look at it; until then the first key counts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyConflict {
    /// The tablet.
    pub tablet: Uuid,
    /// Its name as pinned.
    pub name: String,
    /// The key it was first seen with, 64 hex digits.
    pub pinned: String,
    /// The key it shows now.
    pub shown: String,
}

/// How it stands with the shop folder.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ShopStatus {
    /// The folder or bucket, where one is set, as it is named.
    pub folder: Option<PathBuf>,
    /// The folder that is read and written for it: itself, or the copy of a bucket.
    pub copy: Option<PathBuf>,
    /// Wall clock in milliseconds at the end of the last good round.
    pub last_good_ms: Option<i64>,
    /// Wall clock in milliseconds when the round under way began.
    pub round_since_ms: Option<i64>,
    /// What is wrong with the folder as a whole.
    pub fault: Option<ShopFault>,
    /// Acknowledged own bytes that are not in the shop folder yet.
    pub behind_bytes: u64,
    /// Files that do not hold.
    pub file_faults: Vec<SharedFault>,
    /// What lies there and is none of ours.
    pub left_alone: Vec<FileFault>,
    /// Tablets with a changed key.
    pub key_conflicts: Vec<KeyConflict>,
    /// Lines that nobody vouches for.
    pub not_confirmed: Vec<NotConfirmed>,
    /// Files of strangers among them that a foreman can dismiss.
    pub strangers: Vec<StrangerFile>,
    /// Tablets whose clock is more than a day ahead of this one's.
    pub clocks_ahead: Vec<ClockAhead>,
    /// Tablets met, by identity and name.
    pub tablets: Vec<(Uuid, String)>,
}

/// After so many milliseconds without a good round the figures of other tablets may be old
/// (common practice, no source).
pub const OUT_OF_TOUCH_MS: i64 = 2 * 60_000;

/// A round that takes longer than this is said to hang, in milliseconds.
const SLOW_ROUND_MS: i64 = 20_000;

impl ShopStatus {
    /// In how many journals of a job lines are not confirmed.
    pub fn unconfirmed_in(&self, job: Uuid) -> usize {
        self.not_confirmed.iter().filter(|n| n.job == job).count()
    }

    /// Since when (wall clock in milliseconds) the board may be out of date; `None` while
    /// it is not, or no folder is set. A folder that never answered counts from 0.
    pub fn stale_since_ms(&self, now_ms: i64) -> Option<i64> {
        self.folder.as_ref()?;
        let hangs = self
            .round_since_ms
            .is_some_and(|since| now_ms - since > SLOW_ROUND_MS);
        (self.fault.is_some() || hangs).then(|| self.last_good_ms.unwrap_or(0))
    }

    /// Since when (wall clock in milliseconds) nothing can have come from other tablets,
    /// once that is long enough to be said. A folder that never answered counts from 0.
    pub fn out_of_touch_since_ms(&self, now_ms: i64) -> Option<i64> {
        self.folder.as_ref()?;
        match self.last_good_ms {
            Some(at_ms) => (now_ms - at_ms > OUT_OF_TOUCH_MS).then_some(at_ms),
            None => self.stale_since_ms(now_ms),
        }
    }
}
