//! Why the demo shop cannot be made.

use thiserror::Error;

use crate::data::crew::CodeError;
use crate::data::store::{ProposeError, StoreError};

/// Why the demo shop cannot be made. What comes from a disk names the file; anything
/// else means that the recorded taps and the rules have drifted apart.
#[derive(Debug, Error)]
pub enum DemoError {
    /// The recorded taps do not read as such.
    #[error("recording.json: {0}")]
    Unreadable(#[from] serde_json::Error),
    /// A job has an engine that does not come with the program.
    #[error("recording.json: layout = \"{key}\": no such layout comes with the program")]
    Layout {
        /// The key as given.
        key: String,
    },
    /// The recorded taps lack something that the demo needs.
    #[error("recording.json: there is no {what}")]
    Missing {
        /// What is missing.
        what: &'static str,
    },
    /// The data folder.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A person of the crew.
    #[error(transparent)]
    Code(#[from] CodeError),
    /// A tap is refused, or cannot be kept.
    #[error(transparent)]
    Propose(#[from] ProposeError),
    /// The ends of a closed job's journals cannot be signed.
    #[error("the ends of the journals cannot be signed: {0}")]
    Ends(std::io::Error),
    /// No scratch folder can be made.
    #[error("{}: no scratch folder for the demo shop can be made: {fault}", folder.display())]
    Scratch {
        /// The system's folder for such.
        folder: std::path::PathBuf,
        /// What the system said.
        fault: std::io::Error,
    },
}
