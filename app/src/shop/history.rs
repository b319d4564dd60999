//! The jobs that are over, week by week: how many, how long a valve took, what fell and
//! where it was found, and what time was lost to.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use jiff::civil::{Date, Weekday};
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};
use trayzero_core::bench::{OilWent, wilson_interval};
use trayzero_core::job::{JobPhase, SearchPlace};
use trayzero_core::journal::passed_ms;
use trayzero_core::parts::Item;
use trayzero_core::plan::{Loss, LossKind};
use trayzero_core::shop_log::Proofs;
use uuid::Uuid;

use super::Card;
use super::spread::spread;
use crate::data::store::{FinishedJobs, JobSummary, finished_job};

/// A shop's finished jobs by week.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct History {
    /// The weeks in which any job ended, the earliest first.
    pub weeks: Vec<Week>,
    /// Jobs that ended by a wrong clock, so that nobody knows when; no week has them.
    pub undated: usize,
    /// The closed jobs by what was seen after the vehicle left.
    pub since: SinceThen,
}

/// Closed jobs by what was seen after the vehicle left.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct SinceThen {
    /// Nobody has seen the vehicle again.
    pub unseen: u32,
    /// Oil use fell clearly.
    pub down: u32,
    /// The two intervals overlap.
    pub not_clear: u32,
    /// It rose clearly.
    pub up: u32,
    /// It was seen again, and one of the two figures is not known.
    pub not_known: u32,
}

/// Nothing is claimed for fewer jobs than this.
pub const SEEN_AGAIN_MIN: u32 = 5;

impl SinceThen {
    fn add(&mut self, job: &JobSummary) {
        let followed = job.ended.as_ref().and_then(|ended| ended.followed);
        let Some(followed) = followed else {
            self.unseen += 1;
            return;
        };
        match followed.went {
            Some(OilWent::Down) => self.down += 1,
            Some(OilWent::NotClear) => self.not_clear += 1,
            Some(OilWent::Up) => self.up += 1,
            None => self.not_known += 1,
        }
    }

    /// Jobs whose vehicle was seen again.
    pub fn seen(&self) -> u32 {
        self.compared() + self.not_known
    }

    /// Jobs of which both figures are known.
    pub fn compared(&self) -> u32 {
        self.down + self.not_clear + self.up
    }

    /// The share of these in which oil use fell clearly, with its 95 percent interval; `None`
    /// for fewer than a handful.
    pub fn share_down(&self) -> Option<(f64, (f64, f64))> {
        let all = self.compared();
        let interval = wilson_interval(self.down, all)?;
        let share = f64::from(self.down) / f64::from(all);
        (all >= SEEN_AGAIN_MIN).then_some((share, interval))
    }
}

/// One week, Monday to Sunday.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Week {
    /// Its Monday.
    pub monday: Date,
    /// Jobs closed.
    pub closed: usize,
    /// Jobs that ended unfinished.
    pub stopped: usize,
    /// Valves of the closed jobs.
    pub valves: usize,
    /// Those of jobs of which all was timed: no part was entered from paper.
    pub timed_valves: usize,
    /// Working minutes of those jobs.
    pub closed_min: f64,
    /// What fell in any job that ended then, by kind and by where it was found.
    pub fell: BTreeMap<(Item, Option<SearchPlace>), Often>,
    /// What their time was lost to.
    pub lost: BTreeMap<LostTo, Lost>,
}

/// How often something fell.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Often {
    /// How many times.
    pub times: usize,
    /// How many parts in all.
    pub parts: u32,
}

/// What time was lost to, jobs and cylinders taken together.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LostTo {
    /// Looking for a part that fell.
    Dropped(Item),
    /// Waiting for the foreman's word.
    Foreman,
    /// Two tablets that disagreed.
    Conflict,
}

impl From<&LossKind> for LostTo {
    fn from(kind: &LossKind) -> Self {
        match kind {
            LossKind::Dropped { item, .. } => Self::Dropped(item.clone()),
            LossKind::Foreman { .. } => Self::Foreman,
            LossKind::Conflict {} => Self::Conflict,
        }
    }
}

/// Time lost to one thing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lost {
    /// How many times.
    pub times: usize,
    /// Minutes in all.
    pub minutes: f64,
}

impl Week {
    fn add(&mut self, job: &JobSummary) {
        if job.phase == JobPhase::Closed {
            self.closed += 1;
            self.valves += job.verified;
            if let Some(hours) = job.hours.as_ref().filter(|hours| hours.is_timed()) {
                self.timed_valves += job.verified;
                self.closed_min += hours.total();
            }
        } else {
            self.stopped += 1;
        }
        for fell in job.ended.iter().flat_map(|ended| &ended.fell) {
            let often = self.fell.entry((fell.item.clone(), fell.found_at));
            let often = often.or_default();
            often.times += 1;
            often.parts += fell.count;
        }
        for Loss { kind, minutes } in job.hours.iter().flat_map(|hours| &hours.losses) {
            let lost = self.lost.entry(kind.into()).or_default();
            lost.times += 1;
            lost.minutes += minutes;
        }
    }

