//! What was done on paper while the tablet was dead, and is entered later: one signed event
//! opens the batch, and every line of it says which one that is.

use uuid::Uuid;

use super::state::HistoryEntry;
use super::{Entry, Event, JobState, PaperBatch, PaperEntered, Person, Refusal};

const MS_A_MINUTE: i64 = 60_000;

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

    /// Whether a paper tells of a time before the last thing that was tapped. Papers tell
    /// minutes. The same sheet may go on behind a signature or after a kill: then its time is
    /// the one that was entered before.
    pub fn is_paper_too_early(&self, done_by: &Person, done_ms: i64) -> bool {
        let minute = |ms: i64| ms.div_euclid(MS_A_MINUTE);
        let mut entered = self.papers().map(|p| &p.batch);
        let goes_on =
            entered.any(|b| b.done_by == *done_by && minute(b.done_ms) == minute(done_ms));
        let is_tap = |p: &&HistoryEntry| {
            !p.is_from_paper && !matches!(p.event, Event::EnteredFromPaper(_) | Event::Sealed(_))
        };
        let last_ms = self.history.iter().filter(is_tap).map(|p| p.at_ms).max();
        !goes_on && last_ms.is_some_and(|last_ms| minute(done_ms) < minute(last_ms))
    }

    /// Why a new batch should not be written.
    pub(super) fn paper_too_early(&self, batch: &PaperBatch) -> Option<Refusal> {
        let is_early = self.is_paper_too_early(&batch.done_by, batch.done_ms);
        is_early.then_some(Refusal::PaperEarlier)
    }
}
