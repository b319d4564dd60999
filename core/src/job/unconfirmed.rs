//! What no event says: lines that wait for somebody to vouch for them, and an identity
//! that two tablets have used.

use super::{Effects, Entry, JobState, Refusal};

impl JobState {
    /// Says of how many journals of this job some lines wait for a member of the shop to
    /// vouch for them. They are in nothing that the state tells; but while there are any the
    /// gate is held, as by a conflict, since they may be true.
    pub fn set_unconfirmed(&mut self, journals: usize) {
        self.unconfirmed = journals;
    }

    /// How many journals have lines that are not confirmed.
    pub fn unconfirmed(&self) -> usize {
        self.unconfirmed
    }

    pub(super) fn unconfirmed_hold(&self) -> Option<Refusal> {
        let journals = self.unconfirmed;
        (journals > 0).then_some(Refusal::GateNotConfirmed { journals })
    }

    /// An event whose identity is known. The same tablet's is the same event and changes
    /// nothing; another tablet's is another event, and one of both is not what it says.
    #[cold]
    pub(super) fn apply_again(&self, entry: &Entry) -> Result<Effects, Refusal> {
        let conflicts = self.conflicts.iter().map(|c| (c.entry.id, c.entry.tablet));
        let history = self.history.iter().map(|past| (past.id, past.tablet));
        let is_own = conflicts
            .chain(history)
            .any(|known| known == (entry.id, entry.tablet));
        if is_own {
            return Ok(Effects {
                repeated: true,
                ..Effects::default()
            });
        }
        Err(Refusal::SameIdentity { event: entry.id })
    }
}