    /// Adds what another week has.
    pub fn join(&mut self, other: &Self) {
        self.closed += other.closed;
        self.stopped += other.stopped;
        self.valves += other.valves;
        self.timed_valves += other.timed_valves;
        self.closed_min += other.closed_min;
        for (what, often) in &other.fell {
            let sum = self.fell.entry(what.clone()).or_default();
            sum.times += often.times;
            sum.parts += often.parts;
        }
        for (what, lost) in &other.lost {
            let sum = self.lost.entry(what.clone()).or_default();
            sum.times += lost.times;
            sum.minutes += lost.minutes;
        }
    }

    /// Working minutes a valve, where any job was closed that was timed as a whole.
    pub fn valve_min(&self) -> Option<f64> {
        (self.timed_valves > 0).then(|| self.closed_min / self.timed_valves as f64)
    }

    /// Parts that fell.
    pub fn parts_fallen(&self) -> u32 {
        self.fell.values().map(|often| often.parts).sum()
    }

    /// Parts that fell and were never found.
    pub fn parts_unfound(&self) -> u32 {
        let unfound = self.fell.iter().filter(|((_, at), _)| at.is_none());
        unfound.map(|(_, often)| often.parts).sum()
    }

    /// Minutes lost.
    pub fn lost_min(&self) -> f64 {
        // A sum of nothing would be a zero with a minus sign.
        self.lost.values().fold(0.0, |sum, lost| sum + lost.minutes)
    }
}

impl History {
    /// The history of jobs, of which those that are not over are left out: on the days of a
    /// time zone, looked at at a wall clock in milliseconds.
    pub fn of<'a>(
        jobs: impl IntoIterator<Item = &'a JobSummary>,
        zone: &TimeZone,
        now_ms: i64,
    ) -> Self {
        let mut weeks: BTreeMap<Date, Week> = BTreeMap::new();
        let mut undated = 0;
        let mut since = SinceThen::default();
        for job in jobs.into_iter().filter(|job| job.phase.is_over()) {
            if job.phase == JobPhase::Closed {
                since.add(job);
            }
            let ended_ms = job.ended.as_ref().map(|ended| ended.at_ms);
            let ended_ms = ended_ms.filter(|ms| passed_ms(*ms, now_ms).is_some());
            let Some(monday) = ended_ms.and_then(|ms| monday_of(ms, zone)) else {
                undated += 1;
                continue;
            };
            weeks.entry(monday).or_default().add(job);
        }
        let named = weeks
            .into_iter()
            .map(|(monday, week)| Week { monday, ..week });
        Self {
            weeks: named.collect(),
            undated,
            since,
        }
    }

    /// The history of a tablet's own folder, by the summaries of its finished jobs and of
    /// those that the board knows to be over.
    pub fn of_tablet(
        (root, proofs): (&Path, &Proofs),
        cards: &[Arc<Card>],
        zone: &TimeZone,
        now_ms: i64,
    ) -> Self {
        let over = cards.iter().filter(|card| card.summary.phase.is_over());
        let mut jobs: Vec<Uuid> = over.map(|card| card.job).collect();
        jobs.extend(FinishedJobs::read(root).latest());
        jobs.sort_unstable();
        jobs.dedup();
        let read = spread(jobs, |job| finished_job(root, job, proofs));
        Self::of(read.iter().flatten(), zone, now_ms)
    }

    /// So many weeks in a row, the one that begins on `last` at the end; a week in which no
    /// job ended is empty.
    pub fn in_a_row(&self, last: Date, count: usize) -> Vec<Week> {
        let back = |weeks: usize| last.checked_sub((weeks as i64).weeks());
        let mondays = (0..count).rev().filter_map(|weeks| back(weeks).ok());
        let week = |monday: Date| {
            let known = self.weeks.iter().find(|week| week.monday == monday);
            known.cloned().unwrap_or(Week {
                monday,
                ..Week::default()
            })
        };
        mondays.map(week).collect()
    }
}

/// The Monday of the week in which a moment lies.
pub fn monday_of(ms: i64, zone: &TimeZone) -> Option<Date> {
    let day = zone
        .to_datetime(Timestamp::from_millisecond(ms).ok()?)
        .date();
    let since = day.weekday().since(Weekday::Monday);
    day.checked_sub(i64::from(since).days()).ok()
}
