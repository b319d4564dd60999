//! What a tablet tells of its journals in a bucket: one small object, written anew after
//! each push, that names the pieces of every journal in their order.
//!
//! ```text
//! now/…                                   the small files of a shop folder, under their names
//! now/heads/<tablet>.json                 how far each of its journals goes
//! keys/<to>/<from>.box                    locked keys, as in a shop folder
//! lines/<job>/<tablet>/<line>-<hash>      lines of a journal from that line on
//! past/<tablet>/<n>.json                  heads of a hundred journals of jobs that are over
//! pictures/<job>/<name>                   copies of photographs
//! board.html                              the page of the board, where a tablet keeps one
//! ```
//! A head is believed no more than a file's name in a folder: whose lines count is told by
//! links and seals, once the journal is put together.

use serde::{Deserialize, Serialize};
use trayzero_core::journal::sha256;
use uuid::Uuid;

use crate::shop::FileWhy;

/// The format of heads that this program writes.
const FORMAT: u32 = 1;
/// The largest head that is read, in bytes.
pub(super) const HEAD_BYTES_MAX: u64 = 4 << 20;
/// How many journals an object of the past has.
pub(super) const PAST_JOURNALS: usize = 100;

/// Some lines of a journal.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Piece {
    /// The number of its first line in the file, from 1.
    pub line: u64,
    pub bytes: u64,
    /// SHA-256, 64 hex digits.
    pub hash: String,
}

impl Piece {
    pub fn of(line: u64, bytes: &[u8]) -> Self {
        Self {
            line,
            bytes: bytes.len() as u64,
            hash: sha256(bytes),
        }
    }

    /// The name says what is in it, so two tablets never mean two things by one.
    pub fn name(&self, job: Uuid, tablet: Uuid) -> String {
        format!("lines/{job}/{tablet}/{:08}-{}", self.line, self.hash)
    }

    /// Whether its name leads to a piece and nowhere else.
    pub fn is_sound(&self) -> bool {
        let is_digit = |b: u8| b.is_ascii_digit() || (b'a'..=b'f').contains(&b);
        self.hash.len() == 64 && self.hash.bytes().all(is_digit)
    }

    /// Whether both have one name.
    pub fn is_named_as(&self, other: &Self) -> bool {
        self.line == other.line && self.hash == other.hash
    }

    pub fn is(&self, bytes: &[u8]) -> bool {
        bytes.len() as u64 == self.bytes && sha256(bytes) == self.hash
    }
}

/// How far one journal goes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct JournalHead {
    pub job: Uuid,
    pub pieces: Vec<Piece>,
    /// The file with the seal beside it, as it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seal: Option<String>,
    /// The file with the note that there are two of this tablet, as it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub twin: Option<String>,
}

impl JournalHead {
    pub fn bytes(&self) -> u64 {
        let lengths = self.pieces.iter().map(|piece| piece.bytes);
        lengths.fold(0, u64::saturating_add)
    }
}

/// What a tablet tells of its journals.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Head {
    format: u32,
    /// Journals of jobs under way, and those that were over and went on.
    pub open: Vec<JournalHead>,
    /// How many objects of the past there are, the last of which may still be filled.
    pub past: u32,
    /// How many journals the last of them tells of, so that a head changes whenever it does.
    #[serde(default)]
    pub last: u32,
}

/// Journals of jobs that are over.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Past {
    format: u32,
    pub journals: Vec<JournalHead>,
}

impl Head {
    pub fn to_bytes(&self) -> Vec<u8> {
        // Plain texts and figures always serialise.
        let whole = Self {
            format: FORMAT,
            ..self.clone()
        };
        serde_json::to_vec(&whole).unwrap_or_default()
    }

    /// # Errors
    /// Why it is none, in words.
    pub fn read(bytes: &[u8]) -> Result<Self, FileWhy> {
        let head: Self =
            serde_json::from_slice(bytes).map_err(|e| FileWhy::System(e.to_string()))?;
        known(head.format)?;
        Ok(head)
    }
}

impl Past {
    pub fn to_bytes(&self) -> Vec<u8> {
        let whole = Self {
            format: FORMAT,
            journals: self.journals.clone(),
        };
        serde_json::to_vec(&whole).unwrap_or_default()
    }

    /// # Errors
    /// Why it is none, in words.
    pub fn read(bytes: &[u8]) -> Result<Self, FileWhy> {
        let past: Self =
            serde_json::from_slice(bytes).map_err(|e| FileWhy::System(e.to_string()))?;
        known(past.format)?;
        Ok(past)
    }

    pub fn is_full(&self) -> bool {
        self.journals.len() >= PAST_JOURNALS
    }
}

fn known(format: u32) -> Result<(), FileWhy> {
    if format == FORMAT {
        return Ok(());
    }
    Err(FileWhy::UnknownFormat {
        format,
        known: FORMAT,
    })
}

pub(super) fn head_name(tablet: Uuid) -> String {
    format!("now/heads/{tablet}.json")
}

/// Whose head an object is, by its name.
pub(super) fn tablet_of(name: &str) -> Option<Uuid> {
    let stem = name.strip_prefix("now/heads/")?.strip_suffix(".json")?;
    stem.parse().ok().filter(|id: &Uuid| id.to_string() == stem)
}

pub(super) fn past_name(tablet: Uuid, n: u32) -> String {
    format!("past/{tablet}/{n:06}.json")
}
