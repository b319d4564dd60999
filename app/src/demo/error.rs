//! Why the demo shop cannot be made.

use thiserror::Error;
use trayzero_core::engine::ValveNameError;
use trayzero_core::job::Refusal;
use trayzero_core::journal::TimeError;
use trayzero_core::plan::OrderFault;

use super::DepotError;
use crate::data::crew::CodeError;
use crate::data::store::{ProposeError, StoreError};

/// Why the demo shop cannot be made. What comes from a disk names the file; anything
/// else means that the depot's file and the rules have drifted apart.
#[derive(Debug, Error)]
pub enum DemoError {
    /// The depot's file is faulty.
    #[error(transparent)]
    Depot(#[from] DepotError),
    /// A time in the depot's file is none.
    #[error("depot.json: {0}")]
    Time(#[from] TimeError),
    /// A valve in the depot's file is none.
    #[error("depot.json: {0}")]
    Valve(#[from] ValveNameError),
    /// A job of the depot has an engine that does not come with the program.
    #[error("depot.json: layout = \"{key}\": no such layout comes with the program")]
    Layout {
        /// The key as given.
        key: String,
    },
    /// The depot lacks a person or a job that the demo needs.
    #[error("depot.json: there is no {what}")]
    Missing {
        /// What is missing.
        what: &'static str,
    },
    /// A job cannot be played as described.
    #[error("depot.json: {vehicle}: {why}")]
    NotAsDescribed {
        /// The vehicle of the job.
        vehicle: String,
        /// What stands in the way.
        why: String,
    },
    /// The engine has no working order.
    #[error(transparent)]
    Order(#[from] OrderFault),
    /// The rules refuse a tap of the script.
    #[error("{} {}", .0.why(), .0.way_out())]
    Refused(Refusal),
    /// The data folder.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A person of the crew.
    #[error(transparent)]
    Code(#[from] CodeError),
    /// A tap could not be kept.
    #[error(transparent)]
    Propose(ProposeError),
    /// No scratch folder can be made.
    #[error("{}: no scratch folder for the demo shop can be made: {fault}", folder.display())]
    Scratch {
        /// The system's folder for such.
        folder: std::path::PathBuf,
        /// What the system said.
        fault: std::io::Error,
    },
}

impl From<ProposeError> for DemoError {
    fn from(error: ProposeError) -> Self {
        match error {
            ProposeError::Refused { refusal, .. } => DemoError::Refused(refusal),
            other => DemoError::Propose(other),
        }
    }
}
