//! The job: a closed list of events, and the state that is their fold.
//!
//! [`JobState::apply`] is the one way in. It checks an event against the state and
//! either refuses it, with the reason and the way out, or takes it. It reads no
//! clock, draws no random number and touches no file.
//! # Examples
//! The crank is not turned without its wrench: the refusal has a permanent code and leaves
//! no trace. What is taken changes the state and tells what end was reached by it.
//! ```
//! use trayzero_core::engine::{Layout, shipped};
//! use trayzero_core::job::{Entry, Event, JobState, Opening, Person};
//! use uuid::Uuid;
//!
//! let engine = &shipped()[0];
//! let ada = Person::new("Ada");
//! let mut n = 0;
//! let mut entry = |event: Event| {
//!     n += 1;
//!     Entry {
//!         id: Uuid::from_u128(n),
//!         tablet: Uuid::from_u128(1_000),
//!         at_ms: 1_796_000_000_000,
//!         offset_min: 60,
//!         clock: (1_796_000_000_000, n as u32),
//!         who: Person::new("Ada"),
//!         event,
//!     }
//! };
//! let mut state = JobState::new();
//! let opening = Opening {
//!     order_number: None,
//!     layout: Layout::from_json(engine.key, engine.json.as_bytes()).unwrap(),
//!     vehicle: "Van 12".into(),
//!     bay: "Bay 1".into(),
//!     technician: ada,
//! };
//! state.apply(&entry(Event::JobOpened(Box::new(opening)))).unwrap();
//!
//! let refused = state.apply(&entry(Event::WrenchOff {})).unwrap_err();
//! assert_eq!(refused.code(), "R214");
//!
//! let effects = state.apply(&entry(Event::CoverOff { bank: 0 })).unwrap();
//! assert!(state.bank(0).unwrap().cover_off);
//! assert_eq!(effects.milestone, None);
//! assert_eq!(state.broken_invariant(), None);
//! ```

mod adaptor;
mod change;
mod check;
mod commit;
mod conflict;
mod cylinder;
mod danger;
mod disputed;
mod effects;
mod event;
mod fact;
mod finding;
mod follow_up;
mod gate;
mod invariant;
mod loss;
mod next;
mod next_step;
mod objection;
mod order;
mod paper;
mod paper_batch;
mod paper_box;
mod paper_entered;
mod paper_walk;
mod person;
mod picture;
mod postings;
mod refusal;
mod resolve;
mod search;
mod sight;
mod state;
mod step;
mod swap;
mod take_in;
mod told;
mod unconfirmed;
mod valve;
mod view;
mod withdraw;

pub use check::found_places;
pub use conflict::Conflict;
pub use cylinder::{CrankAt, CylinderState, HoldKind, PlugHole};
pub use danger::Danger;
pub use effects::{Effects, Milestone};
pub use event::{Entry, Event, Opening, TEXT_CHARS_MAX};
pub use fact::Fact;
pub use finding::{Finding, FindingKind};
pub use follow_up::FollowUp;
pub use gate::CountAgain;
pub use loss::{Drop, DropStatus, Swap};
pub use next_step::NextStep;
pub use order::{HANDS_ORDER, OrderRow};
pub use paper_batch::{PAPER_LINES_MAX, PaperBatch};
pub use paper_box::{
    PaperBox, PaperDrop, PaperLeak, PaperRefusal, PaperSheet, PaperWait, PaperWalk, PaperWhy,
};
pub use paper_entered::{PaperEntered, paper_hash};
pub use person::{Person, Seal, SignOff};
pub use picture::{COPY_BYTES_MAX, MediaType, PICTURE_BYTES_MAX, PICTURES_MAX, Picture, PictureOf};
pub use refusal::{Invariant, NotedFigure, PictureRule, Refusal};
pub use search::{CountLine, CountTaken, SearchPlace};
pub use sight::Sight;
pub use state::{BankState, Foreseen, JobPhase, JobState, TimedEvent};
pub use step::{Caution, Step};
pub use swap::Compartment;
pub use take_in::{HeardAt, Reading, Smoke, TakeIn};
pub use valve::{STAGES, Stage, ValveState};
pub use view::{LOSS_LIMIT_PERCENT, LeakReading};
