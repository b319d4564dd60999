//! The rules of the bay, without a window: engine layouts, the state machine of
//! the job, the parts ledger, the arithmetic of the bench, the working order and
//! the journal.
//!
//! Nothing in here reads a clock or draws a random number; both are handed in.
//! Files are touched in [`journal`] alone.

pub mod bench;
pub mod engine;
pub mod job;
pub mod journal;
pub mod parts;
pub mod phases;
pub mod plan;
pub mod record;
pub mod shop_log;
