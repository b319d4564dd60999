//! Steps round the work on the valves, and cautions.

use serde::{Deserialize, Serialize};

/// Short steps before the first valve and after the last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Step {
    /// The engine is cold to the hand.
    EngineCold,
    /// The battery is off.
    BatteryOff,
    /// Connectors and coils are off.
    ConnectorsOff,
    /// Tubes and hoses over the cover are off.
    TubesOff,
    /// The crank was turned twice by hand without a stop.
    TurnedTwiceByHand,
    /// Connectors and coils are on.
    ConnectorsOn,
    /// The battery is on.
    BatteryOn,
    /// Oil is filled up to the mark.
    OilFilled,
    /// The engine has run.
    FirstStart,
    /// The exhaust was watched.
    SmokeWatched,
    /// Fault codes are read and cleared.
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

impl Caution {
    /// Every caution.
    pub const ALL: [Self; 5] = [
        Self::Spring,
        Self::Air,
        Self::Crank,
        Self::Heat,
        Self::Battery,
    ];
}
