//! What is wrong with a file where tablets meet. It is left as it is, or put right.

use std::cmp::Ordering;
use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

use crate::data::store::{AnyFault, InGerman};

/// A file where tablets meet that does not hold, or did not.
#[derive(Clone, Debug, Error)]
#[error("{}: {why}", path.display())]
pub struct SharedFault {
    /// The file.
    pub path: PathBuf,
    /// What is wrong.
    pub why: FileWhy,
}

/// What is wrong with a file where tablets meet.
#[derive(Clone, Debug, Error)]
pub enum FileWhy {
    /// What the system or a parser says, in its own words.
    #[error("{0}")]
    System(String),
    /// What the reader of such files says.
    #[error("{0}")]
    Told(AnyFault),
    /// It could not be read, and goes on as if it had never been there.
    #[error("{0}; every tablet's key is pinned anew")]
    PinnedAnew(AnyFault),
    /// The pinned keys are sealed with another tablet's key.
    #[error("sealed by another tablet; every tablet's key is pinned anew")]
    OthersPins,
    /// A card under another tablet's name.
    #[error("its name is not the tablet's that it tells of")]
    OtherTablet,
    /// A card with a name that none can be.
    #[error("the tablet's name cannot be one")]
    BadTabletName,
    /// Among the layouts, and none by its name.
    #[error("its name is not that of a layout")]
    NoLayoutName,
    /// A link, a pipe or a folder.
    #[error("it is no plain file")]
    NoPlainFile,
    /// The same in the place of this tablet's journal.
    #[error("it is no plain file; this tablet's journal belongs there")]
    OwnIsNoFile,
    /// A layout of this tablet's that somebody had changed.
    #[error("it was another; written anew")]
    WrittenAnew,
    /// A layout from nobody of the shop.
    #[error("no member of the shop has sealed it")]
    NoMembers,
    /// As many layouts are kept as may be.
    #[error("{0} layouts are kept here, and no more are taken")]
    TooManyLayouts(usize),
    /// It went while it was read.
    #[error("it is gone")]
    Gone,
    /// It was changed while it was copied.
    #[error("it was changed meanwhile")]
    ChangedMeanwhile,
    /// More lines in this tablet's journal than it wrote.
    #[error("it had {0} bytes more than this tablet wrote; it was put right")]
    Surplus(u64),
    /// Other lines in this tablet's journal than it wrote.
    #[error("it was not what this tablet wrote; it was put right")]
    PutRight,
    /// Less in this tablet's journal than it had brought.
    #[error("{0} bytes that this tablet had brought were gone; it was put right")]
    BroughtGone(u64),
    /// This tablet's own lines, as after an old copy of its data folder was put back.
    #[error(
        "{0} bytes of this tablet's own lines were only there, as after an old copy of its data \
         folder was put back; they were fetched"
    )]
    Fetched(u64),
    /// Longer than any that is read.
    #[error("it has {0} bytes, more than are read")]
    TooLong(u64),
    /// The same, told by a head.
    #[error("it has {bytes} bytes in {pieces} pieces, more than are read")]
    TooManyPieces {
        /// Its bytes.
        bytes: u64,
        /// Its pieces.
        pieces: usize,
    },
    /// A head with a hash that is none.
    #[error("a piece's hash is none")]
    NoHash,
    /// A head with a seal that is none.
    #[error("its seal is longer than one")]
    LongSeal,
    /// A head that tells of a piece that is not there.
    #[error("a piece of it is not in the bucket, or is another")]
    NoPiece,
    /// Of a version that this program does not know.
    #[error("format {format}; this program knows {known}")]
    UnknownFormat {
        /// Its format.
        format: u32,
        /// The one that is known.
        known: u32,
    },
    /// Lines that were read before are not there any more.
    #[error("it no longer has the lines that were read from it before; they are kept here")]
    LinesGone,
    /// A tablet has sealed two courses of a job.
    #[error("this tablet has sealed two courses of the same job: its identity is in use twice")]
    TwoCourses,
    /// A tablet says that its identity is in use twice.
    #[error(
        "sealed with one and the same key in two places: this identity is in use twice, for a \
         data folder was copied or an old one put back; one of both has to become a new tablet"
    )]
    InUseTwice,
    /// Another picture under the name of one.
    #[error("it is not the picture that its event names")]
    OtherPicture,
}

impl SharedFault {
    /// What is wrong with a file.
    pub fn new(path: &Path, why: FileWhy) -> Self {
        let path = path.to_owned();
        Self { path, why }
    }
}

impl FileWhy {
    /// What a reader of such files has to say.
    pub fn told(error: impl InGerman + 'static) -> Self {
        Self::Told(std::sync::Arc::new(error))
    }
}

impl From<io::Error> for FileWhy {
    fn from(error: io::Error) -> Self {
        Self::System(error.to_string())
    }
}

impl PartialEq for SharedFault {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for SharedFault {}

impl PartialOrd for SharedFault {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for SharedFault {
    fn cmp(&self, other: &Self) -> Ordering {
        let by_path = self.path.cmp(&other.path);
        // Most differ by their place, and need no words.
        by_path.then_with(|| self.why.to_string().cmp(&other.why.to_string()))
    }
}
