//! What an accepted event has brought about, for the screen to show.

use smallvec::SmallVec;

use crate::engine::ValveName;
use crate::parts::{Item, Place};

/// One move of items.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moved {
    /// What moved.
    pub item: Item,
    /// `None` when counted in or issued from outside.
    pub from: Option<Place>,
    /// `None` when given back to the store.
    pub to: Option<Place>,
    /// How many of it.
    pub count: u32,
}

/// An end that is announced.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Milestone {
    /// All six stages of a valve are seen.
    ValveVerified(ValveName),
    /// All valves of a cylinder are verified.
    CylinderVerified(u8),
    /// All valves of a bank (its index) are verified.
    BankVerified(u8),
    /// A bank's cover is on.
    BankClosed(u8),
    /// The job is closed.
    JobClosed,
}

/// What an accepted event has brought about.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Effects {
    /// Items moved, in order.
    pub moves: SmallVec<[Moved; 4]>,
    /// The furthest end reached by it.
    pub milestone: Option<Milestone>,
    /// The event was known already; nothing changed.
    pub repeated: bool,
}
