//! What is not as it is at the end of a whole job.

use serde::Serialize;

use super::bank_name;
use crate::engine::{Layout, ValveName};
use crate::job::{HoldKind, JobState, Reading, Stage, Step};
use crate::parts::{Item, Place};

/// One thing left open.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "what", rename_all = "snake_case")]
#[allow(missing_docs)] // The names of the fields say what they are, with their units.
pub enum OpenPoint {
    /// Two tablets disagree.
    Conflicts { count: usize },
    /// Of what was signed for as entered from paper, so many of so many lines are there as signed.
    PaperNotWhole { came: u32, lines: u32 },
    /// Only air or a mechanical hold keeps this valve up.
    ValveUnlocked { valve: ValveName, stage: Stage },
    /// A valve between its first stage and its last.
    ValveOpen { valve: ValveName, stage: Stage },
    /// So many valves of a bank are untouched.
    ValvesUntouched { bank: String, count: u32 },
    /// Air is on.
    AirOn { cylinder: u8, bar: f64 },
    /// A mechanical hold is in.
    HoldIn { cylinder: u8, hold: HoldKind },
    /// Parts or kit that were dropped and not found.
    Adrift { item: Item, count: u32 },
    /// Searched for and signed for, but never found: it may be in the engine.
    Unfound { item: Item, count: u32 },
    /// Parts loose in the tray.
    Loose { item: Item, count: u32 },
    /// Kit in or on a bank.
    Aboard {
        bank: String,
        item: Item,
        count: u32,
    },
    /// The wrench is on the crank.
    WrenchOn,
    /// Plugs are out.
    PlugsOut { cylinders: Vec<u8> },
    /// A bank that is not closed through its gate.
    BankOpen { bank: String },
    /// A cylinder past the limit that no foreman has seen.
    ForemanNotAsked { cylinder: u8, loss_percent: f64 },
    /// A short step that nobody saw.
    StepNotSeen { step: Step },
    /// Cylinders without a leak-down reading.
    LeakNotRead { when: Reading, cylinders: Vec<u8> },
    /// New parts still at the bay.
    StockLeft { item: Item, count: u32 },
}

impl OpenPoint {
    /// Whether it could hurt somebody or the engine, or leaves in doubt what is true.
    pub fn is_grave(&self) -> bool {
        matches!(
            self,
            OpenPoint::Conflicts { .. }
                | OpenPoint::PaperNotWhole { .. }
                | OpenPoint::ValveUnlocked { .. }
                | OpenPoint::AirOn { .. }
                | OpenPoint::Adrift { .. }
                | OpenPoint::Unfound { .. }
        )
    }
}

/// Everything that is not as it is at the end of a whole job, the gravest first.
pub fn open_points(state: &JobState) -> Vec<OpenPoint> {
    let Some(layout) = state.layout() else {
        return Vec::new();
    };
    let mut points = Vec::new();
    let count = state.open_conflicts().count();
    if count > 0 {
        points.push(OpenPoint::Conflicts { count });
    }
    for paper in state.papers().filter(|paper| !paper.is_whole) {
        points.push(OpenPoint::PaperNotWhole {
            came: paper.came.len() as u32,
            lines: paper.batch.lines,
        });
    }
    valves(state, layout, &mut points);
    holds(state, layout, &mut points);
    items(state, &mut points);
    banks(state, layout, &mut points);
    readings(state, layout, &mut points);
    let steps = Step::BEFORE.into_iter().chain(Step::AFTER);
    let unseen = steps.filter(|s| state.step_seen(*s).is_none());
    points.extend(unseen.map(|step| OpenPoint::StepNotSeen { step }));
    let left = at(state, Place::Stock).map(|(item, count)| OpenPoint::StockLeft { item, count });
    points.extend(left);
    points
}

fn at(state: &JobState, place: Place) -> impl Iterator<Item = (Item, u32)> + '_ {
    let accounts = state.ledger().accounts();
    accounts
        .map(move |(item, account)| (item, account.at(place)))
        .filter(|(_, count)| *count > 0)
}

fn valves(state: &JobState, layout: &Layout, points: &mut Vec<OpenPoint>) {
    for (valve, known) in state.valves() {
        match known.stage() {
            Some(stage) if known.is_unlocked() => {
                points.push(OpenPoint::ValveUnlocked { valve, stage });
            }
            Some(stage) if known.is_open() => points.push(OpenPoint::ValveOpen { valve, stage }),
            _ => {}
        }
    }
    for (index, bank) in layout.banks.iter().enumerate() {
        let valves = bank.cylinders.iter().flat_map(|c| state.valves_of(*c));
        let count = valves.filter(|(_, v)| v.stages_seen == 0).count() as u32;
        if count > 0 {
            let bank = bank_name(layout, index);
            points.push(OpenPoint::ValvesUntouched { bank, count });
        }
    }
}

fn holds(state: &JobState, layout: &Layout, points: &mut Vec<OpenPoint>) {
    for cylinder in layout.cylinders() {
        let Some(known) = state.cylinder(cylinder) else {
            continue;
        };
        if let Some(bar) = known.air_bar {
            points.push(OpenPoint::AirOn { cylinder, bar });
        }
        if let Some(hold) = known.hold {
            points.push(OpenPoint::HoldIn { cylinder, hold });
        }
    }
    if state.wrench_on() {
        points.push(OpenPoint::WrenchOn);
    }
}

fn items(state: &JobState, points: &mut Vec<OpenPoint>) {
    let point = |place, (item, count)| match place {
        Place::Adrift => OpenPoint::Adrift { item, count },
        Place::Unfound => OpenPoint::Unfound { item, count },
        _ => OpenPoint::Loose { item, count },
    };
    for place in [Place::Adrift, Place::Unfound, Place::Tray] {
        points.extend(at(state, place).map(|found| point(place, found)));
    }
}

fn banks(state: &JobState, layout: &Layout, points: &mut Vec<OpenPoint>) {
    for index in 0..layout.banks.len() {
        let name = || bank_name(layout, index);
        let aboard = state.aboard_bank(index).map(|(item, count)| {
            let bank = name();
            OpenPoint::Aboard { bank, item, count }
        });
        points.extend(aboard);
        if !state.is_bank_closed(index) {
            points.push(OpenPoint::BankOpen { bank: name() });
        }
    }
    let out = layout
        .cylinders()
        .filter(|c| state.cylinder(*c).is_some_and(|k| k.plug_out));
    let cylinders: Vec<u8> = out.collect();
    if !cylinders.is_empty() {
        points.push(OpenPoint::PlugsOut { cylinders });
    }
}

fn readings(state: &JobState, layout: &Layout, points: &mut Vec<OpenPoint>) {
    for cylinder in layout.cylinders() {
        if let Some(loss_percent) = state.foreman_wanted(cylinder) {
            points.push(OpenPoint::ForemanNotAsked {
                cylinder,
                loss_percent,
            });
        }
    }
    for when in [Reading::Before, Reading::After] {
        let unread = layout
            .cylinders()
            .filter(|c| state.leak(*c, when).is_none());
        let cylinders: Vec<u8> = unread.collect();
        if !cylinders.is_empty() {
            points.push(OpenPoint::LeakNotRead { when, cylinders });
        }
    }
}
