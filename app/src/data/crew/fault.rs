//! What is wrong with a file of the crew or of the shop log: by kind, so that it can be said
//! in every language.

use std::fmt;
use std::path::{Path, PathBuf};

use thiserror::Error;
use trayzero_core::shop_log::{LineFault, WhyRefused};

use crate::data::store::sealed::SealedError;
use crate::data::store::{Doing, FileError};

/// What is wrong with a file, or with one line of it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct CrewFault {
    /// The file.
    pub path: PathBuf,
    /// The line, counted from 1, where one is meant.
    pub line: Option<usize>,
    /// What is wrong.
    pub why: WhyFaulty,
}

/// What is wrong with it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Error)]
pub enum WhyFaulty {
    /// Others are there that are not without it.
    #[error("it is missing")]
    Missing,
    /// Another tablet, or somebody, has sealed it.
    #[error("it was not sealed by this tablet")]
    OtherSeal,
    /// A card that another has sealed than it tells of.
    #[error("it was not sealed by the tablet that it tells of")]
    OtherCard,
    /// A card whose name or key cannot be a tablet's.
    #[error("{0}")]
    NoCard(WhyRefused),
    /// Its contents are not what was sealed.
    #[error("it was changed by hand since it was sealed ({0})")]
    Changed(String),
    /// It does not read as what it should be, in the reader's words.
    #[error("{0}")]
    Unreadable(String),
    /// It cannot be read or written, in the system's words.
    #[error("{cause} while {doing}")]
    Disk {
        /// What was being done.
        doing: Doing,
        /// The system's words.
        cause: String,
    },
    /// It is no key.
    #[error("it is no key: 64 hex digits")]
    NoKey,
    /// It should name a shop.
    #[error("it names no shop")]
    NoShop,
    /// The log does not begin with the line that founds its shop.
    #[error("the line that founds the shop is not there, or does not hold")]
    NotFounded,
    /// A line of the log does not hold.
    #[error(transparent)]
    Line(#[from] LineFault),
    /// A link, a folder or a pipe.
    #[error("it is no plain file")]
    NoFile,
    /// An older one was put back.
    #[error("it is not the last one that was written")]
    NotTheLast,
    /// Every name that it could be set aside under is taken.
    #[error("there is no free name to set it aside under")]
    NoFreeName,
    /// This tablet's own file in the shop folder was changed.
    #[error("somebody else has changed it; it is written anew")]
    WrittenAnew,
    /// A file in the shop folder that was longer, or another.
    #[error("it no longer has the lines that were checked before; they are kept here")]
    LinesGone,
    /// More files than are looked at.
    #[error(
        "{0} files, of which {1} are looked at: somebody fills it. Empty this folder: each tablet \
         of the shop shows itself in it again"
    )]
    TooMany(usize, usize),
}

impl CrewFault {
    /// Of a file as a whole.
    pub fn of(path: &Path, why: WhyFaulty) -> Self {
        Self {
            path: path.to_owned(),
            line: None,
            why,
        }
    }

    /// Of one line of a log.
    pub fn of_line(path: &Path, (line, why): (usize, LineFault)) -> Self {
        Self {
            line: Some(line),
            ..Self::of(path, why.into())
        }
    }
}

impl fmt::Display for CrewFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: ", self.path.display())?;
        if let Some(line) = self.line {
            write!(f, "line {line}: ")?;
        }
        write!(f, "{}", self.why)
    }
}

impl std::error::Error for CrewFault {}

impl From<FileError> for CrewFault {
    fn from(error: FileError) -> Self {
        let (doing, cause) = (error.doing, error.cause.to_string());
        Self::of(&error.path, WhyFaulty::Disk { doing, cause })
    }
}

impl From<SealedError> for CrewFault {
    fn from(error: SealedError) -> Self {
        match error {
            SealedError::File(error) => error.into(),
            SealedError::Unreadable { path, why } => Self::of(&path, WhyFaulty::Unreadable(why)),
            SealedError::Changed { path, why } => Self::of(&path, WhyFaulty::Changed(why)),
        }
    }
}
