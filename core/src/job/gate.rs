//! The close-up gate: drops, blind counts and what keeps a cover off.

use uuid::Uuid;

use super::{CountLine, Person};
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
#[allow(missing_docs)]
pub struct Drop {
    /// Event that reported it.
    pub id: Uuid,
    pub item: Item,
    pub count: u32,
    pub from: Place,
    pub valve: Option<ValveName>,
    pub at_ms: i64,
    pub who: Person,
    pub status: DropStatus,
}

/// One blind count, good as long as nothing has moved since.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct CountTaken {
    pub id: Uuid,
    pub at_ms: i64,
    pub by: Person,
    pub lines: Vec<CountLine>,
    /// The ledger's number of moves when the count was taken.
    pub moves_then: u64,
}
