//! Events of two tablets that cannot both be true.

use uuid::Uuid;

use super::change::Postings;
use super::{Entry, Refusal, Sight, SignOff};

/// An event that was accepted on its own tablet and cannot stand in the merged order.
#[derive(Clone, Debug, PartialEq)]
pub struct Conflict {
    /// The event that does not stand.
    pub entry: Entry,
    /// Why it does not.
    pub refusal: Refusal,
    /// The standing event on the other side, where one can be named.
    pub against: Option<Uuid>,
    /// Who has resolved it, once somebody has.
    pub resolved_by: Option<SignOff>,
    /// The second person, where it took two.
    pub resolved_by_second: Option<SignOff>,
    /// Event of that resolution.
    pub resolved_in: Option<Uuid>,
    /// What they saw.
    pub seen: Vec<Sight>,
    pub(super) told: Told,
}

impl Conflict {
    /// Whether nobody has resolved it yet.
    pub fn is_open(&self) -> bool {
        self.resolved_by.is_none()
    }

    /// Banks, by index, whose closing was taken back because of what the event tells.
    pub fn reopened(&self) -> &[u8] {
        &self.told.reopened
    }

    /// Whether a loss is booked for it.
    pub fn tells_loss(&self) -> bool {
        !self.told.loss.is_empty() || self.told.taken_back
    }
}

/// What was booked for an event that does not stand.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Told {
    /// The loss: it can be taken out again by those who have looked.
    pub(super) loss: Postings,
    /// A taking back was booked whole, and stays.
    pub(super) taken_back: bool,
    /// Banks whose cover had gone on, by index.
    pub(super) reopened: Vec<u8>,
}
