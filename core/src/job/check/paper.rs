//! What may come from paper: nothing that people sign, nothing that no one has signed for.

use super::notes::is_hash;
use super::{Allowed, ensure, ensure_short};
use crate::job::{Entry, Event, JobState, NotedFigure, PAPER_LINES_MAX, PaperBatch, Refusal};

impl JobState {
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
}

pub(super) fn check_batch(batch: &PaperBatch) -> Allowed {
    ensure_short([&*batch.done_by.0])?;
    ensure((1..=PAPER_LINES_MAX).contains(&batch.lines), || {
        Refusal::BadCount { count: batch.lines }
    })?;
    ensure(is_hash(&batch.sha256), || Refusal::BadFigure {
        figure: NotedFigure::Sha256,
        value: batch.sha256.chars().take(64).collect(),
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
