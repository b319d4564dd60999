//! Time to go, with the range in which four of five jobs end.
//!
//! From four valves on the job's own times decide: a learning curve with a robust
//! slope, and a residual bootstrap (Efron and Tibshirani, "An Introduction to the
//! Bootstrap", 1993, ch. 9; from memory) that draws both the curve again and the
//! valves to come. Before that the shop's finished jobs on the same layout decide,
//! and without those only a rough guess or the handling minutes can be given.

use serde::{Deserialize, Serialize};

use super::dice::Dice;
use super::learning::{LearningCurve, exponent, log_points};
use super::robust::quantile;
use super::scatter::Scatter;

/// From so many timed valves on, the job's own times decide.
pub const OWN_TIMES_MIN: usize = 4;

/// The seed of the bootstrap: equal questions get equal answers on every tablet.
pub const FORECAST_SEED: u64 = 0x7261_795A_6572_6F00;

/// How often the bootstrap draws.
const DRAWS: usize = 400;

/// How often a curve with a slope that is not believed is drawn anew.
const REDRAWS_MAX: usize = 8;

/// The ends of the range: one job in ten is over sooner, one in ten later.
const LOW_QUANTILE: f64 = 0.1;
const HIGH_QUANTILE: f64 = 0.9;

/// With fewer finished jobs than this their own spread says little, and jobs are
/// taken to differ by up to [`ASSUMED_LEVEL_SPREAD`] as well.
const JOBS_WITH_SPREAD: usize = 4;

/// Assumed: how far the level of a job may lie from another's, in natural
/// logarithms (0.3 is a factor of 1.35), while nothing measured says so.
const ASSUMED_LEVEL_SPREAD: f64 = 0.3;

/// Assumed: how far single valves scatter about their curve, likewise.
const ASSUMED_VALVE_SPREAD: f64 = 0.4;

/// Assumed: learning between these rates while nothing measured says so.
const ASSUMED_RATES: (f64, f64) = (0.75, 0.95);

/// What is known of the job.
#[derive(Clone, Copy, Debug)]
pub struct ForecastQuestion<'a> {
    /// Working minutes of each finished valve, in the order done, pauses left out. A
    /// value that is not from 0.01 to 10080 (a week) counts as a valve without a time.
    pub valve_minutes: &'a [f64],
    /// Valves that are not finished.
    pub valves_left: usize,
    /// Minutes still to be spent on turns, bank changes and adaptor changes, as far
    /// as `valve_minutes` does not contain such time already. What is negative or not finite is 0.
    pub handling_minutes_left: f64,
    /// What is leaned on until the job's own times suffice.
    pub fallback: Fallback<'a>,
    /// Seed of the draws, [`FORECAST_SEED`] unless a test wants another.
    pub seed: u64,
}

/// What the shop knows from before.
#[derive(Clone, Copy, Debug, Default)]
pub struct Fallback<'a> {
    /// The valve minutes of each finished job on the same layout, in the order done.
    pub finished_jobs: &'a [Vec<f64>],
}

/// How a forecast was come by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// The job's own valve times.
    OwnTimes {
        /// How many of them.
        valves: usize,
    },
    /// The shop's finished jobs on the same layout, brought to this job's pace.
    FinishedJobs {
        /// How many jobs.
        jobs: usize,
        /// How many valves of this job were timed.
        valves: usize,
    },
    /// One to three valves and assumed learning: rough.
    FirstValves {
        /// How many of them.
        valves: usize,
    },
    /// The layout's handling minutes alone; how long a valve takes is not known.
    HandlingAlone,
    /// No valve is left, only handling.
    NoValveLeft,
}

/// Minutes of work to go; pauses come on top.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Forecast {
    /// As likely to be over sooner as later; with [`Basis::HandlingAlone`] a floor.
    pub about_min: f64,
    /// One job in ten is over sooner.
    pub low_min: f64,
    /// One job in ten takes longer; `None` where nothing supports an upper end.
    pub high_min: Option<f64>,
    /// How it was come by.
    pub basis: Basis,
}

