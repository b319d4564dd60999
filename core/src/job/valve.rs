//! The six stages of one valve.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// How many stages a valve goes through.
pub const STAGES: usize = 6;

/// The stages of a valve, in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// Cylinder at its working position, follower in the tray.
    Positioned,
    /// Something holds the valve, the spring is pressed, both locks in sight.
    SpringHeld,
    /// Locks, retainer and spring in the tray.
    LocksOut,
    /// Old seal in the scrap box, new one home.
    SealFitted,
    /// Spring, retainer and locks home.
    LocksIn,
    /// Locks level, air off, follower home.
    Verified,
}

impl Stage {
    /// Every stage in order.
    pub const ALL: [Stage; STAGES] = [
        Stage::Positioned,
        Stage::SpringHeld,
        Stage::LocksOut,
        Stage::SealFitted,
        Stage::LocksIn,
        Stage::Verified,
    ];

    /// Place in [`Stage::ALL`], 0 to 5.
    pub fn index(self) -> usize {
        self as usize
    }

    /// Whether the locks are out: only air or a mechanical hold keeps the valve up.
    pub fn is_unlocked(self) -> bool {
        matches!(self, Stage::LocksOut | Stage::SealFitted)
    }
}

/// What is known of one valve.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ValveState {
    /// How many stages are seen: 0 (untouched) to 6 (verified).
    pub stages_seen: u8,
    /// Event of each stage seen.
    pub stage_events: [Uuid; STAGES],
    /// Wall clock in milliseconds at each stage seen.
    pub stage_at_ms: [i64; STAGES],
}

impl ValveState {
    /// The last stage seen; `None` while untouched.
    pub fn stage(&self) -> Option<Stage> {
        Stage::ALL
            .get(usize::from(self.stages_seen).wrapping_sub(1))
            .copied()
    }

    /// The stage to be seen next; `None` when verified.
    pub fn next_stage(&self) -> Option<Stage> {
        Stage::ALL.get(usize::from(self.stages_seen)).copied()
    }

    /// Whether the spring is pressed and the locks still in (stage *spring held*).
    pub fn is_spring_held(&self) -> bool {
        self.stage() == Some(Stage::SpringHeld)
    }

    /// Whether the locks are out: only air or a mechanical hold keeps the valve up.
    pub fn is_unlocked(&self) -> bool {
        self.stage().is_some_and(Stage::is_unlocked)
    }

    /// Whether the valve is between its first and its last stage.
    pub fn is_open(&self) -> bool {
        self.stages_seen > 0 && usize::from(self.stages_seen) < STAGES
    }

    /// Whether all six stages are seen.
    pub fn is_verified(&self) -> bool {
        usize::from(self.stages_seen) == STAGES
    }
}
