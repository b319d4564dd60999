//! What is seen at the engine or on the bench where two tablets disagree.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::{CrankAt, HoldKind, PlugHole, Stage};
use crate::engine::ValveName;
use crate::parts::{Item, Place};

/// One thing that was seen at the engine or on the bench, with what there was to see.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
#[allow(missing_docs)] // The names of the fields say what they are, with their units.
pub enum Sight {
    /// Air on a cylinder at a gauge pressure in bar, or no air.
    Air {
        cylinder: u8,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        bar: Option<f64>,
    },
    /// A mechanical hold in a cylinder, or none.
    Hold {
        cylinder: u8,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        hold: Option<HoldKind>,
    },
    /// The wrench on the crank, or off.
    Wrench { on: bool },
    /// The crank at a working position, or at none that is known.
    Crank {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<CrankAt>,
    },
    /// A valve at a stage; none while it is untouched.
    Valve {
        valve: ValveName,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        stage: Option<Stage>,
    },
    /// What is in a plug hole.
    PlugHole { cylinder: u8, with: PlugHole },
    /// The cover of a bank, off or on.
    Cover { bank: u8, off: bool },
    /// So many pieces of kit on or in a bank.
    Aboard { bank: u8, item: Item, count: u32 },
    /// So many of an item laid out at a place.
    LaidOut {
        item: Item,
        place: Place,
        count: u32,
    },
    /// So many are still missing of those that one report told; the report's event.
    Missing { dropped: Uuid, count: u32 },
    /// Nothing at the engine hangs on it: both sides were read.
    Read {},
}
