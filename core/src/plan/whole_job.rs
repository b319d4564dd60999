//! The end of the whole job: minutes of all phases to go, with the range in which four of
//! five jobs end.

use serde::{Deserialize, Serialize};

use super::hours::{JobHours, WORK_PHASES, WorkLeft, WorkPhase};
use super::moments::Moments;
use super::pace::ShopPace;
use super::score;
use super::valves::minutes_left;

/// Phases of one job are quick or slow together, by so much (a correlation).
const TOGETHER: f64 = 0.3;

/// With fewer finished jobs in all a forecast is rough.
pub const ROUGH_BELOW_JOBS: usize = 2;

/// What a forecast rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Footing {
    /// Finished jobs of the shop.
    pub jobs: usize,
    /// Of these on the same engine.
    pub jobs_on_engine: usize,
    /// Timed valves of the job itself.
    pub valves: usize,
}

impl Footing {
    /// Whether the forecast is rough: the shop has hardly finished a job yet, so most of
    /// it rests on what is assumed.
    pub fn is_rough(&self) -> bool {
        self.jobs < ROUGH_BELOW_JOBS
    }
}

/// Minutes of work to go, to the end of the whole job. Rests come on top.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobForecast {
    /// As likely to be over sooner as later.
    pub about_min: f64,
    /// One job in ten is over sooner.
    pub low_min: f64,
    /// One job in ten takes longer.
    pub high_min: f64,
    /// Mean minutes of each phase to go, by [`WorkPhase::index`].
    pub phase_min: [f64; WORK_PHASES],
    /// What it rests on.
    pub footing: Footing,
    /// Logarithm of the middle before the score, and its deviation.
    pub(super) ln_middle: f64,
    pub(super) ln_deviation: f64,
}

impl ShopPace {
    /// The time to go of a job, see the head of this file. The same shop and the same job
    /// always get the same answer. Sources: Wright 1936 (learning); Fenton 1960 (sums of
    /// lognormal times; from memory); see [`score`](super::scores_of) for the range.
    pub fn forecast(&self, job: &JobHours, left: &WorkLeft) -> JobForecast {
        let mut phases = self.around.minutes_left(job, left);
        phases[WorkPhase::Valves.index()] = minutes_left(self, job, &left.valves);
        let whole = sum(&phases);
        let timed = |v: &&super::ValveHours| v.minutes > 0.0;
        let mut forecast = JobForecast {
            about_min: 0.0,
            low_min: 0.0,
            high_min: 0.0,
            phase_min: phases.map(|phase| phase.mean),
            footing: Footing {
                jobs: self.jobs(),
                jobs_on_engine: self.jobs_on(&job.engine),
                valves: job.valves.iter().filter(timed).count(),
            },
            ln_middle: 0.0,
            ln_deviation: 0.0,
        };
        if whole.mean <= 0.0 {
            return forecast;
        }
        // A sum of lognormal times is nearly lognormal (Fenton 1960).
        let ln_variance = (1.0 + whole.variance / (whole.mean * whole.mean)).ln();
        forecast.ln_middle = whole.mean.ln() - 0.5 * ln_variance;
        forecast.ln_deviation = ln_variance.sqrt();
        let behind = job.total();
        let done = behind / (behind + whole.mean);
        let (low, high) = score::ends(&self.scores, done);
        let at = |deviations: f64| (forecast.ln_middle + deviations * forecast.ln_deviation).exp();
        (forecast.about_min, forecast.low_min, forecast.high_min) = (at(0.0), at(low), at(high));
        forecast
    }
}

fn sum(phases: &[Moments]) -> Moments {
    let mut whole = Moments::default();
    for (at, phase) in phases.iter().enumerate() {
        whole.mean += phase.mean;
        whole.variance += phase.variance;
        for other in &phases[..at] {
            whole.variance += 2.0 * TOGETHER * (phase.variance * other.variance).sqrt();
        }
    }
    whole
}
