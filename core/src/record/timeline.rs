//! The entries of a job sorted by what became of them: standing, taken back, or in
//! conflict.

use std::collections::{BTreeMap, BTreeSet};

use uuid::Uuid;

use crate::job::{Entry, Event, JobState};

/// The entries of a job with their state.
pub(super) struct Timeline<'a> {
    /// What the entries fold to.
    pub state: &'a JobState,
    /// Entries that stand, in order; withdrawals among them.
    pub standing: Vec<&'a Entry>,
    /// Entries taken back, each with the withdrawal.
    pub withdrawn: Vec<(&'a Entry, &'a Entry)>,
    by_id: BTreeMap<Uuid, &'a Entry>,
}

impl<'a> Timeline<'a> {
    pub(super) fn of(state: &'a JobState, entries: &'a [Entry]) -> Self {
        let conflicts: BTreeSet<Uuid> = state.conflicts().iter().map(|c| c.entry.id).collect();
        let mut by_id = BTreeMap::new();
        let mut taken_back: BTreeMap<Uuid, &Entry> = BTreeMap::new();
        let mut accepted = Vec::with_capacity(entries.len());
        for entry in entries {
            if by_id.contains_key(&entry.id) {
                continue;
            }
            by_id.insert(entry.id, entry);
            if conflicts.contains(&entry.id) {
                continue;
            }
            if let Event::Withdrawn { event, .. } = entry.event {
                taken_back.insert(event, entry);
            }
            accepted.push(entry);
        }
        let withdrawn = accepted
            .iter()
            .filter_map(|e| Some((*e, *taken_back.get(&e.id)?)))
            .collect();
        accepted.retain(|e| !taken_back.contains_key(&e.id));
        Self {
            state,
            standing: accepted,
            withdrawn,
            by_id,
        }
    }

    /// Any entry by its identity.
    pub(super) fn entry(&self, id: Uuid) -> Option<&'a Entry> {
        self.by_id.get(&id).copied()
    }
}
