//! The demo shop: an invented depot, played tap by tap through the same state machine
//! and journal as a finger does.

mod calendar;
mod depot;
mod error;
mod furnish;
mod pace;
mod player;
mod rehearsal;
mod standing;
pub mod technician;
mod telling;

pub use depot::{
    BayScript, CrewCard, Depot, DepotError, End, Incident, Leak, Middle, Rest, Role, TopUp,
    ValveTarget, What, depot,
};
pub use error::DemoError;
use furnish::layout_of;
pub use furnish::{DemoFolder, Played, furnish, open_demo_folder, play_closed_job};
pub use player::{Bay, Moment};
pub use telling::lines;

#[cfg(test)]
mod bays_tests;
