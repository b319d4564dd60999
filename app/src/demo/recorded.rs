//! The jobs of the demo shop as they were recorded, tap by tap.
//!
//! The script that they are recorded from stands beside the tests, which hold it against
//! this recording and make it anew.

use serde::{Deserialize, Serialize};
use trayzero_core::job::{Event, Person};

use super::DemoError;
use crate::data::crew::Role;

/// The recorded depot that comes with the program.
const RECORDING: &str = include_str!("../../../assets/demo/recording.json");

/// The crew of the demo shop, and its jobs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Recording {
    /// Who works there, the foreman first.
    pub crew: Vec<CrewCard>,
    /// One job each; a bay may come twice, once with a finished job.
    pub jobs: Vec<RecordedJob>,
}

/// One person of the crew.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CrewCard {
    /// The name.
    pub name: String,
    /// What they may do.
    pub role: Role,
    /// Their sign-off code. It is printed in the open, for it guards an invented crew.
    pub code: String,
}

/// One job. Its times are the demo shop's local time, milliseconds since 1970.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordedJob {
    /// The bay.
    pub bay: String,
    /// The vehicle.
    pub vehicle: String,
    /// Key of a layout that comes with the program.
    pub layout: String,
    /// Who works in the bay.
    pub technician: Person,
    /// When it was opened.
    pub opened_ms: i64,
    /// What was tapped after that.
    pub taps: Vec<Tap>,
}

/// The events of one tap.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tap {
    /// When.
    pub at_ms: i64,
    /// The rules refused it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub is_refused: bool,
    /// What was proposed. A dropped part that is found is whichever is adrift then.
    pub events: Vec<Event>,
}

impl RecordedJob {
    /// When it was tapped last.
    pub fn last_ms(&self) -> i64 {
        self.taps.last().map_or(self.opened_ms, |tap| tap.at_ms)
    }
}

/// Reads the recorded depot.
///
/// # Errors
/// [`DemoError::Unreadable`], if the file that was built in is faulty.
pub fn recording() -> Result<Recording, DemoError> {
    Ok(serde_json::from_str(RECORDING)?)
}
