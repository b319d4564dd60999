//! Where the time of a job went: its phases, and what it was lost to.

use serde::Serialize;

use crate::phases::JobClock;
use crate::plan::{Loss, WorkPhase};

/// Where the time went.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TimeSpent {
    /// Every phase, in the order of a job by the book.
    pub phases: Vec<PhaseLine>,
    /// What the last of them, the time lost, was lost to.
    pub losses: Vec<Loss>,
}

/// One phase.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PhaseLine {
    /// Which.
    pub phase: WorkPhase,
    /// Its working minutes.
    pub minutes: f64,
}

pub(super) fn time_spent(clock: &JobClock) -> TimeSpent {
    let line = |phase: WorkPhase| PhaseLine {
        phase,
        minutes: clock.hours.minutes[phase.index()],
    };
    TimeSpent {
        phases: WorkPhase::ALL.map(line).to_vec(),
        losses: clock.hours.losses.clone(),
    }
}
