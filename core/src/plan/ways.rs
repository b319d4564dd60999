//! The question of the working order as plain indices: every position at which a
//! cylinder may be worked, every order of its adaptors, and what lies between.

use super::fault::OrderFault;
use super::question::{OrderQuestion, PLANNED_CYLINDERS_MAX, ways_max};
use crate::engine::{Layout, wrap_720};

/// Angles closer than this, in degrees, are the same: without it the rounding of a
/// sum such as 3 x 720/7 would turn "here already" into one whole cycle.
pub(super) const SAME_DEG: f64 = 1e-9;

/// The adaptor on the tool.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum FittedAdaptor {
    /// None fitted yet: the first fitting is free.
    Empty,
    /// One that no valve left needs.
    Foreign,
    /// One by its index in [`Ways::adaptors`].
    Fitted(usize),
}

impl FittedAdaptor {
    /// Whether work can start with the given adaptor without a change that counts.
    pub fn allows_free(self, adaptor: usize) -> bool {
        match self {
            FittedAdaptor::Empty => true,
            FittedAdaptor::Foreign => false,
            FittedAdaptor::Fitted(fitted) => fitted == adaptor,
        }
    }
}

/// One position of the crank at which one cylinder is worked.
#[derive(Clone, Copy, Debug)]
pub(super) struct CrankPlace {
    pub cylinder: usize,
    pub offset_deg: f64,
    pub crank_deg: f64,
}

/// One order of a cylinder's adaptors. Only its ends cost anything.
#[derive(Clone, Debug)]
pub(super) struct Sequence {
    pub first: usize,
    /// Index of the last adaptor in the cylinder's `adaptors`.
    pub last: usize,
    /// All of them as indices in [`Ways::adaptors`].
    pub names: Vec<usize>,
}

impl Sequence {
    /// What is on the tool afterwards.
    pub fn hand(&self) -> FittedAdaptor {
        self.names
            .last()
            .map_or(FittedAdaptor::Empty, |a| FittedAdaptor::Fitted(*a))
    }
}

/// One cylinder that is left to work.
#[derive(Clone, Debug)]
pub(super) struct Cylinder {
    pub number: u8,
    pub bank: usize,
    /// Its places in [`Ways::places`], by rising offset.
    pub places: std::ops::Range<usize>,
    /// The adaptors it needs, each once, as indices in [`Ways::adaptors`], rising.
    pub adaptors: Vec<usize>,
    /// The adaptor orders worth looking at, smallest names first.
    pub sequences: Vec<Sequence>,
}

/// Everything the search needs.
#[derive(Clone, Debug)]
pub(super) struct Ways {
    /// Cylinders left, by rising number.
    pub cylinders: Vec<Cylinder>,
    /// All their places, cylinder by cylinder.
    pub places: Vec<CrankPlace>,
    /// Names of the adaptors needed, rising.
    pub adaptors: Vec<String>,
    pub start_deg: f64,
    pub start_adaptor: FittedAdaptor,
    /// Bits of the cylinders that were put off.
    pub put_off: usize,
    /// The cylinder that must come first.
    pub wanted: Option<usize>,
    /// Minutes from the start to each place, bank change included.
    pub from_start: Vec<f64>,
    /// Minutes of one adaptor change.
    pub adaptor_change: f64,
    pub may_turn_back: bool,
    pub turn_360: f64,
    pub bank_change: f64,
}

