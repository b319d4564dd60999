//! The walk of all states: breadth first over every event that a small engine knows,
//! within stated bounds. Two states are the same when everything that decides what may
//! happen next is the same; identities and times are forgotten.

mod bounds;
mod choices;
mod key;
mod nonsense;
mod search;

pub use bounds::Bounds;
pub use search::{Fault, Figures, walk};
