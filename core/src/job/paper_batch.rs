//! The event that opens a batch of lines that were done on paper and are entered later.

use serde::{Deserialize, Serialize};

use super::{Person, SignOff};

/// The most lines that one batch has.
pub const PAPER_LINES_MAX: u32 = 2_000;

/// Opens a batch of lines that were done on paper. The lines follow in the same journal, each
/// with the identity of this event, so that none passes for a tap, whatever becomes of this
/// one; their number and their hash are under the signature, so that none can be added,
/// changed or left away unseen.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PaperBatch {
    /// How many lines belong to it.
    pub lines: u32,
    /// SHA-256 over their events ([`super::paper_hash`]), 64 lower-case hex digits.
    pub sha256: String,
    /// Who has done the work, as the paper says.
    pub done_by: Person,
    /// Up to when, as the paper says: milliseconds since 1970 UTC.
    pub done_ms: i64,
    /// Offset of that time from UTC in minutes.
    pub done_offset_min: i16,
    /// Who enters it.
    pub by: SignOff,
}
