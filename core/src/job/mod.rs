//! The job: a closed list of events, and the state that is their fold.
//!
//! [`JobState::apply`] is the one way in. It checks an event against the state and
//! either refuses it, with the reason and the way out, or takes it. It reads no
//! clock, draws no random number and touches no file.

mod change;
mod check;
mod commit;
mod conflict;
mod cylinder;
mod effects;
mod event;
mod fact;
mod finding;
mod gate;
mod invariant;
mod next;
mod person;
mod postings;
mod refusal;
mod search;
mod sentences;
mod state;
mod step;
mod take_in;
mod valve;
mod view;
mod withdraw;

pub use conflict::Conflict;
pub use cylinder::{CrankAt, CylinderState, HoldKind};
pub use effects::{Effects, Milestone, Moved};
pub use event::{Entry, Event, Opening, TEXT_CHARS_MAX};
pub use fact::Fact;
pub use finding::{Finding, FindingKind};
pub use gate::{CountTaken, Drop, DropStatus};
pub use next::NextStep;
pub use person::{Person, Seal, SignOff};
pub use refusal::{Invariant, Refusal};
pub use search::{CountLine, SearchPlace};
pub use state::{BankState, JobPhase, JobState};
pub use step::{Caution, Step};
pub use take_in::{HeardAt, Reading, Smoke, TakeIn};
pub use valve::{STAGES, Stage, ValveState};
pub use view::{LOSS_LIMIT_PERCENT, LeakReading};
