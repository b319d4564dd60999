//! The job: a closed list of events, and the state that is their fold.
//!
//! [`JobState::apply`] is the one way in. It checks an event against the state and
//! either refuses it, with the reason and the way out, or takes it. It reads no
//! clock, draws no random number and touches no file.

mod check;
mod conflict;
mod cylinder;
mod effects;
mod event;
mod fact;
mod gate;
mod next;
mod postings;
mod refusal;
mod sentences;
mod state;
mod valve;
mod view;
mod withdraw;

pub use conflict::Conflict;
pub use cylinder::{CrankAt, CylinderState};
pub use effects::{Effects, Milestone, Moved};
pub use event::{
    Caution, CountLine, Entry, Event, Finding, FindingKind, HeardAt, HoldKind, Opening, Person,
    Reading, Seal, SearchPlace, SignOff, Smoke, Step, TEXT_CHARS_MAX, TakeIn,
};
pub use fact::Fact;
pub use gate::{CountTaken, Drop, DropStatus};
pub use next::NextStep;
pub use refusal::{Invariant, Refusal};
pub use state::{BankState, JobPhase, JobState};
pub use valve::{STAGES, Stage, ValveState};
pub use view::{LOSS_LIMIT_PERCENT, LeakReading};
