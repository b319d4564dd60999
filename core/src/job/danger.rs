//! What may hurt somebody while two tablets disagree.

use serde::{Deserialize, Serialize};

use crate::engine::ValveName;

/// What may hurt somebody while two tablets disagree about it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // The names of the fields say what they are.
pub enum Danger {
    /// Air may be on in a cylinder.
    Air { cylinder: u8 },
    /// A mechanical hold may be in a cylinder, or gone.
    Hold { cylinder: u8 },
    /// The wrench may be on the crank.
    Wrench,
    /// The crank may stand elsewhere.
    Crank,
    /// A spring may be pressed, or a valve unlocked.
    Valve { valve: ValveName },
}

impl Danger {
    /// The cylinder, where it is about air.
    pub fn air_cylinder(self) -> Option<u8> {
        match self {
            Danger::Air { cylinder } => Some(cylinder),
            _ => None,
        }
    }
}