/// The time to go, see the head of this file. The same question always gets the same answer.
/// # Examples
/// Six valves are timed and six are left: the job's own pace decides.
/// ```
/// use trayzero_core::plan::{Basis, FORECAST_SEED, Fallback, ForecastQuestion, forecast};
///
/// let to_go = forecast(&ForecastQuestion {
///     valve_minutes: &[14.0, 12.5, 12.0, 11.0, 10.5, 10.5],
///     valves_left: 6,
///     handling_minutes_left: 12.0,
///     fallback: Fallback::default(),
///     seed: FORECAST_SEED,
/// });
/// assert_eq!(to_go.basis, Basis::OwnTimes { valves: 6 });
/// assert!(to_go.low_min <= to_go.about_min && Some(to_go.about_min) <= to_go.high_min);
/// assert!((60.0..90.0).contains(&to_go.about_min));
/// ```
pub fn forecast(question: &ForecastQuestion<'_>) -> Forecast {
    let handling = match question.handling_minutes_left {
        minutes if minutes.is_finite() => minutes.max(0.0),
        _ => 0.0,
    };
    if question.valves_left == 0 {
        return Forecast {
            about_min: handling,
            low_min: handling,
            high_min: Some(handling),
            basis: Basis::NoValveLeft,
        };
    }
    let mut dice = Dice::new(question.seed);
    let own = log_points(question.valve_minutes);
    let drawn = draw_own(question, &own, &mut dice)
        .or_else(|| draw_finished_jobs(question, &own, &mut dice))
        .or_else(|| draw_first_valves(question, &own, &mut dice));
    let summary = drawn.and_then(|(minutes, basis)| {
        Some(Forecast {
            about_min: handling + quantile(&minutes, 0.5)?,
            low_min: handling + quantile(&minutes, LOW_QUANTILE)?,
            high_min: Some(handling + quantile(&minutes, HIGH_QUANTILE)?),
            basis,
        })
    });
    summary.unwrap_or(Forecast {
        about_min: handling,
        low_min: handling,
        high_min: None,
        basis: Basis::HandlingAlone,
    })
}

/// Natural logarithms of the numbers of the valves to come.
fn to_come(question: &ForecastQuestion<'_>) -> Vec<f64> {
    let done = question.valve_minutes.len();
    (done + 1..=done + question.valves_left)
        .map(|unit| (unit as f64).ln())
        .collect()
}

/// Minutes of the valves to come along a curve, each with a residual of its own.
fn run_on(curve: LearningCurve, to_come: &[f64], mut residual: impl FnMut() -> f64) -> f64 {
    to_come
        .iter()
        .map(|ln_unit| curve.minutes(*ln_unit, residual()))
        .sum()
}

type Drawn = (Vec<f64>, Basis);

/// Residual bootstrap on the job's own times: in each draw the scatter, then the
/// curve, then every valve to come.
fn draw_own(question: &ForecastQuestion<'_>, own: &[(f64, f64)], dice: &mut Dice) -> Option<Drawn> {
    if own.len() < OWN_TIMES_MIN {
        return None;
    }
    let curve = LearningCurve::fit_freely(own)?;
    let scatter = Scatter::about(curve, own)?;
    let to_come = to_come(question);
    let mut minutes = Vec::with_capacity(DRAWS);
    for _ in 0..DRAWS {
        let width = scatter.draw_width(dice);
        let redrawn = redraw(curve, own, || width * scatter.draw(dice))?;
        minutes.push(run_on(redrawn, &to_come, || width * scatter.draw(dice)));
    }
    let valves = own.len();
    Some((minutes, Basis::OwnTimes { valves }))
}

