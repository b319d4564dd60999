//! One job folded from the journals of all its tablets, and kept up to date.

use std::cmp::Ordering;

use trayzero_core::job::{Effects, Entry, Foreseen, JobState, Refusal};
use trayzero_core::journal::{Hlc, merge, order};
use trayzero_core::shop_log::{Judged, NotSigned, Proofs};
use uuid::Uuid;

use super::Stamp;

/// The state of a job over the lines of all tablets known here.
#[derive(Clone, Debug, Default)]
pub struct JobFold {
    state: JobState,
    /// The latest entry; what comes after it can simply be added.
    last: Option<Entry>,
    /// Some entry says what it was made after, so that clocks alone do not give the order.
    is_chained: bool,
    clashes: Vec<Uuid>,
    job: Uuid,
    proofs: Proofs,
    judged: Judged,
    /// Journals with lines that no seal covers, as the shop last said.
    unsealed: usize,
}

impl JobFold {
    /// A job of which nothing is read yet.
    pub fn new(job: Uuid, proofs: &Proofs) -> Self {
        Self {
            job,
            proofs: proofs.clone(),
            ..Self::default()
        }
    }

    /// Merges the journals of a job and folds them from the beginning. An event with a
    /// signature that does not count is no part of the state, and holds the gate.
    pub fn of(job: Uuid, proofs: &Proofs, journals: impl IntoIterator<Item = Vec<Entry>>) -> Self {
        Self::with_entries(job, proofs, journals).0
    }

    /// The same, with the entries that the state was folded from, in their order.
    pub fn with_entries(
        job: Uuid,
        proofs: &Proofs,
        journals: impl IntoIterator<Item = Vec<Entry>>,
    ) -> (Self, Vec<Entry>) {
        let merged = merge(journals);
        let mut fold = JobFold {
            is_chained: merged.entries.iter().any(|entry| entry.after.is_some()),
            clashes: merged.clashes,
            ..JobFold::new(job, proofs)
        };
        let mut entries = merged.entries;
        fold.last = entries.last().cloned();
        entries.retain(|entry| fold.take(entry));
        fold.tell_unconfirmed();
        (fold, entries)
    }

    /// The state.
    pub fn state(&self) -> &JobState {
        &self.state
    }

    /// What an own entry comes after that is made now, where its clock does not say so: the
    /// latest entry, if it is another tablet's. `heard` is the latest clock of the others.
    pub(super) fn made_after(
        &self,
        own: Uuid,
        heard: Hlc,
        now: Stamp,
    ) -> Option<Box<(Uuid, Uuid)>> {
        let last = self.last.as_ref().filter(|last| last.tablet != own)?;
        let is_needed = self.is_chained || heard.is_far(now.at_ms);
        is_needed.then(|| Box::new((last.tablet, last.id)))
    }

    /// Events that are not confirmed because a signature on them does not count.
    pub fn not_signed(&self) -> &[NotSigned] {
        self.judged.not_signed()
    }

    /// In how many journals lines wait for a seal.
    pub(super) fn set_unsealed(&mut self, journals: usize) {
        self.unsealed = journals;
        self.tell_unconfirmed();
    }

    fn tell_unconfirmed(&mut self) {
        let journals = self.unsealed + self.judged.journals();
        self.state.set_unconfirmed(journals);
    }

    /// Folds an entry, if it counts. Gives whether it did.
    fn take(&mut self, entry: &Entry) -> bool {
        let is_taken = self.judged.takes(&self.proofs, self.job, entry);
        if is_taken {
            self.state.fold(entry);
        }
        is_taken
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
        let is_chained = self.is_chained || new.iter().any(|entry| entry.after.is_some());
        let last = self.last.as_ref();
        let comes_after =
            !is_chained && last.is_none_or(|last| order(last, first) == Ordering::Less);
        let is_known = |id: Uuid| self.state.knows(id) || self.judged.leaves_out(id);
        let is_new = new.iter().all(|entry| !is_known(entry.id));
        let is_distinct = new.windows(2).all(|pair| pair[0].id != pair[1].id);
        if !(comes_after && is_new && is_distinct) {
            return false;
        }
        for entry in new.iter() {
            self.take(entry);
        }
        self.tell_unconfirmed();
        self.last = new.last().cloned();
        true
    }

    /// Applies an entry that is on the disk now, made here after all others.
    pub(super) fn take_own(
        &mut self,
        entry: &Entry,
        foreseen: Option<Foreseen>,
    ) -> Result<Effects, Refusal> {
        self.is_chained |= entry.after.is_some();
        // Signed at this tablet just now: it is judged for those that come after it.
        self.judged.takes(&self.proofs, self.job, entry);
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
