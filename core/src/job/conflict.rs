//! Events of two tablets that cannot both be true.

use uuid::Uuid;

use super::change::Cell;
use super::{Entry, Event, JobState, Refusal, SignOff};

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

impl JobState {
    /// Keeps an event that cannot stand, with the one it stands against.
    pub(super) fn note_conflict(&mut self, entry: &Entry, refusal: Refusal) {
        let against = match refusal {
            Refusal::SameIdentity { event } => Some(event),
            _ => self.other_side(entry),
        };
        self.learn(entry.id);
        self.last_ms = self.last_ms.max(entry.at_ms);
        self.conflicts.push(Conflict {
            entry: entry.clone(),
            refusal,
            against,
            resolved_by: None,
            resolved_in: None,
        });
    }

    /// The latest standing event of another tablet that touches the same thing: the same
    /// valve, plug hole, cover or drop before the same kind of part, of which an engine
    /// has many. Failing both the latest event of another tablet.
    fn other_side(&self, entry: &Entry) -> Option<Uuid> {
        let (kinds, things): (Vec<Cell>, Vec<Cell>) = self
            .postings(entry.id, &entry.event)
            .iter()
            .map(super::change::Change::cell)
            .partition(|cell| matches!(cell, Cell::Items(_)));
        let others = || {
            self.history
                .iter()
                .rev()
                .filter(|p| p.tablet != entry.tablet && !matches!(p.event, Event::Sealed(_)))
        };
        let touching = |wanted: &[Cell]| {
            others().find(|p| {
                let theirs = self.postings(p.id, &p.event);
                theirs.iter().any(|c| wanted.contains(&c.cell()))
            })
        };
        touching(&things)
            .or_else(|| touching(&kinds))
            .or_else(|| others().next())
            .map(|p| p.id)
    }
}
