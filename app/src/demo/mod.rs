//! The demo shop: an invented depot, played tap by tap through the same state machine
//! and journal as a finger does.

mod calendar;
mod create;
mod depot;
mod error;
mod job_status;
mod pace;
mod player;
mod progress;
mod rehearsal;
pub mod technician;

use create::layout_of;
pub use create::{DemoFolder, Played, create_demo_data, open_demo_folder, play_closed_job};
pub use depot::{
    BayScript, CrewCard, DemoFinding, DemoRole, DemoTopUp, Depot, DepotError, End, Incident, Leak,
    Middle, Rest, ValveTarget, depot,
};
pub use error::DemoError;
pub use player::{Bay, Moment};
pub use progress::lines;

#[cfg(test)]
mod bays_tests;
