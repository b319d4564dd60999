//! A young shop's bays learn from each other: before it has finished a few jobs, most of
//! what is known of its hours lies in the other jobs under way.

use std::sync::Arc;

use trayzero_core::plan::{JobHours, Score, ShopPace};
use uuid::Uuid;

use super::card::{Card, CardWork};

/// With so many finished jobs a shop knows its hours; the jobs under way add little.
const FINISHED_ENOUGH: usize = 6;
/// Each bay learns from all the others, which is done for no more bays than these.
const BAYS_MAX: usize = 12;
/// A job tells the others something from so many verified valves on.
const VALVES_MIN: usize = 4;

/// The jobs under way in a young shop that tell something, beside its finished ones.
pub(super) struct UnderWay {
    jobs: Vec<(Uuid, Arc<CardWork>)>,
    finished: Vec<Arc<JobHours>>,
    scores: Vec<Score>,
}

impl UnderWay {
    /// `None` where the shop is not young, or no job tells anything yet.
    pub fn of<'a>(
        cards: impl Iterator<Item = &'a Card>,
        finished: Vec<(Uuid, Arc<JobHours>)>,
        scores: &[Score],
    ) -> Option<Self> {
        if finished.len() >= FINISHED_ENOUGH {
            return None;
        }
        let works = cards.filter_map(|card| Some((card.job, card.work.as_ref()?)));
        let works: Vec<(Uuid, &Arc<CardWork>)> = works.take(BAYS_MAX + 1).collect();
        let tell = works
            .iter()
            .filter(|(_, work)| work.hours.valves.len() >= VALVES_MIN);
        let jobs: Vec<_> = tell.map(|(job, work)| (*job, Arc::clone(work))).collect();
        (works.len() <= BAYS_MAX && !jobs.is_empty()).then(|| Self {
            jobs,
            finished: finished.into_iter().map(|(_, hours)| hours).collect(),
            scores: scores.to_vec(),
        })
    }

    /// What the shop has learned, with the jobs under way but that one: what it has behind
    /// it is asked of it by itself. `None` where no other one tells anything.
    pub fn pace_beside(&self, job: Uuid) -> Option<ShopPace> {
        let others = self.jobs.iter().filter(|(other, _)| *other != job);
        let others: Vec<&JobHours> = others.map(|(_, work)| &work.hours).collect();
        let finished: Vec<&JobHours> = self.finished.iter().map(|hours| &**hours).collect();
        (!others.is_empty()).then(|| ShopPace::learn_beside(&finished, &others, &self.scores))
    }
}