impl Ways {
    /// Checks the question and lays it out.
    pub fn compile(question: &OrderQuestion<'_>) -> Result<Self, OrderFault> {
        check_figures(question)?;
        check_names(question)?;
        let layout = question.layout;
        let mut left: Vec<u8> = layout
            .cylinders()
            .filter(|c| !question.done.contains(c))
            .collect();
        left.sort_unstable();
        left.dedup();
        if left.len() > PLANNED_CYLINDERS_MAX {
            return Err(OrderFault::TooManyCylinders { count: left.len() });
        }
        let adaptors = adaptor_names(layout, &left);
        let bit = |number: &u8| left.iter().position(|c| c == number);
        let mut ways = Ways {
            start_deg: wrap_720(question.from_deg),
            start_adaptor: question.from_adaptor.map_or(FittedAdaptor::Empty, |name| {
                let known = adaptors.iter().position(|a| a == name);
                known.map_or(FittedAdaptor::Foreign, FittedAdaptor::Fitted)
            }),
            put_off: question
                .put_off
                .iter()
                .filter_map(bit)
                .fold(0, |bits, c| bits | 1 << c),
            wanted: question.wanted_next.as_ref().and_then(bit),
            cylinders: Vec::with_capacity(left.len()),
            places: Vec::new(),
            adaptors,
            from_start: Vec::new(),
            adaptor_change: layout.handling_min.adaptor_change,
            may_turn_back: layout.may_turn_back,
            turn_360: layout.handling_min.turn_360,
            bank_change: layout.handling_min.bank_change,
        };
        for number in &left {
            ways.add_cylinder(layout, *number)?;
        }
        ways.check_size()?;
        ways.from_start = (0..ways.places.len())
            .map(|to| ways.minutes(ways.start_deg, question.from_bank, to))
            .collect();
        Ok(ways)
    }

    /// Refuses what the table of the search has no room for.
    fn check_size(&self) -> Result<(), OrderFault> {
        let ways = |c: &Cylinder| c.places.len() * c.adaptors.len();
        let ways = self.cylinders.iter().map(ways).sum();
        let limit = ways_max(self.cylinders.len());
        if ways > limit {
            return Err(OrderFault::TooManyWays { ways, limit });
        }
        Ok(())
    }

    fn add_cylinder(&mut self, layout: &Layout, number: u8) -> Result<(), OrderFault> {
        let bank = layout.bank_of(number).ok_or(OrderFault::NoSuchCylinder {
            field: "banks",
            cylinder: number,
        })?;
        let mut offsets = layout.offsets_deg(number);
        if offsets.iter().any(|o| !o.is_finite()) {
            return Err(bad("working_positions.offsets_deg", f64::NAN, "a number"));
        }
        offsets.sort_by(f64::total_cmp);
        offsets.dedup();
        let first_place = self.places.len();
        for offset_deg in offsets {
            let crank_deg = layout
                .working_deg(number, offset_deg)
                .filter(|deg| deg.is_finite())
                .ok_or(OrderFault::NotInFiringOrder { cylinder: number })?;
            self.places.push(CrankPlace {
                cylinder: self.cylinders.len(),
                offset_deg,
                crank_deg,
            });
        }
        if self.places.len() == first_place {
            return Err(OrderFault::NoOffset { cylinder: number });
        }
        let adaptors: Vec<usize> = (0..self.adaptors.len())
            .filter(|a| {
                layout
                    .valves_of(number)
                    .any(|valve| layout.adaptor_of(valve) == self.adaptors[*a])
            })
            .collect();
        self.cylinders.push(Cylinder {
            number,
            bank,
            places: first_place..self.places.len(),
            sequences: sequences(&adaptors),
            adaptors,
        });
        Ok(())
    }

    /// Turn from one crank angle to another in degrees, negative when turned back.
    /// Half a cycle either way is turned forward.
    pub fn turn_deg(&self, from_deg: f64, to_deg: f64) -> f64 {
        let forward = wrap_720(to_deg - from_deg);
        if !(SAME_DEG..=720.0 - SAME_DEG).contains(&forward) {
            0.0
        } else if self.may_turn_back && forward > 360.0 + SAME_DEG {
            forward - 720.0
        } else {
            forward
        }
    }

    /// Minutes of turning and of changing banks on the way to a place.
    fn minutes(&self, from_deg: f64, from_bank: Option<usize>, to: usize) -> f64 {
        let place = self.places[to];
        let turn = self.turn_deg(from_deg, place.crank_deg).abs() / 360.0 * self.turn_360;
        let bank = self.cylinders[place.cylinder].bank;
        if from_bank.is_some_and(|b| b != bank) {
            turn + self.bank_change
        } else {
            turn
        }
    }

