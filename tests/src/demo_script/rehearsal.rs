//! A job played in memory alone, with all its taps recorded.

use trayzero::demo::Tap;
use trayzero_core::job::{Entry, Event, JobState, Person};
use uuid::Uuid;

use super::ScriptError;

/// A job that no disk sees.
#[derive(Debug, Default)]
pub struct Rehearsal {
    state: JobState,
    taken: u32,
    /// Every tap, refused ones too.
    pub taps: Vec<Tap>,
}

impl Rehearsal {
    /// The state after the last tap.
    pub fn state(&self) -> &JobState {
        &self.state
    }

    /// Takes the events of one tap, all or none.
    ///
    /// # Errors
    /// [`ScriptError::Refused`] where the rules refuse one.
    pub fn take(&mut self, at_ms: i64, who: &Person, events: &[Event]) -> Result<(), ScriptError> {
        let mut trial = self.state.clone();
        let mut refused = None;
        for event in events {
            self.taken += 1;
            let entry = Entry {
                id: Uuid::from_u128(u128::from(self.taken)),
                tablet: Uuid::nil(),
                at_ms,
                offset_min: 0,
                clock: (u64::from(self.taken), 0),
                after: None,
                paper: None,
                who: who.clone(),
                event: event.clone(),
            };
            if let Err(refusal) = trial.apply(&entry) {
                refused = Some(refusal);
                break;
            }
        }
        self.taps.push(Tap {
            at_ms,
            is_refused: refused.is_some(),
            events: events.to_vec(),
        });
        if let Some(refusal) = refused {
            return Err(ScriptError::Refused(refusal));
        }
        self.state = trial;
        Ok(())
    }
}
