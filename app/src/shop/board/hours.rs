//! The hours that a board's finished jobs teach, and the time to go of those under way.
//!
//! A young shop's bays learn from each other besides: before it has finished a few jobs,
//! most of what is known of its hours lies in the other jobs under way.

use std::sync::Arc;

use trayzero_core::plan::{JobHours, Score, ShopPace, scores_of};
use uuid::Uuid;

use super::Board;
use crate::shop::card::{Card, CardWork};
use crate::shop::spread::spread;

/// The forecasts of so many of the latest jobs are scored.
const SCORED_MAX: usize = 40;
/// With so many finished jobs a shop knows its hours; the jobs under way add little.
const FINISHED_ENOUGH: usize = 6;
/// Each bay learns from all the others, which is done for no more bays than these.
const BAYS_MAX: usize = 12;
/// A job tells the others something from so many verified valves on.
const VALVES_MIN: usize = 4;

impl Board {
    /// Works out the time to go of every card that lacks it.
    pub fn work_out_to_go(&mut self) {
        let (shop, is_new) = self.learn();
        let cards = self.jobs.values().map(|followed| &*followed.card);
        let young = (shop.jobs() < FINISHED_ENOUGH)
            .then(|| UnderWay::of(cards, || self.finished(), shop.scores()))
            .flatten();
        let is_new = is_new || young.is_some();
        let wanting: Vec<&mut Arc<Card>> = self
            .jobs
            .values_mut()
            .map(|followed| &mut followed.card)
            .filter(|card| (is_new || card.to_go.is_none()) && card.work.is_some())
            .collect();
        spread(wanting, |card| {
            let beside = young.as_ref().and_then(|y| y.pace_beside(card.job));
            Arc::make_mut(card).work_out_to_go(beside.as_ref().unwrap_or(&shop));
        });
    }

    /// What the shop has learned of its hours; `None` until times to go are worked out.
    pub fn pace(&self) -> Option<&Arc<ShopPace>> {
        self.pace.as_ref().map(|(_, shop)| shop)
    }

    /// Learns anew where other jobs are finished than before. Gives whether it did.
    fn learn(&mut self) -> (Arc<ShopPace>, bool) {
        let finished = self.finished();
        let jobs: Vec<Uuid> = finished.iter().map(|(job, _)| *job).collect();
        if let Some((known, shop)) = &self.pace
            && *known == jobs
        {
            return (Arc::clone(shop), false);
        }
        let hours: Vec<&JobHours> = finished.iter().map(|(_, hours)| &**hours).collect();
        let from = jobs.len().saturating_sub(SCORED_MAX);
        for at in from..jobs.len() {
            if !self.scores.contains_key(&jobs[at]) {
                let known = self.scores_of(&jobs[..at]);
                let scores = scores_of(hours[at], &ShopPace::learn(&hours[..at], &known));
                self.scores.insert(jobs[at], scores);
            }
        }
        let shop = Arc::new(ShopPace::learn(&hours, &self.scores_of(&jobs)));
        // Those of jobs that nothing leans on any more are let go.
        self.scores.retain(|job, _| jobs.contains(job));
        self.pace = Some((jobs, Arc::clone(&shop)));
        (shop, true)
    }

    /// Scores of the latest of these jobs.
    fn scores_of(&self, jobs: &[Uuid]) -> Vec<Score> {
        let latest = &jobs[jobs.len().saturating_sub(SCORED_MAX)..];
        let known = latest.iter().filter_map(|job| self.scores.get(job));
        known.flatten().copied().collect()
    }

    /// Hours of the latest finished jobs, the latest last.
    fn finished(&self) -> Vec<(Uuid, Arc<JobHours>)> {
        let mut learned = self.learned.clone();
        let jobs = self.jobs.iter();
        learned.take(jobs.map(|(job, followed)| (*job, &followed.card.summary)));
        learned.into_hours()
    }
}

/// The jobs under way in a young shop that tell something, beside its finished ones.
struct UnderWay {
    jobs: Vec<(Uuid, Arc<CardWork>)>,
    finished: Vec<Arc<JobHours>>,
    scores: Vec<Score>,
}

impl UnderWay {
    /// `None` where there are many bays, or no job tells anything yet.
    fn of<'a>(
        cards: impl Iterator<Item = &'a Card>,
        finished: impl FnOnce() -> Vec<(Uuid, Arc<JobHours>)>,
        scores: &[Score],
    ) -> Option<Self> {
        let works = cards.filter_map(|card| Some((card.job, card.work.as_ref()?)));
        let works: Vec<(Uuid, &Arc<CardWork>)> = works.take(BAYS_MAX + 1).collect();
        let tell = works
            .iter()
            .filter(|(_, work)| work.hours.valves.len() >= VALVES_MIN);
        let jobs: Vec<_> = tell.map(|(job, work)| (*job, Arc::clone(work))).collect();
        (works.len() <= BAYS_MAX && !jobs.is_empty()).then(|| Self {
            jobs,
            finished: finished().into_iter().map(|(_, hours)| hours).collect(),
            scores: scores.to_vec(),
        })
    }

    /// What the shop has learned, with the jobs under way but that one: what it has behind
    /// it is asked of it by itself. `None` where no other one tells anything.
    fn pace_beside(&self, job: Uuid) -> Option<ShopPace> {
        let others = self.jobs.iter().filter(|(other, _)| *other != job);
        let others: Vec<&JobHours> = others.map(|(_, work)| &work.hours).collect();
        let finished: Vec<&JobHours> = self.finished.iter().map(|hours| &**hours).collect();
        (!others.is_empty()).then(|| ShopPace::learn_beside(&finished, &others, &self.scores))
    }
}
