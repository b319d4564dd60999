//! What was done on paper goes into a job: all of it or none.

use trayzero_core::job::{Effects, Event, Person};
use trayzero_core::journal::event_id;
use uuid::Uuid;

use super::clock::random;
use super::{OpenJob, ProposeError, Stamp, StoreError};

impl OpenJob {
    /// Proposes what was done on paper, all or none: the event that opens the batch, signed,
    /// and its lines with their identities.
    ///
    /// # Errors
    /// As [`OpenJob::propose`].
    pub fn propose_from_paper(
        &mut self,
        now: Stamp,
        who: &Person,
        opener: Event,
        lines: Vec<(Uuid, Event)>,
    ) -> Result<Vec<Effects>, ProposeError> {
        self.ready(now, who)?;
        let (ids, events): (Vec<Uuid>, Vec<Event>) = lines.into_iter().unzip();
        let all: Vec<Event> = std::iter::once(opener).chain(events).collect();
        let (mut entries, clock) = self.entries_of(now, who, &all)?;
        if let Some((opener, lines)) = entries.split_first_mut() {
            for (line, id) in lines.iter_mut().zip(ids) {
                line.id = id;
                line.paper = Some(opener.id);
            }
        }
        self.write_down(now, who, entries, clock)
    }

    /// An identity for a line that is still to be written.
    ///
    /// # Errors
    /// [`StoreError`] where the system gives no chance.
    pub fn new_id(now: Stamp) -> Result<Uuid, StoreError> {
        Ok(event_id(now.at_ms, &random()?))
    }
}
