//! The hours of a job as figures: what a forecast learns from a finished job, and what it
//! is told of one that is under way.

use serde::{Deserialize, Serialize};

use crate::engine::{Item, Layout};

/// The part of a job that a stretch of working time belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WorkPhase {
    /// Taking in, oil, and the first leak-down.
    TakeIn,
    /// Short steps, kit, plugs, covers, stoppers.
    Prepare,
    /// Setting a cylinder up and leaving it again: turn, hose, air.
    SetUp,
    /// The stages of the valves.
    Valves,
    /// Clearing the banks, blind counts, covers.
    ClearAndGate,
    /// The leak-down after the work.
    SecondLeakDown,
    /// Hand turns, connectors, oil, first start.
    ClosingUp,
    /// Looking for what was dropped, waiting for a decision.
    Lost,
}

/// How many phases there are.
pub const WORK_PHASES: usize = 8;

impl WorkPhase {
    /// Every phase, in the order of a job by the book.
    pub const ALL: [WorkPhase; WORK_PHASES] = [
        WorkPhase::TakeIn,
        WorkPhase::Prepare,
        WorkPhase::SetUp,
        WorkPhase::Valves,
        WorkPhase::ClearAndGate,
        WorkPhase::SecondLeakDown,
        WorkPhase::ClosingUp,
        WorkPhase::Lost,
    ];

    /// Place in [`WorkPhase::ALL`], 0 to 7.
    pub fn index(self) -> usize {
        self as usize
    }
}

/// A figure for every phase, by [`WorkPhase::index`].
pub type ByPhase = [f64; WORK_PHASES];

/// How many steps each phase of a whole job on an engine has. Each step of one phase is
/// taken to last alike; that makes engines of different size comparable.
pub fn steps_of(layout: &Layout) -> ByPhase {
    let cylinders = layout.cylinder_count() as f64;
    let banks = layout.banks.len() as f64;
    let valves = layout.valve_count() as f64;
    [
        TAKE_IN_STEPS + cylinders,
        SHORT_STEPS + STEPS_A_BANK * banks + cylinders,
        cylinders,
        valves,
        CLEAR_STEPS_A_BANK * banks + count_steps(valves),
        cylinders + 1.0,
        CLOSING_STEPS,
        valves,
    ]
}

/// Noting the take-in, as so many leak-down readings.
pub const TAKE_IN_STEPS: f64 = 3.0;
/// Four short steps before the first cover, and the kit.
pub const SHORT_STEPS: f64 = 5.0;
/// Lifting a cover, and two of stoppers.
pub const STEPS_A_BANK: f64 = 3.0;
/// Clearing a bank, and closing it.
pub const CLEAR_STEPS_A_BANK: f64 = 2.0;
/// Short steps after the covers.
pub const CLOSING_STEPS: f64 = 7.0;

/// The two blind counts of a job: longer where more lies in the tray.
pub fn count_steps(valves: f64) -> f64 {
    2.0 + valves / 8.0
}

/// One valve that was worked on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ValveHours {
    /// Minutes that its stages took; 0 where they are not known.
    pub minutes: f64,
    /// What kind of valve it is to the forecast.
    pub kind: ValveKind,
}

/// What the time of a valve may hang on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ValveKind {
    /// Exhaust side; `None` where that was not kept.
    pub exhaust: Option<bool>,
    /// The first valve of its cylinder.
    pub opens_cylinder: bool,
    /// Stretches of work between nights, counted from 0.
    pub day: u16,
    /// Who had the bay: a place in [`JobHours::hands`].
    pub hand: u16,
}

/// What time was lost to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "to", rename_all = "snake_case", deny_unknown_fields)]
pub enum LossKind {
    /// A dropped part, until it was found or its search was signed.
    Dropped {
        /// What fell.
        item: Item,
        /// How many.
        count: u32,
    },
    /// Waiting for the foreman's word on a cylinder that leaks.
    Foreman {
        /// The cylinder.
        cylinder: u8,
    },
    /// Two tablets had said what cannot both be true.
    Conflict {},
}

/// Time lost.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Loss {
    /// What to.
    pub kind: LossKind,
    /// How long, minutes.
    pub minutes: f64,
}

/// The hours of one job, finished or as far as it is.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobHours {
    /// Name of the engine layout.
    pub engine: String,
    /// Who had the bay, each once.
    pub hands: Vec<String>,
    /// Minutes of each phase.
    pub minutes: ByPhase,
    /// Steps of each phase in the whole job, see [`steps_of`]; none where a part of the job was
    /// entered from paper, for its steps were not timed.
    pub steps: ByPhase,
    /// Minutes of each stage, intake side and exhaust side.
    pub stage_minutes: [[f64; 6]; 2],
    /// Every valve that is verified, in the order in which they were begun.
    pub valves: Vec<ValveHours>,
    /// Time lost, each by itself. Older summaries do not tell it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub losses: Vec<Loss>,
}

impl JobHours {
    /// What an older summary kept of a finished job: minutes of its valves alone. Each
    /// holds the way from valve to valve, and nothing is known of the other phases.
    pub fn of_valve_minutes(engine: &str, hand: &str, minutes: &[f64]) -> Self {
        let valve = |minutes: &f64| ValveHours {
            minutes: *minutes,
            kind: ValveKind {
                exhaust: None,
                opens_cylinder: false,
                day: 0,
                hand: 0,
            },
        };
        let mut known = Self {
            engine: engine.to_owned(),
            hands: vec![hand.to_owned()],
            valves: minutes.iter().map(valve).collect(),
            ..Self::default()
        };
        known.minutes[WorkPhase::Valves.index()] = minutes.iter().sum();
        known.steps[WorkPhase::Valves.index()] = minutes.len() as f64;
        known
    }

    /// Whether all of it was timed. Where a part was done on paper, no phase has steps.
    pub fn is_timed(&self) -> bool {
        self.steps.iter().any(|steps| *steps > 0.0)
    }

    /// Minutes of all phases.
    pub fn total(&self) -> f64 {
        self.minutes.iter().sum()
    }

    /// Who had the bay at a valve, by name.
    pub fn hand_of(&self, valve: ValveKind) -> &str {
        let hand = self.hands.get(usize::from(valve.hand));
        hand.map_or("", String::as_str)
    }
}

/// A valve that is not verified.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ValveToDo {
    /// What kind of valve it is.
    pub kind: ValveKind,
    /// How many of its six stages are seen.
    pub stages_seen: u8,
}

/// The work that is left.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WorkLeft {
    /// Valves that are not verified, in the order in which they will be worked.
    pub valves: Vec<ValveToDo>,
    /// Steps left in each phase.
    pub steps: ByPhase,
}
