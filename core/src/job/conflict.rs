//! Events of two tablets that cannot both be true.

use uuid::Uuid;

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
        let against = self.other_side(entry);
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

    /// The latest standing event of another tablet that touches the same thing, or
    /// failing that the latest one of another tablet.
    fn other_side(&self, entry: &Entry) -> Option<Uuid> {
        let cells: Vec<_> = self
            .postings(entry.id, &entry.event)
            .iter()
            .map(super::change::Change::cell)
            .collect();
        let others = || {
            self.history
                .iter()
                .rev()
                .filter(|p| p.tablet != entry.tablet && !matches!(p.event, Event::Sealed(_)))
        };
        others()
            .find(|p| {
                let theirs = self.postings(p.id, &p.event);
                theirs.iter().any(|c| cells.contains(&c.cell()))
            })
            .or_else(|| others().next())
            .map(|p| p.id)
    }
}
