//! The day of all bays on one clock: likely ends, and the counts at the gate that want a
//! second person.

use jiff::civil::Date;
use trayzero_core::plan::{JobForecast, WorkPhase};
use uuid::Uuid;

use super::card::Card;
use super::tiles::{Looking, Tile};
use crate::data::shop_hours::End;

/// The day of a shop.
#[derive(Clone, Debug, PartialEq)]
pub struct Day {
    /// Begin and end of work today, wall clock in milliseconds; `None` on a day off.
    pub works: Option<(i64, i64)>,
    /// The bays, the one that ends first before the others.
    pub bays: Vec<BayDay>,
}

/// The day of one bay.
#[derive(Clone, Debug, PartialEq)]
pub struct BayDay {
    /// The job.
    pub job: Uuid,
    /// The bay, behind its shop where several are looked at.
    pub bay: String,
    /// When the job ends.
    pub end: End,
    /// The likely last counts at the gate, from when to when, wall clock in milliseconds.
    pub gate: Option<(i64, i64)>,
    /// Whether the vehicle leaves today.
    pub leaves: Leaves,
}

/// Whether a vehicle leaves today.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Leaves {
    /// Nine times of ten.
    Today,
    /// Perhaps.
    Perhaps,
    /// More likely not than yes.
    NotToday,
}

impl Day {
    /// The day of these bays.
    pub fn of(tiles: &[Tile], looking: &Looking) -> Self {
        let today = looking.date(looking.now_ms);
        let works = today.and_then(|day| looking.hours.span(day, &looking.zone));
        let mut bays: Vec<BayDay> = tiles
            .iter()
            .filter_map(|tile| {
                let end = tile.end?;
                Some(BayDay {
                    job: tile.card.job,
                    bay: tile.card.bay(),
                    gate: gate_of(&tile.card, looking),
                    leaves: leaves(&end, today, looking),
                    end,
                })
            })
            .collect();
        bays.sort_by_key(|bay| (bay.end.likely_ms, bay.job));
        Self { works, bays }
    }

    /// The bays that leave so.
    pub fn leaving(&self, leaves: Leaves) -> impl Iterator<Item = &BayDay> {
        self.bays.iter().filter(move |bay| bay.leaves == leaves)
    }

    /// Gates that meet: a bay, and those whose gate begins while its own lasts. Each wants
    /// a second person.
    pub fn gates_that_meet(&self) -> Vec<(&BayDay, Vec<&BayDay>)> {
        let mut gates: Vec<_> = self
            .bays
            .iter()
            .filter_map(|bay| Some((bay.gate?, bay)))
            .collect();
        gates.sort_by_key(|(gate, bay)| (*gate, bay.job));
        let meets = gates.iter().enumerate().map(|(at, ((_, to), bay))| {
            let begin_within = |((from, _), _): &&((i64, i64), &BayDay)| from < to;
            let others = gates[at + 1..].iter().take_while(begin_within);
            (*bay, others.map(|(_, other)| *other).collect::<Vec<_>>())
        });
        meets.filter(|(_, others)| !others.is_empty()).collect()
    }
}

fn leaves(end: &End, today: Option<Date>, looking: &Looking) -> Leaves {
    let is_today = |ms| looking.date(ms) == today;
    match (is_today(end.likely_ms), is_today(end.high_ms)) {
        (true, true) => Leaves::Today,
        (true, false) => Leaves::Perhaps,
        (false, _) => Leaves::NotToday,
    }
}

/// The likely last counts of a job: before the phases that come after the gate, as long as
/// clearing and counting takes.
fn gate_of(card: &Card, looking: &Looking) -> Option<(i64, i64)> {
    let (work, to_go) = (card.work.as_ref()?, card.to_go.as_ref()?);
    let (from_min, to_min) = gate_minutes(to_go)?;
    let from_ms = work.goes_on_from(looking.now_ms);
    let at = |minutes: f64| {
        let at = looking.hours.after(from_ms, minutes, &looking.zone);
        at.max(looking.now_ms)
    };
    Some((at(from_min), at(to_min)))
}

/// Minutes of work until the last counts begin and end; `None` where none are to come.
fn gate_minutes(to_go: &JobForecast) -> Option<(f64, f64)> {
    let of = |phase: WorkPhase| to_go.phase_min[phase.index()];
    let whole: f64 = to_go.phase_min.iter().sum();
    let gate = of(WorkPhase::ClearAndGate);
    if gate <= 0.0 || whole <= 0.0 {
        return None;
    }
    let after = of(WorkPhase::SecondLeakDown) + of(WorkPhase::ClosingUp);
    // The likely end lies before the mean one; the phases shrink alike.
    let share = to_go.about_min / whole;
    let end = (whole - after) * share;
    Some(((end - gate * share).max(0.0), end))
}
