//! What was done on paper while the tablet was dead, and is entered later: one signed event
//! opens the batch, and every line of it says which one that is.

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use uuid::Uuid;

use super::check::{Allowed, ensure, ensure_short, is_hash};
use super::{Entry, Event, JobState, Person, Refusal, SignOff};

/// The most lines that one batch has.
pub const PAPER_LINES_MAX: u32 = 2_000;

const MS_A_MINUTE: i64 = 60_000;

/// Opens a batch of lines that were done on paper. The lines follow in the same journal, each
/// with the identity of this event, so that none passes for a tap, whatever becomes of this
/// one; their number and their hash are under the signature, so that none can be added,
/// changed or left away unseen.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PaperBatch {
    /// How many lines belong to it.
    pub lines: u32,
    /// SHA-256 over their events ([`paper_hash`]), 64 lower-case hex digits.
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
    hash: Sha256Text,
}

/// The events so far as they are hashed; let go once all are there.
#[derive(Clone, Debug, Default, PartialEq)]
struct Sha256Text(Vec<u8>);

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
    fn add(&mut self, event: &Event) -> Result<(), String> {
        serde_json::to_writer(&mut self.0, event).map_err(|e| e.to_string())?;
        self.0.push(b'\n');
        Ok(())
    }

    fn hex(&self) -> String {
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

    fn is_full(&self) -> bool {
        self.came.len() >= self.batch.lines as usize
    }
}

impl JobState {
    /// What was entered from paper, batch by batch, those taken back left out.
    pub fn papers(&self) -> impl Iterator<Item = &PaperEntered> {
        self.papers.iter().filter(|p| !self.is_withdrawn(p.id))
    }

    /// The batch that an event came in, if it came from paper.
    pub fn paper_of(&self, event: Uuid) -> Option<&PaperEntered> {
        self.papers.iter().find(|p| p.came.contains(&event))
    }

    /// The batch from which the last stage of a valve was entered, if it was.
    pub fn paper_of_valve(&self, valve: crate::engine::ValveName) -> Option<&PaperEntered> {
        self.paper_of(self.last_stage_event(valve)?)
    }

    /// Whether lines of a batch from paper stand.
    pub(super) fn has_lines_standing(&self, batch: Uuid) -> bool {
        let batch = self.papers.iter().find(|p| p.id == batch);
        batch.is_some_and(|p| {
            let mut came = p.came.iter();
            came.any(|line| self.history_entry(*line).is_some_and(|h| !h.withdrawn))
        })
    }

    /// Counts a line of a batch.
    #[cold]
    pub(super) fn paper_came(&mut self, entry: &Entry) {
        let of = (entry.paper, entry.tablet);
        let batch = self.papers.iter_mut();
        let Some(paper) = batch
            .filter(|p| !p.is_full())
            .find(|p| (Some(p.id), p.tablet) == of)
        else {
            return;
        };
        paper.came.push(entry.id);
        let is_written = paper.hash.add(&entry.event).is_ok();
        if paper.is_full() {
            let text = std::mem::take(&mut paper.hash);
            paper.is_whole = is_written && text.hex() == paper.batch.sha256;
        }
    }

    /// Whether a line may come from paper, and whether a batch is dated before it is entered.
    #[cold]
    pub(super) fn check_paper(&self, entry: &Entry) -> Allowed {
        let Some(paper) = entry.paper else {
            return match &entry.event {
                Event::EnteredFromPaper(batch) => {
                    ensure(batch.done_ms <= entry.at_ms, || Refusal::PaperAhead)
                }
                _ => Ok(()),
            };
        };
        ensure(may_be_on_paper(&entry.event), || Refusal::NeverFromPaper)?;
        let mut opened = self.papers();
        let is_opened = opened.any(|p| (p.id, p.tablet) == (paper, entry.tablet) && !p.is_full());
        ensure(is_opened, || Refusal::PaperNotOpened { paper })
    }

    /// Why a new batch should not be written: the paper tells of a time before the last event
    /// that the job has. Papers tell minutes.
    pub(super) fn paper_too_early(&self, batch: &PaperBatch) -> Option<Refusal> {
        let minute = |ms: i64| ms.div_euclid(MS_A_MINUTE);
        let is_early = minute(batch.done_ms) < minute(self.last_ms);
        is_early.then_some(Refusal::PaperEarlier)
    }
}

pub(super) fn check_batch(batch: &PaperBatch) -> Allowed {
    ensure_short([&*batch.done_by.0])?;
    ensure((1..=PAPER_LINES_MAX).contains(&batch.lines), || {
        Refusal::BadCount { count: batch.lines }
    })?;
    ensure(is_hash(&batch.sha256), || Refusal::BadFigure {
        field: "sha256",
        value: batch.sha256.chars().take(64).collect(),
        rule: "64 lower-case hex digits",
    })
}

/// What a sheet of paper can tell. Nothing that is signed is among it: people sign with their
/// codes, now.
fn may_be_on_paper(event: &Event) -> bool {
    matches!(
        event,
        Event::LeakRead { .. }
            | Event::StepSeen { .. }
            | Event::KitCounted { .. }
            | Event::StockIssued { .. }
            | Event::PutAboard { .. }
            | Event::PartDropped { .. }
            | Event::PartFound { .. }
            | Event::CoverOff { .. }
            | Event::PlugOut { .. }
            | Event::VentedCoverIn { .. }
            | Event::VentedCoverOut { .. }
            | Event::HoseIn { .. }
            | Event::HoseOut { .. }
            | Event::WrenchOn {}
            | Event::WrenchOff {}
            | Event::CrankTurned { .. }
            | Event::AirOn { .. }
            | Event::AirOff { .. }
            | Event::HoldDeclared { .. }
            | Event::HoldReleased { .. }
            | Event::StageSeen { .. }
    )
}