    /// Minutes of turning and of changing banks between two places.
    pub fn between(&self, from: usize, to: usize) -> f64 {
        let place = self.places[from];
        let bank = self.cylinders[place.cylinder].bank;
        self.minutes(place.crank_deg, Some(bank), to)
    }

    /// The cylinders that may come next once those in `done` are worked.
    pub fn allowed_after(&self, done: usize) -> usize {
        let all = (1 << self.cylinders.len()) - 1;
        let left = all & !done;
        if done == 0
            && let Some(wanted) = self.wanted
        {
            return 1 << wanted;
        }
        match left & !self.put_off {
            0 => left,
            on_time => on_time,
        }
    }
}

/// Every pair of a first and a last adaptor, the rest between them by name: what is
/// left out costs the same as one that is in and comes later by name.
fn sequences(adaptors: &[usize]) -> Vec<Sequence> {
    let mut all = Vec::new();
    for (i, first) in adaptors.iter().enumerate() {
        for (j, last) in adaptors.iter().enumerate() {
            if i == j && adaptors.len() > 1 {
                continue;
            }
            let mut names = vec![*first];
            names.extend(adaptors.iter().filter(|a| *a != first && *a != last));
            if i != j {
                names.push(*last);
            }
            all.push(Sequence {
                first: *first,
                last: j,
                names,
            });
        }
    }
    all.sort_by(|a, b| a.names.cmp(&b.names));
    all
}

fn adaptor_names(layout: &Layout, left: &[u8]) -> Vec<String> {
    let mut names: Vec<String> = left
        .iter()
        .flat_map(|c| layout.valves_of(*c))
        .map(|valve| layout.adaptor_of(valve).to_owned())
        .collect();
    names.sort_unstable();
    names.dedup();
    names
}

fn bad(field: &'static str, value: f64, rule: &'static str) -> OrderFault {
    OrderFault::BadFigure { field, value, rule }
}

fn check_figures(question: &OrderQuestion<'_>) -> Result<(), OrderFault> {
    let layout = question.layout;
    if !question.from_deg.is_finite() {
        return Err(bad("from_deg", question.from_deg, "a number of degrees"));
    }
    let handling = layout.handling_min;
    for (field, value) in [
        ("handling_min.turn_360", handling.turn_360),
        ("handling_min.bank_change", handling.bank_change),
        ("handling_min.adaptor_change", handling.adaptor_change),
        (
            "handling_min.cylinder_setup",
            handling.cylinder_setup.unwrap_or(0.0),
        ),
    ] {
        if !(0.0..=1e4).contains(&value) {
            return Err(bad(field, value, "0 to 10000 minutes"));
        }
    }
    if layout.valves_per_cylinder() == 0 {
        return Err(OrderFault::NoValves);
    }
    Ok(())
}

fn check_names(question: &OrderQuestion<'_>) -> Result<(), OrderFault> {
    let layout = question.layout;
    let wanted: Vec<u8> = question.wanted_next.into_iter().collect();
    for (field, cylinders) in [
        ("done", question.done),
        ("put_off", question.put_off),
        ("wanted_next", &wanted),
    ] {
        if let Some(cylinder) = cylinders.iter().find(|c| layout.bank_of(**c).is_none()) {
            return Err(OrderFault::NoSuchCylinder {
                field,
                cylinder: *cylinder,
            });
        }
    }
    if let Some(cylinder) = wanted.into_iter().find(|c| question.done.contains(c)) {
        return Err(OrderFault::WantedIsDone { cylinder });
    }
    let banks = layout.banks.len();
    match question.from_bank {
        Some(bank) if bank >= banks => Err(OrderFault::NoSuchBank { bank, banks }),
        _ => Ok(()),
    }
}