/// Draws the points of a curve again and fits them. A slope that nobody is believed to
/// have is drawn anew, so that not all of those end at the border; after
/// [`REDRAWS_MAX`] the nearest believed one is taken.
fn redraw(
    curve: LearningCurve,
    points: &[(f64, f64)],
    mut residual: impl FnMut() -> f64,
) -> Option<LearningCurve> {
    let mut again = points.to_vec();
    let mut redrawn = curve;
    for _ in 0..REDRAWS_MAX {
        for (x, y) in &mut again {
            *y = curve.level + curve.slope * *x + residual();
        }
        redrawn = LearningCurve::fit_freely(&again)?;
        if redrawn.is_believed() {
            break;
        }
    }
    redrawn.brought_in(&again)
}

/// Draws a finished job's curve, brought to this job's pace, and pooled residuals.
fn draw_finished_jobs(
    question: &ForecastQuestion<'_>,
    own: &[(f64, f64)],
    dice: &mut Dice,
) -> Option<Drawn> {
    let mut curves = Vec::new();
    let mut residuals = Vec::new();
    for job in question.fallback.finished_jobs {
        let points = log_points(job);
        if points.len() < OWN_TIMES_MIN {
            continue;
        }
        let curve = LearningCurve::fit(&points)?;
        residuals.extend(Scatter::about(curve, &points)?.residuals);
        curves.push(curve);
    }
    if curves.is_empty() {
        return None;
    }
    let spread = if curves.len() < JOBS_WITH_SPREAD {
        ASSUMED_LEVEL_SPREAD
    } else {
        0.0
    };
    let to_come = to_come(question);
    let mut minutes: Vec<f64> = (0..DRAWS)
        .map(|_| {
            let mut curve = curves[dice.index(curves.len())];
            curve.level += dice.between(-spread, spread);
            curve.level += pace(curve, own);
            run_on(curve, &to_come, || dice.pick(&residuals))
        })
        .collect();
    if curves.len() >= JOBS_WITH_SPREAD {
        spread_for_the_next(&mut minutes, curves.len());
    }
    let basis = Basis::FinishedJobs {
        jobs: curves.len(),
        valves: own.len(),
    };
    Some((minutes, basis))
}

/// The next job differs from the centre of a few more than they differ from it
/// themselves: by the usual factor sqrt((n + 1) / (n - 1)), taken on the logarithms.
fn spread_for_the_next(minutes: &mut [f64], jobs: usize) {
    let factor = ((jobs + 1) as f64 / (jobs - 1) as f64).sqrt();
    let centre = minutes.iter().map(|m| m.ln()).sum::<f64>() / minutes.len() as f64;
    for drawn in minutes {
        *drawn = (centre + factor * (drawn.ln() - centre)).exp();
    }
}

/// How far this job's first valves move a curve: their mean residual, weighted
/// n / (n + 1), as if jobs scattered as much among each other as valves in a job.
fn pace(curve: LearningCurve, own: &[(f64, f64)]) -> f64 {
    curve.residuals(own).iter().sum::<f64>() / (own.len() + 1) as f64
}

/// A rough guess from one to three valves with assumed learning and scatter.
fn draw_first_valves(
    question: &ForecastQuestion<'_>,
    own: &[(f64, f64)],
    dice: &mut Dice,
) -> Option<Drawn> {
    if own.is_empty() {
        return None;
    }
    let to_come = to_come(question);
    let valves = own.len();
    let level_spread = ASSUMED_VALVE_SPREAD / (valves as f64).sqrt();
    let minutes = (0..DRAWS)
        .map(|_| {
            let slope = exponent(dice.between(ASSUMED_RATES.0, ASSUMED_RATES.1));
            let flat = LearningCurve { level: 0.0, slope };
            let mean = flat.residuals(own).iter().sum::<f64>() / valves as f64;
            let level = mean + dice.between(-level_spread, level_spread);
            run_on(LearningCurve { level, slope }, &to_come, || {
                dice.between(-ASSUMED_VALVE_SPREAD, ASSUMED_VALVE_SPREAD)
            })
        })
        .collect();
    Some((minutes, Basis::FirstValves { valves }))
}

#[cfg(test)]
#[path = "forecast_tests.rs"]
mod tests;
