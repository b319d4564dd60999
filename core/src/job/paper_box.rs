//! A sheet of paper as it is read in: which boxes are ticked, and what is written.

use std::collections::{BTreeMap, BTreeSet};

use uuid::Uuid;

use super::{Event, HeardAt, HoldKind, JobState, Reading, Refusal, SearchPlace, Stage, Step};
use crate::engine::ValveName;
use crate::parts::{Item, Place};

/// One place on the paper that is ticked or written in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PaperBox {
    /// A short step.
    Step(Step),
    /// Kit counted in.
    Kit(Item),
    /// How many new seals came from the store.
    Seals,
    /// Both gauges of a cylinder's leak-down.
    Leak(u8, Reading),
    /// The regulator's reading at a cylinder, or what held its valves instead.
    Holds(u8),
    /// A stage of a valve.
    Stage(ValveName, Stage),
    /// A line of what fell, counted from 0.
    Drop(usize),
    /// Where something was found that was adrift before.
    Find(Uuid),
}

/// A leak-down as it is written: gauge pressures in bar.
#[derive(Clone, Debug, PartialEq)]
pub struct PaperLeak {
    /// The cylinder.
    pub cylinder: u8,
    /// Before the work or after it.
    pub when: Reading,
    /// Before the tester's orifice.
    pub supply_bar: f64,
    /// In the cylinder.
    pub cylinder_bar: f64,
    /// Where leaking air was heard.
    pub heard: Vec<HeardAt>,
}

/// Something that fell, as it is written.
#[derive(Clone, Debug, PartialEq)]
pub struct PaperDrop {
    /// What fell.
    pub item: Item,
    /// How many.
    pub count: u32,
    /// The valve that it came from, for what comes from one.
    pub valve: Option<ValveName>,
    /// Where it was found; `None` where nothing is written.
    pub found_at: Option<SearchPlace>,
}

impl PaperDrop {
    /// Where a part lies before it falls.
    pub(super) fn from(&self) -> Place {
        match &self.item {
            Item::NewSeal => Place::Stock,
            Item::OldSeal => Place::Scrap,
            Item::Cover | Item::Plug => Place::Aside,
            item if item.goes_through_the_tray() => Place::Tray,
            _ => Place::Kit,
        }
    }

    /// The stage from which on the part of a valve lies loose.
    pub(super) fn loose_from(&self) -> Option<Stage> {
        match &self.item {
            Item::Follower | Item::Shim => Some(Stage::Positioned),
            Item::Lock | Item::Retainer | Item::Spring => Some(Stage::LocksOut),
            Item::OldSeal => Some(Stage::SealFitted),
            _ => None,
        }
    }
}

/// All that is ticked and written on a sheet. What is not written is in none of these.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PaperSheet {
    /// Short steps that are ticked.
    pub steps: BTreeSet<Step>,
    /// Kit that is ticked as counted in, each as many as the list has.
    pub kit: BTreeSet<Item>,
    /// New seals from the store.
    pub seals: Option<u32>,
    /// Leak-down readings.
    pub leaks: Vec<PaperLeak>,
    /// The regulator's reading at a cylinder: gauge pressure in bar.
    pub air_bar: BTreeMap<u8, f64>,
    /// What held the valves of a cylinder.
    pub holds: BTreeMap<u8, HoldKind>,
    /// Boxes of the valves that are ticked.
    pub stages: BTreeSet<(ValveName, Stage)>,
    /// What fell.
    pub drops: Vec<PaperDrop>,
    /// Where something that was adrift before was found.
    pub finds: Vec<(Uuid, SearchPlace)>,
}

impl PaperSheet {
    /// Whether a box of a valve is ticked, or was seen on a tablet before.
    pub fn has_stage(&self, state: &JobState, valve: ValveName, stage: Stage) -> bool {
        let seen = state.valve(valve).map_or(0, |v| usize::from(v.stages_seen));
        stage.index() < seen || self.stages.contains(&(valve, stage))
    }

    /// Ticked boxes of a valve that come after one that is not: the later one and the first
    /// that is missing.
    pub(super) fn gap(&self, state: &JobState, valve: ValveName) -> Option<(Stage, Stage)> {
        let has = |stage: &Stage| self.has_stage(state, valve, *stage);
        let missing = Stage::ALL.into_iter().find(|stage| !has(stage))?;
        let later = Stage::ALL.into_iter().skip(missing.index());
        let ticked = later.into_iter().find(has)?;
        Some((ticked, missing))
    }

    /// Whether nothing is ticked or written.
    pub fn is_blank(&self) -> bool {
        *self == Self::default()
    }
}

/// What has to be done on the tablet, by those who sign, before more is taken from paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PaperWait {
    /// A foreman looks at the reading of this cylinder.
    Foreman(u8),
    /// Everything comes off this bank, and two people count.
    Gate(u8),
    /// The job is closed.
    Close,
}

/// The events that a sheet comes to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PaperWalk {
    /// In order, each with the identity that later ones may name.
    pub lines: Vec<(Uuid, Event)>,
    /// What stands between them and the rest of what is ticked.
    pub waits: Option<PaperWait>,
}

/// Why a box cannot be taken.
#[derive(Clone, Debug, PartialEq)]
pub enum PaperWhy {
    /// This comes before it, and is neither ticked nor written.
    Before(PaperBox),
    /// The rules refuse it.
    Refused(Refusal),
    /// It stands already.
    Stands,
    /// No box that needs it is ticked.
    NotNeeded,
    /// It says from no valve.
    FromNoValve,
    /// A part is adrift, and is to be found or searched for first.
    PartAdrift,
    /// The engine is to be looked at first: two tablets disagree, or parts lie swapped.
    LookFirst,
    /// The order of the work does not lead there from what is ticked.
    OutOfOrder,
}

/// A sheet that cannot be taken as it is: the box, and why. Nothing is taken then.
#[derive(Clone, Debug, PartialEq)]
pub struct PaperRefusal {
    /// The box; none where the sheet as a whole is meant.
    pub at: Option<PaperBox>,
    /// Why.
    pub why: PaperWhy,
}
