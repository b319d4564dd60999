//! Steps round the work on the valves, and cautions.

use serde::{Deserialize, Serialize};

/// Short steps before the first valve and after the last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum Step {
    EngineCold,
    BatteryOff,
    ConnectorsOff,
    TubesOff,
    TurnedTwiceByHand,
    ConnectorsOn,
    BatteryOn,
    OilFilled,
    FirstStart,
    SmokeWatched,
    CodesCleared,
}

impl Step {
    /// Steps before the first valve, in order.
    pub const BEFORE: [Step; 4] = [
        Step::EngineCold,
        Step::BatteryOff,
        Step::ConnectorsOff,
        Step::TubesOff,
    ];
    /// Steps after the covers are on, in order.
    pub const AFTER: [Step; 7] = [
        Step::TurnedTwiceByHand,
        Step::ConnectorsOn,
        Step::BatteryOn,
        Step::OilFilled,
        Step::FirstStart,
        Step::SmokeWatched,
        Step::CodesCleared,
    ];
}

/// Cautions that are acknowledged once a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Caution {
    /// Eye protection: a spring is pressed.
    Spring,
    /// Hands and handles clear of the crank: air goes on.
    Air,
    /// Nothing unlocked, no air: the crank is turned.
    Crank,
    /// Hot, fuel-wet or pressurised parts.
    Heat,
    /// Battery off before connectors.
    Battery,
}
