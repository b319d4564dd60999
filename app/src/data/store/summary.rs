//! What a list of jobs shows of each, and what later jobs learn from a finished one.

use std::path::Path;
use std::sync::Arc;

use serde::{Deserialize, Serialize};
use trayzero_core::bench::OilWent;
use trayzero_core::job::{Danger, JobPhase, JobState, SearchPlace};
use trayzero_core::journal::{JobFolder, Mark, read_summary, write_summary};
use trayzero_core::parts::Item;
use trayzero_core::phases::JobClock;
use trayzero_core::plan::JobHours;
use trayzero_core::record::follow_ups;
use trayzero_core::shop_log::Proofs;
use uuid::Uuid;

/// A few figures of one job.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobSummary {
    /// The vehicle, in the shop's words.
    pub vehicle: String,
    /// The customer's or the works order's number, where there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order_number: Option<String>,
    /// The bay.
    pub bay: String,
    /// The technician who has the bay.
    pub technician: String,
    /// Name of the engine layout.
    pub layout: String,
    /// How far the job as a whole is.
    pub phase: JobPhase,
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
    /// What to look at on the engine before they are resolved, each thing once.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub dangers: Vec<Danger>,
    /// Cylinders that the foreman has to look at, each with its loss in percent.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub foreman: Vec<(u8, f64)>,
    /// Whether a valve, a spring or air stands open. Older summaries do not tell it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stands_open: Option<bool>,
    /// Wall clock in milliseconds when the job was opened.
    pub started_ms: i64,
    /// Wall clock in milliseconds of the latest event.
    pub last_ms: i64,
    /// The tablet that the job was handed to last.
    pub holder: Option<Uuid>,
    /// Working minutes of each verified valve, in a summary that an older program wrote.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub valve_minutes: Vec<f64>,
    /// The hours of a job that is over.
    #[serde(default)]
    pub hours: Option<Arc<JobHours>>,
    /// How a job that is over ended. Older summaries do not tell it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ended: Option<Ended>,
    /// In a file: what the signatures in the job were held against.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub footing: String,
}

/// How a job ended, for the history of a shop.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ended {
    /// Wall clock in milliseconds when it was closed or stopped.
    pub at_ms: i64,
    /// What fell in it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub fell: Vec<Fell>,
    /// Somebody has seen the vehicle again, once it had left.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub followed: Option<FollowedOil>,
}

/// What is known of a vehicle that was seen again.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FollowedOil {
    /// Which way oil use has gone by the longest way since; `None` where that is not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub went: Option<OilWent>,
}

/// Something that fell once.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fell {
    /// What.
    pub item: Item,
    /// How many.
    pub count: u32,
    /// Where it was found; `None` where it never was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found_at: Option<SearchPlace>,
}

impl Ended {
    fn of(state: &JobState) -> Option<Self> {
        let fell = state.drops().iter().map(|drop| Fell {
            item: drop.item.clone(),
            count: drop.count,
            found_at: state.found_at(drop),
        });
        Some(Self {
            at_ms: state.ended_ms()?,
            fell: fell.collect(),
            followed: follow_ups(state).last().map(|(_, line)| FollowedOil {
                went: line.oil_went,
            }),
        })
    }
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
        let since_ms = state.air_since_ms(cylinder)?;
        Some(Self {
            cylinder,
            bar,
            since_ms,
        })
    }
}

/// What to look at on the engine, each thing once.
pub fn dangers_of(state: &JobState) -> Vec<Danger> {
    let mut dangers: Vec<Danger> = state.dangers().map(|(danger, _)| danger).collect();
    dangers.sort_unstable();
    dangers.dedup();
    dangers
}

impl JobSummary {
    /// The summary beside a job's journals, if it is of them as they are, and its signatures
    /// were held against the same people. One of a job under way that does not tell whether
    /// something stands open is not believed: nobody is to hear of a calm bay that is none.
    pub fn read(folder: &JobFolder, proofs: &Proofs) -> Option<Self> {
        let mut summary = read_summary::<Self>(folder)?;
        let footing = std::mem::take(&mut summary.footing);
        let is_told = summary.stands_open.is_some() || summary.phase.is_over();
        (is_told && footing == proofs.footing()).then_some(summary)
    }

    /// Whether a valve is unlocked, a spring is held or air is on, and the work goes on.
    pub fn is_open_under_way(&self) -> bool {
        !self.phase.is_over() && self.stands_open == Some(true)
    }

    /// Keeps it beside the job's journals as read up to these marks. It is only a short cut,
    /// so a disk that does not take it is no fault.
    pub fn keep(&self, folder: &Path, job: Uuid, marks: &[(Uuid, Mark)], proofs: &Proofs) {
        let kept = Self {
            footing: proofs.footing().to_owned(),
            ..self.clone()
        };
        let _ = write_summary(folder, job, marks, &kept);
    }

    /// The cylinder in which air may be on or not, while two tablets disagree about it.
    pub fn air_asked(&self) -> Option<u8> {
        self.airs_asked().next()
    }

    /// Each cylinder in which air may be on or not.
    pub fn airs_asked(&self) -> impl Iterator<Item = u8> {
        let asked = self.dangers.iter();
        asked.filter_map(|danger| danger.air_cylinder())
    }

    /// The figures of a state.
    pub fn of(state: &JobState) -> Self {
        let phase = state.phase();
        Self {
            vehicle: state.vehicle().to_owned(),
            order_number: state.order_number().map(str::to_owned),
            bay: state.bay().to_owned(),
            technician: state
                .technician()
                .map(ToString::to_string)
                .unwrap_or_default(),
            layout: state.layout().map(|l| l.name.clone()).unwrap_or_default(),
            phase,
            verified: state.verified_count(),
            valves: state.valves().count(),
            loose: state.loose(),
            aboard: state.aboard(),
            adrift: state.adrift(),
            air: AirOn::of(state),
            conflicts: state.open_conflicts().count(),
            dangers: dangers_of(state),
            foreman: state.foreman_waited_for().collect(),
            stands_open: Some(state.stands_open()),
            started_ms: state.started_ms(),
            last_ms: state.last_ms(),
            holder: state.holder(),
            valve_minutes: Vec::new(),
            hours: phase.is_over().then(|| Arc::new(JobClock::of(state).hours)),
            ended: Ended::of(state),
            footing: String::new(),
        }
    }

    /// The hours of a finished job, for a shop to learn from; those of an older summary
    /// know its valves alone. `None` for a job under way or not carried through, and for one of
    /// which a part was entered from paper.
    pub fn finished_hours(&self) -> Option<Arc<JobHours>> {
        if !self.phase.is_over() || self.verified != self.valves || self.valves == 0 {
            return None;
        }
        if self.hours.as_ref().is_some_and(|hours| !hours.is_timed()) {
            return None;
        }
        self.hours.clone().or_else(|| {
            let known = &self.valve_minutes;
            let hours = JobHours::of_valve_minutes(&self.layout, &self.technician, known);
            (!known.is_empty()).then(|| Arc::new(hours))
        })
    }
}
