//! Events of two tablets that cannot both be true.

use uuid::Uuid;

use super::{Entry, Refusal, SignOff};

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
    /// Event of that resolution.
    pub resolved_in: Option<Uuid>,
}
