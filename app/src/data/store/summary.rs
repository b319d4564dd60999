//! What a list of jobs shows of each, and what later jobs learn from a finished one.

use serde::{Deserialize, Serialize};
use trayzero_core::job::{JobPhase, JobState, STAGES, ValveState};
use uuid::Uuid;

/// A few figures of one job.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobSummary {
    /// The vehicle, in the shop's words.
    pub vehicle: String,
    /// The bay.
    pub bay: String,
    /// The technician who has the bay.
    pub technician: String,
    /// Name of the engine layout.
    pub layout: String,
    /// How far the job as a whole is.
    pub phase: Phase,
    /// Valves with all six stages seen.
    pub verified: usize,
    /// Valves of the engine.
    pub valves: usize,
    /// Parts in the tray.
    pub loose: u32,
    /// Kit in or on the engine.
    pub aboard: u32,
    /// Parts adrift.
    pub adrift: u32,
    /// Air that is on.
    pub air: Option<AirOn>,
    /// Conflicts that nobody has resolved yet.
    pub conflicts: usize,
    /// Wall clock in milliseconds when the job was opened.
    pub started_ms: i64,
    /// Wall clock in milliseconds of the latest event.
    pub last_ms: i64,
    /// The tablet that the job was handed to last.
    pub holder: Option<Uuid>,
    /// Working minutes of each verified valve in the order done.
    pub valve_minutes: Vec<f64>,
}

/// Air that is on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AirOn {
    /// In this cylinder.
    pub cylinder: u8,
    /// Gauge pressure, bar.
    pub bar: f64,
    /// Wall clock in milliseconds since when.
    pub since_ms: i64,
}

impl AirOn {
    fn of(state: &JobState) -> Option<Self> {
        let (cylinder, bar) = state.air_on()?;
        let since_ms = state.cylinder(cylinder)?.air_since_ms?;
        Some(Self {
            cylinder,
            bar,
            since_ms,
        })
    }
}

/// How far a job as a whole is, as files have it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum Phase {
    #[default]
    Unopened,
    Open,
    Paused,
    Closed,
    Stopped,
}

impl Phase {
    /// Whether the work is over.
    pub fn is_over(self) -> bool {
        matches!(self, Phase::Closed | Phase::Stopped)
    }
}

impl From<JobPhase> for Phase {
    fn from(phase: JobPhase) -> Self {
        match phase {
            JobPhase::Unopened => Self::Unopened,
            JobPhase::Open => Self::Open,
            JobPhase::Paused => Self::Paused,
            JobPhase::Closed => Self::Closed,
            JobPhase::Stopped => Self::Stopped,
        }
    }
}

impl JobSummary {
    /// The figures of a state.
    pub fn of(state: &JobState) -> Self {
        Self {
            vehicle: state.vehicle().to_owned(),
            bay: state.bay().to_owned(),
            technician: state
                .technician()
                .map(ToString::to_string)
                .unwrap_or_default(),
            layout: state.layout().map(|l| l.name.clone()).unwrap_or_default(),
            phase: state.phase().into(),
            verified: state.verified_count(),
            valves: state.valves().count(),
            loose: state.loose(),
            aboard: state.aboard(),
            adrift: state.adrift(),
            air: AirOn::of(state),
            conflicts: state.open_conflicts().count(),
            started_ms: state.started_ms(),
            last_ms: state.last_ms(),
            holder: state.holder(),
            valve_minutes: valve_minutes(state),
        }
    }
}

/// Working minutes of each verified valve, pauses left out, in the order done. Each
/// stretch of work counts for the valve whose stage ends it, so the way from valve to
/// valve counts in, and the preparation before the first stage does not. The valves of a
/// cylinder are verified together, once its air is off; that alone tells no time apart.
pub fn valve_minutes(state: &JobState) -> Vec<f64> {
    let valves: Vec<&ValveState> = state.valves().map(|(_, valve)| valve).collect();
    let mut stages: Vec<(i64, usize)> = Vec::new();
    for (index, valve) in valves.iter().enumerate() {
        let seen = usize::from(valve.stages_seen);
        stages.extend(valve.stage_work_ms[..seen].iter().map(|ms| (*ms, index)));
    }
    stages.sort_unstable();
    let mut minutes = vec![0.0; valves.len()];
    for pair in stages.windows(2) {
        let [(from, _), (until, valve)] = *pair else {
            continue;
        };
        minutes[valve] += (until - from) as f64 / 60_000.0;
    }
    let mut done: Vec<(i64, usize)> = valves
        .iter()
        .enumerate()
        .filter(|(_, valve)| valve.is_verified())
        .map(|(index, valve)| (valve.stage_work_ms[STAGES - 1], index))
        .collect();
    done.sort_unstable();
    done.into_iter().map(|(_, index)| minutes[index]).collect()
}
