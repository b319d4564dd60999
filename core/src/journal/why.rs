//! Why a line of a journal, or a seal, does not hold.

use serde::{Serialize, Serializer};
use thiserror::Error;
use uuid::Uuid;

use super::{FORMAT, TimeError};

/// Why a line or a seal does not hold. In English it stands in records and answers.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[allow(missing_docs)] // Each says itself what it is.
pub enum JournalWhy {
    #[error("the file has {bytes} bytes; at most {most} are read")]
    FileTooLarge { bytes: u64, most: u64 },
    #[error("the file is longer than {0} bytes")]
    FileTooLong(u64),
    #[error("the lines read before are not what they were")]
    ReadBefore,
    #[error("the line does not end with its link")]
    NoLink,
    #[error("it does not follow from the line before and this line: one of them was changed")]
    DoesNotFollow,
    #[error("{here}, where the file's name and folder say {path}")]
    Elsewhere { here: Uuid, path: Uuid },
    #[error("{0} again after {1}")]
    FormatAgain(u32, u32),
    #[error("no event of format {0}: it begins with {1}")]
    EventOfLater(u32, u32),
    #[error("{0} where {1} is due")]
    NotDue(u64, u64),
    #[error("{0:?} does not rise over the line before")]
    ClockStands((u64, u32)),
    #[error("longer than {0} bytes")]
    LineTooLong(usize),
    #[error("something else stands where the line should end")]
    NotEnded,
    #[error("the disk could not be read here: {0}")]
    Disk(String),
    #[error("past the year 9000: nothing could be written after it")]
    NoRoom,
    #[error("{0} ms is past the year 9999")]
    Past9999(u64),
    #[error(transparent)]
    Time(#[from] TimeError),
    #[error("0 is no format")]
    NoFormat,
    #[error("no header of a journal: {0}")]
    NoHeader(String),
    #[error("no JSON object: {0}")]
    NoJson(String),
    #[error("missing")]
    Missing,
    #[error("unknown field")]
    UnknownField,
    /// What the reader of JSON says.
    #[error("{0}")]
    Json(String),
    #[error("the key is no ed25519 key in 64 hex digits")]
    NoKey,
    #[error("the signature is not 128 hex digits")]
    NoSignature,
    #[error("the signature is not over the line before")]
    OtherLine,
    #[error("signed with another key than this tablet's")]
    OtherKey,
    #[error("signed with another key than the shop knows this tablet by")]
    KeyNotAdmitted,
    #[error("format {0}; this program knows {FORMAT}")]
    OtherFormat(u32),
    #[error("it is of another journal")]
    OtherJournal,
    #[error("its end is no link")]
    EndIsNoLink,
    #[error("nobody has admitted this tablet to the shop; nothing of it is told")]
    NotAdmitted,
    #[error("from here on it is not sealed by a member of the shop{}", .0.as_ref().map(|why| format!(": {why}")).unwrap_or_default())]
    NotSealed(Option<Box<Complaint>>),
}

impl Serialize for JournalWhy {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

/// The first thing in a journal that does not hold: a line, its field, or a seal.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("{}: {why}", self.place())]
pub struct Complaint {
    /// The line, counted from 1; `None` for the seal beside the journal.
    pub line: Option<u64>,
    /// The field; empty where the line as a whole or a seal is meant.
    pub field: String,
    /// Why it does not.
    pub why: JournalWhy,
}

impl Complaint {
    fn place(&self) -> String {
        match (self.line, &*self.field) {
            (None, _) => "the seal beside it".to_owned(),
            (Some(line), "") => format!("line {line}"),
            (Some(line), field) => format!("line {line}, field \"{field}\""),
        }
    }
}
