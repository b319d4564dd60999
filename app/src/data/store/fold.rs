//! One job folded from the journals of all its tablets, and kept up to date.

use std::cmp::Ordering;

use trayzero_core::job::{Effects, Entry, Foreseen, JobState, Refusal};
use trayzero_core::journal::{merge, order};
use uuid::Uuid;

/// The state of a job over the lines of all tablets known here.
#[derive(Clone, Debug, Default)]
pub struct JobFold {
    state: JobState,
    /// The entry folded last; what comes after it can simply be added.
    last: Option<Entry>,
    clashes: Vec<Uuid>,
}

impl JobFold {
    /// Merges journals and folds them from the beginning.
    pub fn of(journals: impl IntoIterator<Item = Vec<Entry>>) -> Self {
        let merged = merge(journals);
        let mut fold = JobFold {
            clashes: merged.clashes,
            ..JobFold::default()
        };
        for entry in &merged.entries {
            fold.state.fold(entry);
        }
        fold.last = merged.entries.into_iter().next_back();
        fold
    }

    /// The state.
    pub fn state(&self) -> &JobState {
        &self.state
    }

    /// In how many journals lines are not confirmed.
    pub(super) fn set_unconfirmed(&mut self, journals: usize) {
        self.state.set_unconfirmed(journals);
    }

    /// Identities that came with different contents; somebody has tampered with a file.
    pub fn clashes(&self) -> &[Uuid] {
        &self.clashes
    }

    /// Adds entries that all come after what was folded. Gives false, and changes
    /// nothing, if they do not: then the job has to be folded from the beginning.
    #[must_use]
    pub fn take_on(&mut self, new: &mut [Entry]) -> bool {
        new.sort_by(order);
        let Some(first) = new.first() else {
            return true;
        };
        let comes_after = self
            .last
            .as_ref()
            .is_none_or(|last| order(last, first) == Ordering::Less);
        let is_new = new.iter().all(|entry| !self.state.knows(entry.id));
        let is_distinct = new.windows(2).all(|pair| pair[0].id != pair[1].id);
        if !(comes_after && is_new && is_distinct) {
            return false;
        }
        for entry in new.iter() {
            self.state.fold(entry);
        }
        self.last = new.last().cloned();
        true
    }

    /// Applies an entry that is on the disk now, made here after all others.
    pub(super) fn take_own(
        &mut self,
        entry: &Entry,
        foreseen: Option<Foreseen>,
    ) -> Result<Effects, Refusal> {
        let applied = match foreseen {
            Some(foreseen) => self.state.apply_foreseen(entry, foreseen),
            None => self.state.apply(entry),
        };
        if applied.is_err() {
            // What is on the disk stays there; every tablet will show it as a conflict.
            self.state.fold(entry);
        }
        self.last = Some(entry.clone());
        applied
    }
}
