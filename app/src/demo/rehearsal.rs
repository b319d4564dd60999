//! A job played in memory alone: it tells how long a script takes before it is kept.

use trayzero_core::job::{Entry, Event, JobState, Person};
use uuid::Uuid;

use super::{Bay, DemoError};
use crate::data::store::Stamp;

/// A job that no disk sees.
#[derive(Debug, Default)]
pub struct Rehearsal {
    state: JobState,
    taken: u32,
}

impl Bay for Rehearsal {
    fn state(&self) -> &JobState {
        &self.state
    }

    fn take(&mut self, now: Stamp, who: &Person, events: &[Event]) -> Result<(), DemoError> {
        let mut trial = self.state.clone();
        let mut taken = self.taken;
        for event in events {
            taken += 1;
            trial
                .apply(&Entry {
                    id: Uuid::from_u128(u128::from(taken)),
                    tablet: Uuid::nil(),
                    at_ms: now.at_ms,
                    offset_min: now.offset_min,
                    clock: (u64::from(taken), 0),
                    who: who.clone(),
                    event: event.clone(),
                })
                .map_err(DemoError::Refused)?;
        }
        (self.state, self.taken) = (trial, taken);
        Ok(())
    }
}
