//! Minutes of the phases around the valves.
//!
//! Each phase has steps that last alike; the logarithm of a step's minutes is drawn for
//! each job about the shop's. What is assumed before any job counts as a few jobs, so a
//! shop's own hours take over as they come. A job that was quick in the phases behind it
//! is taken to be so, in part, in those to come.

use super::hours::{ByPhase, JobHours, WORK_PHASES, WorkLeft, WorkPhase};
use super::moments::Moments;

/// Assumed minutes of a step of each phase (common practice, no source).
const STEP_MINUTES: ByPhase = [3.5, 3.0, 5.0, 8.0, 4.0, 3.0, 6.0, 0.3];

/// Assumed variance of the logarithm between shops.
const BETWEEN_SHOPS: f64 = 0.36;
/// Assumed variance between the jobs of one shop, and as how many jobs that counts.
const BETWEEN_JOBS: f64 = 0.09;
const SPREAD_JOBS: f64 = 3.0;
/// Share of it that all phases of a job have in common: its pace.
const SHARE_IN_COMMON: f64 = 0.4;
/// Variance of single steps of one phase about their mean, in logarithms.
const BETWEEN_STEPS: f64 = 0.25;
/// A job on another engine, and one of other hands, says so much less.
const OTHER_ENGINE: f64 = 0.7;
/// Jobs in which nothing was lost, as which what is assumed of losses counts.
const LOSS_JOBS: f64 = 3.0;
/// Deviation of what one job loses, as a share of its mean: losses are rare and long.
const LOSS_SCATTER: f64 = 1.5;
/// Less than this was not timed.
const TIMED_MIN: f64 = 0.05;

/// Logarithm of the minutes of a step: what the shop's jobs say.
#[derive(Clone, Copy, Debug)]
struct StepMinutes {
    engine: usize,
    phase: usize,
    ln_minutes: f64,
}

/// What a shop knows of the phases around the valves.
#[derive(Clone, Debug)]
pub(super) struct Around {
    steps: Vec<StepMinutes>,
    engines: Vec<String>,
    /// Lost minutes a valve.
    lost: f64,
}

/// A phase as the shop expects it of the next job.
#[derive(Clone, Copy)]
struct Expected {
    ln_minutes: f64,
    /// How well the shop's own mean is known.
    mean_variance: f64,
    /// Between jobs.
    spread: f64,
}

impl Around {
    pub fn learn(past: &[&JobHours]) -> Self {
        let mut around = Self {
            steps: Vec::new(),
            engines: Vec::new(),
            lost: 0.0,
        };
        let lost = WorkPhase::Lost.index();
        let (mut minutes, mut valves) = (0.0, 0.0);
        for job in past {
            let engine = around.engines.iter().position(|e| *e == job.engine);
            let engine = engine.unwrap_or_else(|| {
                around.engines.push(job.engine.clone());
                around.engines.len() - 1
            });
            minutes += job.minutes[lost];
            valves += job.steps[lost];
            for phase in timed_phases() {
                if job.minutes[phase] > TIMED_MIN && job.steps[phase] > 0.0 {
                    around.steps.push(StepMinutes {
                        engine,
                        phase,
                        ln_minutes: (job.minutes[phase] / job.steps[phase]).ln(),
                    });
                }
            }
        }
        let usual = valves / past.len().max(1) as f64;
        let assumed = LOSS_JOBS * usual.max(1.0);
        around.lost = (STEP_MINUTES[lost] * assumed + minutes) / (assumed + valves);
        around
    }

    fn expected(&self, phase: usize, engine: Option<usize>) -> Expected {
        let assumed = STEP_MINUTES[phase].ln();
        let steps = || self.steps.iter().filter(move |s| s.phase == phase);
        let weight = |s: &StepMinutes| {
            if Some(s.engine) == engine {
                1.0
            } else {
                OTHER_ENGINE
            }
        };
        let count = steps().count() as f64;
        let own: f64 = steps().map(|s| s.ln_minutes).sum::<f64>() / count.max(1.0);
        let off: f64 = steps().map(|s| (s.ln_minutes - own).powi(2)).sum();
        let spread = (BETWEEN_JOBS * SPREAD_JOBS + off) / (SPREAD_JOBS + (count - 1.0).max(0.0));
        let mut precision = 1.0 / BETWEEN_SHOPS;
        let mut sum = assumed / BETWEEN_SHOPS;
        for step in steps() {
            let weight = weight(step) / spread;
            precision += weight;
            sum += weight * step.ln_minutes;
        }
        Expected {
            ln_minutes: sum / precision,
            mean_variance: 1.0 / precision,
            spread,
        }
    }

    /// Minutes left of every phase but the valves.
    pub fn minutes_left(&self, job: &JobHours, left: &WorkLeft) -> [Moments; WORK_PHASES] {
        let engine = self.engines.iter().position(|e| *e == job.engine);
        let expected: Vec<Expected> = (0..WORK_PHASES)
            .map(|phase| self.expected(phase, engine))
            .collect();
        let done = |phase: usize| job.steps[phase] - left.steps[phase];
        let is_timed = |phase: usize| done(phase) >= 1.0 && job.minutes[phase] > TIMED_MIN;
        // The pace of this job, from the phases behind it.
        let (mut off, mut count) = (0.0, 0.0);
        for phase in timed_phases().filter(|p| left.steps[*p] <= 0.0 && is_timed(*p)) {
            off += (job.minutes[phase] / done(phase)).ln() - expected[phase].ln_minutes;
            count += 1.0;
        }
        let common = SHARE_IN_COMMON;
        let known = (1.0 - common) + common * count;
        let pace = common * off / known;
        let mut all = [Moments::default(); WORK_PHASES];
        for phase in timed_phases().filter(|p| left.steps[*p] > 0.0) {
            let e = expected[phase];
            let between = e.spread * (1.0 - common * common * count / known);
            let (mut mean, mut variance) = (e.ln_minutes + pace, e.mean_variance + between);
            if is_timed(phase) {
                let steps = done(phase);
                let seen = (job.minutes[phase] / steps).ln();
                let gain = variance / (variance + BETWEEN_STEPS / steps);
                mean += gain * (seen - mean);
                variance *= 1.0 - gain;
            }
            all[phase] = lognormal(mean, variance, left.steps[phase]);
        }
        let lost = WorkPhase::Lost.index();
        let mean = self.lost * left.steps[lost];
        all[lost] = Moments {
            mean,
            variance: (LOSS_SCATTER * mean).powi(2),
        };
        all
    }
}

/// So many steps of a phase, the logarithm of whose minutes has this mean and variance.
fn lognormal(ln_mean: f64, ln_variance: f64, steps: f64) -> Moments {
    let step = (ln_mean + 0.5 * ln_variance).exp();
    let mean = steps * step;
    let together = mean * mean * (ln_variance.exp() - 1.0);
    Moments {
        mean,
        variance: together + steps * step * step * BETWEEN_STEPS,
    }
}

/// Phases whose steps are timed: all but the valves, which have a model of their own, and
/// what is lost.
fn timed_phases() -> impl Iterator<Item = usize> {
    let valves = WorkPhase::Valves.index();
    (0..WorkPhase::Lost.index()).filter(move |phase| *phase != valves)
}
