//! The invented depot as its file describes it: crew, and one script a job.

use serde::Deserialize;
use trayzero::data::crew::Role;
use trayzero_core::engine::ValveName;
use trayzero_core::job::{Finding, HeardAt, Person, Reading, SearchPlace, Stage, TakeIn};

use super::ScriptError;

/// The embedded file.
const DEPOT_JSON: &str = include_str!("../../../assets/demo/depot.json");

/// Format of the file that this program reads.
const FORMAT: u32 = 1;

/// The depot.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Depot {
    format: u32,
    /// What the file says about itself.
    pub note: String,
    /// The invented town.
    pub town: String,
    /// The invented depot.
    pub depot: String,
    /// Who works there.
    pub crew: Vec<CrewCard>,
    /// One job each; a bay may come twice, once with a finished job.
    pub bays: Vec<BayScript>,
}

/// One person of the crew.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CrewCard {
    /// The name.
    pub name: String,
    /// What they do.
    pub role: Role,
    /// Their sign-off code. It is printed in the open, for it guards an invented crew.
    pub code: String,
}

/// One job: what is known of it and how far it is played.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BayScript {
    /// The bay.
    pub bay: String,
    /// The vehicle.
    pub vehicle: String,
    /// Key of a layout that comes with the program.
    pub layout: String,
    /// Who works in the bay.
    pub technician: Person,
    /// Time of the first entry, RFC 3339.
    pub began: String,
    /// Breakaway torque as measured, newton metres.
    #[serde(default)]
    pub breakaway_nm: Option<f64>,
    /// The take-in.
    pub take_in: TakeIn,
    /// Oil topped up before.
    #[serde(default)]
    pub top_ups: Vec<DemoTopUp>,
    /// Leak-down readings before and after the work.
    #[serde(default)]
    pub leaks: Vec<Leak>,
    /// What is found on valves, noted when their seals are renewed.
    #[serde(default)]
    pub findings: Vec<Finding>,
    /// When work rests.
    #[serde(default)]
    pub rests: Vec<Rest>,
    /// What else goes on.
    #[serde(default)]
    pub incidents: Vec<Incident>,
    /// How far the job is played.
    pub state: End,
}

/// Oil topped up.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DemoTopUp {
    /// Date, year-month-day.
    pub on: String,
    /// Odometer in kilometres.
    pub odometer_km: f64,
    /// Litres.
    pub litres: f64,
}

/// One leak-down reading.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Leak {
    /// Cylinder number.
    pub cylinder: u8,
    /// Before or after the work.
    pub when: Reading,
    /// Gauge pressure before the tester's orifice, bar.
    pub supply_bar: f64,
    /// Gauge pressure in the cylinder, bar.
    pub cylinder_bar: f64,
    /// Where the air is heard.
    pub heard: Vec<HeardAt>,
}

/// Work rests until a time, once so many valves are verified and nothing is open.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rest {
    /// How many valves are verified by then; 0 is after the take-in.
    pub verified: usize,
    /// Why.
    pub why: String,
    /// When work goes on, RFC 3339.
    pub until: String,
}

/// What goes on when a stage of a valve is seen.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Incident {
    /// The valve.
    pub valve: ValveName,
    /// The stage.
    pub stage: Stage,
    /// What goes on.
    pub what: DemoFinding,
}

/// Kinds of incidents.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum DemoFinding {
    /// One lock falls from the tray; a new one makes up for it.
    Dropped {
        /// Where it is found after the last valve.
        found_at: SearchPlace,
    },
    /// One lock is replaced by a new one.
    Replaced,
    /// One new seal is spoilt, a second one used.
    #[serde(rename = "nicked")]
    SealSpoiled,
    /// Something is noted, in words.
    Noted(String),
}

/// How far a job is played.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum End {
    /// Nothing but the take-in.
    TakeInOnly {},
    /// Some cylinders verified, in the middle of another one, air on.
    MidValveAirOn(Middle),
    /// The same, and a lock went astray on the way.
    LockAdrift(Middle),
    /// Every valve verified, every plug in, nothing aboard, no count taken.
    ReadyForCounts {},
    /// Finished.
    Closed {
        /// Who counted second.
        second: Person,
    },
}

impl End {
    /// The cylinder in the middle of which the job stops, if it does.
    pub fn middle(&self) -> Option<&Middle> {
        match self {
            End::MidValveAirOn(middle) | End::LockAdrift(middle) => Some(middle),
            End::TakeInOnly {} | End::ReadyForCounts {} | End::Closed { .. } => None,
        }
    }
}

/// A job in the middle of a cylinder.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Middle {
    /// Cylinders that are verified.
    pub cylinders_done: Vec<u8>,
    /// The cylinder in work.
    pub cylinder: u8,
    /// Its valves that have got past their followers, in the order worked.
    pub valves: Vec<ValveTarget>,
}

/// How far one valve has got.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ValveTarget {
    /// Its name in the cylinder, such as `exhaust 1`.
    pub valve: String,
    /// The last stage seen.
    pub stage: Stage,
    /// Locks that went astray when they came out.
    #[serde(default, rename = "strays")]
    pub locks_dropped: u8,
}

/// Reads the depot that comes with the program.
///
/// # Errors
/// [`ScriptError`], if the file that was built in is faulty.
pub fn depot() -> Result<Depot, ScriptError> {
    read(DEPOT_JSON)
}

fn read(json: &str) -> Result<Depot, ScriptError> {
    let depot: Depot = serde_json::from_str(json)?;
    if depot.format != FORMAT {
        let why = format!("depot.json: format = {}", depot.format);
        return Err(ScriptError::Other(why));
    }
    Ok(depot)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn the_embedded_depot_reads_whole() {
        let depot = depot().unwrap();
        assert_eq!(depot.town, "Marrowick");
        assert_eq!(depot.bays.len(), 5);
        assert_eq!(depot.crew.len(), 6);
        let last = depot.bays.last().unwrap();
        let second = Person::new("Joris");
        assert_eq!(last.state, End::Closed { second });
    }

    #[test]
    fn an_unknown_field_and_another_format_are_refused() {
        let unknown = DEPOT_JSON.replacen("\"town\"", "\"county\": \"\", \"town\"", 1);
        let fault = read(&unknown).unwrap_err().to_string();
        assert!(fault.contains("unknown field `county`"), "{fault}");
        let newer = DEPOT_JSON.replacen("\"format\": 1", "\"format\": 2", 1);
        let fault = read(&newer).unwrap_err().to_string();
        assert!(fault.contains("format = 2"), "{fault}");
        let kind = DEPOT_JSON.replacen("\"kind\": \"closed\"", "\"kind\": \"lost\"", 1);
        assert!(read(&kind).is_err());
    }
}
