//! The demo shop: an invented depot. Its recorded taps go through the same state machine
//! and journal as a finger's.

mod calendar;
mod create;
mod error;
mod progress;
mod recorded;

pub use create::{DemoFolder, Moment, Played, create_demo_data, open_demo_folder, play_closed_job};
pub use error::DemoError;
pub use progress::lines;
pub use recorded::{CrewCard, RecordedJob, Recording, Tap, recording};
