//! What is found on a valve or a cylinder.

use serde::{Deserialize, Serialize};

use crate::engine::ValveName;

/// What was found on a valve or a cylinder.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Finding {
    /// Cylinder it concerns.
    pub cylinder: u8,
    /// Valve it concerns, if one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub valve: Option<ValveName>,
    /// What was found.
    pub kind: FindingKind,
    /// More words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub text: String,
}

/// Kinds of findings.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum FindingKind {
    /// Scored stem.
    ScoredStem,
    /// Worn guide: the stem rocks by so much in all at its tip.
    WornGuide {
        /// Total rock at the tip, millimetres.
        rock_mm: f64,
    },
    /// Broken spring.
    BrokenSpring,
    /// Short spring: free or seated length below the other springs'.
    ShortSpring {
        /// Length as measured, millimetres.
        length_mm: f64,
    },
    /// Damaged lock groove.
    DamagedGroove,
    /// The valve fell into its cylinder, and does not come back with the head on.
    ValveFell,
    /// The old seal came off torn; `missing` pieces do not make it whole.
    SealTorn {
        /// Pieces that are missing: they are adrift from now on.
        missing: u32,
    },
    /// Anything else, in words.
    Other,
}
