//! What was done on paper and entered later, batch by batch.

use serde::Serialize;

use super::{By, Stamp};
use crate::job::{JobState, PaperEntered, Person};

/// One batch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PaperLine {
    /// How many lines were signed for.
    pub lines: u32,
    /// How many of them are there.
    pub came: usize,
    /// All are there, and they are those that were signed.
    pub whole: bool,
    /// Who has done the work, as the paper says.
    pub done_by: Person,
    /// Up to when, as the paper says.
    pub done_at: Stamp,
    /// Who has entered it, and when.
    #[serde(flatten)]
    pub by: By,
}

impl PaperLine {
    fn of(paper: &PaperEntered) -> Self {
        let batch = &paper.batch;
        Self {
            lines: batch.lines,
            came: paper.came.len(),
            whole: paper.is_whole,
            done_by: batch.done_by.clone(),
            done_at: Stamp {
                at_ms: batch.done_ms,
                offset_min: batch.done_offset_min,
            },
            by: By {
                at: Stamp {
                    at_ms: paper.at_ms,
                    offset_min: paper.offset_min,
                },
                who: batch.by.person.clone(),
                from_paper: false,
            },
        }
    }
}

pub(super) fn paper_lines(state: &JobState) -> Vec<PaperLine> {
    state.papers().map(PaperLine::of).collect()
}
