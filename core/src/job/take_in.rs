//! What is said, seen and measured before the work, and measured again after it.

use serde::{Deserialize, Serialize};

/// When the exhaust smokes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Smoke {
    /// At a cold start.
    ColdStart,
    /// After it has idled for a while.
    AfterIdling,
    /// While the vehicle pushes the engine.
    OnOverrun,
    /// When it pulls.
    UnderLoad,
    /// It was watched, and it does not.
    Never,
}

/// What the customer and the vehicle say at take-in.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TakeIn {
    /// The complaint, in words.
    pub complaint: String,
    /// Odometer in kilometres, where read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub odometer_km: Option<f64>,
    /// Fault codes as text.
    #[serde(default)]
    pub codes: Vec<String>,
    /// When it smokes.
    #[serde(default)]
    pub smoke: Vec<Smoke>,
    /// What else was seen.
    #[serde(default)]
    pub seen: String,
}

/// Before or after the work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reading {
    /// Before the first valve is touched.
    Before,
    /// After the last one is verified.
    After,
}

/// Where leaking air is heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum HeardAt {
    /// At the intake: an intake valve.
    Intake,
    /// At the exhaust: an exhaust valve.
    Exhaust,
    /// At the oil filler: past the rings.
    OilFiller,
    /// Bubbles in the coolant: head or its gasket.
    Coolant,
    /// At the plug hole next to it: the gasket between.
    NextPlugHole,
}
