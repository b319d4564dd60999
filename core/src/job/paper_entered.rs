//! A batch from paper as far as its lines have come.

use sha2::{Digest, Sha256};
use uuid::Uuid;

use super::{Entry, Event, PaperBatch};

/// A batch as far as its lines have come.
#[derive(Clone, Debug, PartialEq)]
pub struct PaperEntered {
    /// The event that opened it.
    pub id: Uuid,
    /// The tablet on which it was entered.
    pub tablet: Uuid,
    /// When it was entered: wall clock of that tablet, milliseconds since 1970 UTC.
    pub at_ms: i64,
    /// Offset of that clock from UTC in minutes.
    pub offset_min: i16,
    /// What was signed.
    pub batch: PaperBatch,
    /// Its lines so far, by identity; also those that cannot stand.
    pub came: Vec<Uuid>,
    /// All of its lines are there, and they are those that were signed.
    pub is_whole: bool,
    pub(super) hash: Sha256Text,
}

/// The events so far as they are hashed; let go once all are there.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Sha256Text(Vec<u8>);

/// The hash that a batch's signature covers: SHA-256 over the events as compact JSON, each
/// closed by a newline, in 64 lower-case hex digits.
///
/// # Errors
/// What of an event cannot be written, in words.
pub fn paper_hash<'a>(events: impl IntoIterator<Item = &'a Event>) -> Result<String, String> {
    let mut text = Sha256Text::default();
    for event in events {
        text.add(event)?;
    }
    Ok(text.hex())
}

impl Sha256Text {
    pub(super) fn add(&mut self, event: &Event) -> Result<(), String> {
        serde_json::to_writer(&mut self.0, event).map_err(|e| e.to_string())?;
        self.0.push(b'\n');
        Ok(())
    }

    pub(super) fn hex(&self) -> String {
        use std::fmt::Write;
        let mut hex = String::with_capacity(64);
        for byte in Sha256::digest(&self.0) {
            // Writing to a string cannot fail.
            let _ = write!(hex, "{byte:02x}");
        }
        hex
    }
}

impl PaperEntered {
    pub(super) fn of(entry: &Entry, batch: &PaperBatch) -> Self {
        Self {
            id: entry.id,
            tablet: entry.tablet,
            at_ms: entry.at_ms,
            offset_min: entry.offset_min,
            batch: batch.clone(),
            came: Vec::new(),
            is_whole: false,
            hash: Sha256Text::default(),
        }
    }

    pub(super) fn is_full(&self) -> bool {
        self.came.len() >= self.batch.lines as usize
    }
}
