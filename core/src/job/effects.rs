//! What an accepted event has brought about, for the screen to show.

use crate::engine::ValveName;

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
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Effects {
    /// The furthest end reached by it.
    pub milestone: Option<Milestone>,
    /// The event was known already; nothing changed.
    pub repeated: bool,
}
