//! What was told as lost, or as lying with another valve, and how that ended.

use uuid::Uuid;

use super::{Person, Refusal};
use crate::engine::ValveName;
use crate::parts::{Item, Place};

/// How a drop stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum DropStatus {
    /// Not found yet.
    Adrift,
    /// Found, in the event named.
    Found(Uuid),
    /// Searched for and signed by two people, in the event named.
    Unfound(Uuid),
}

/// One drop and how it ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Drop {
    /// Event that reported it.
    pub id: Uuid,
    /// What fell.
    pub item: Item,
    /// How many of it.
    pub count: u32,
    /// Where it was before.
    pub from: Place,
    /// The valve that was worked on, if one was.
    pub valve: Option<ValveName>,
    /// When it was reported, milliseconds since 1970 UTC.
    pub at_ms: i64,
    /// The technician at the time.
    pub who: Person,
    /// How it stands.
    pub status: DropStatus,
}

/// Two parts of one kind that lie with each other's valve. Each of them is as good as lost
/// until both are back: the clearance of both valves is wrong.
#[derive(Clone, Debug, PartialEq)]
pub struct Swap {
    /// The event that told it.
    pub id: Uuid,
    /// Follower or shim.
    pub item: Item,
    /// Where it was seen.
    pub valve: ValveName,
    /// The valve to which it belongs.
    pub own: ValveName,
    /// Both are back.
    pub is_mended: bool,
}

impl Swap {
    /// What a swap keeps from being done.
    pub(super) fn refusal(&self) -> Refusal {
        Refusal::PartsSwapped {
            item: self.item.clone(),
            valve: self.valve,
            own: self.own,
        }
    }
}
