//! The method before the present one, kept as the yardstick: a learning curve with a
//! robust slope and a residual bootstrap of the job's own valves; before the fourth valve
//! the shop's finished jobs on the same layout, and without those a rough guess.

use trayzero_core::plan::quantile;

// --- dice

/// A generator of numbers, fully fixed by its seed.
#[derive(Clone, Debug)]
struct Dice {
    state: u64,
}

impl Dice {
    fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }

    fn pick(&mut self, values: &[f64]) -> f64 {
        values.get(self.index(values.len())).copied().unwrap_or(0.0)
    }

    fn index(&mut self, count: usize) -> usize {
        ((self.unit() * count as f64) as usize).min(count.saturating_sub(1))
    }
}

// --- learning

/// The fastest learning that is believed: a rate of 70 %.
pub const LEARNING_RATE_MIN: f64 = 0.70;

/// The slowest: a rate of 100 %, which is no learning at all.
pub const LEARNING_RATE_MAX: f64 = 1.0;

/// The exponent of the learning curve for a rate from 0 to 1: log2(rate).
pub fn exponent(rate: f64) -> f64 {
    rate.log2()
}

/// A learning curve: minutes of valve n = exp(level + slope x ln n).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LearningCurve {
    pub level: f64,
    pub slope: f64,
}

impl LearningCurve {
    pub fn fit(points: &[(f64, f64)]) -> Option<Self> {
        Self::fit_freely(points)?.brought_in(points)
    }

    fn fit_freely(points: &[(f64, f64)]) -> Option<Self> {
        let slope = theil_sen(points)?;
        let level = level_for(points, slope)?;
        Some(Self { level, slope })
    }

    fn brought_in(self, points: &[(f64, f64)]) -> Option<Self> {
        if self.is_believed() {
            return Some(self);
        }
        let slope = believed(self.slope);
        let level = level_for(points, slope)?;
        Some(Self { level, slope })
    }

    fn is_believed(self) -> bool {
        believed(self.slope) == self.slope
    }

    fn minutes(self, ln_unit: f64, residual: f64) -> f64 {
        (self.level + self.slope * ln_unit + residual).exp()
    }

    fn residuals(self, points: &[(f64, f64)]) -> Vec<f64> {
        points
            .iter()
            .map(|(x, y)| y - self.level - self.slope * x)
            .collect()
    }
}

/// A slope brought into what is believed of a person's learning.
fn believed(slope: f64) -> f64 {
    slope.clamp(exponent(LEARNING_RATE_MIN), exponent(LEARNING_RATE_MAX))
}

fn level_for(points: &[(f64, f64)], slope: f64) -> Option<f64> {
    let levels: Vec<f64> = points.iter().map(|(x, y)| y - slope * x).collect();
    median(&levels)
}

/// Times of one valve that are believed, in minutes: from under a second to a week.
const VALVE_MINUTES: std::ops::RangeInclusive<f64> = 0.01..=10_080.0;

/// Points (ln unit, ln minutes) of the times of valves 1, 2, ... A time that is not
/// believed is left out, and its valve still counts.
fn log_points(valve_minutes: &[f64]) -> Vec<(f64, f64)> {
    valve_minutes
        .iter()
        .enumerate()
        .filter(|(_, minutes)| VALVE_MINUTES.contains(*minutes))
        .map(|(i, minutes)| (((i + 1) as f64).ln(), minutes.ln()))
        .collect()
}

// --- scatter

/// The quartiles of a normal distribution are so many standard deviations apart.
const QUARTILES_APART: f64 = 1.349;

/// Bandwidth of the smoothing at one residual, in standard deviations: two thirds of
/// Silverman's 0.9 ("Density Estimation", 1986; from memory), which is meant for
/// drawing a density and is too wide here.
const BANDWIDTH: f64 = 0.6;

/// A valve that took more than three times what its curve says was left lying without
/// a pause being noted; it is drawn as three times. ln 3.
const RESIDUAL_MAX: f64 = 1.098_612_288_668_109_8;

/// Residuals to draw from, in natural logarithms of minutes.
#[derive(Clone, Debug)]
struct Scatter {
    residuals: Vec<f64>,
    smoothing: f64,
    freedom: f64,
}

impl Scatter {
    fn about(curve: LearningCurve, points: &[(f64, f64)]) -> Option<Self> {
        let count = points.len() as f64;
        let freedom = (count - 2.0).max(1.0);
        // A fit with two free figures leaves residuals smaller than the errors.
        let widening = (count / freedom).sqrt();
        let mut residuals = curve.residuals(points);
        for residual in &mut residuals {
            *residual = (*residual * widening).clamp(-RESIDUAL_MAX, RESIDUAL_MAX);
        }
        let quartiles = quantile(&residuals, 0.75)? - quantile(&residuals, 0.25)?;
        Some(Self {
            smoothing: BANDWIDTH * count.powf(-0.2) * quartiles / QUARTILES_APART,
            freedom,
            residuals,
        })
    }

    fn draw(&self, dice: &mut Dice) -> f64 {
        dice.pick(&self.residuals) + self.smoothing * dice.normal()
    }

    fn draw_width(&self, dice: &mut Dice) -> f64 {
        let variance = 2.0 / (9.0 * self.freedom);
        let cube_root = 1.0 - variance + dice.normal() * variance.sqrt();
        // The least cube root keeps one odd draw from a spread eleven times too wide.
        cube_root.max(0.2).powf(-1.5)
    }
}

// --- forecast

/// From so many timed valves on, the job's own times decide.
const OWN_TIMES_MIN: usize = 4;

/// The seed of the bootstrap: equal questions get equal answers on every tablet.
const FORECAST_SEED: u64 = 0x7261_795A_6572_6F00;

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
struct ForecastQuestion<'a> {
    valve_minutes: &'a [f64],
    valves_left: usize,
    handling_minutes_left: f64,
    fallback: Fallback<'a>,
    seed: u64,
}

/// What the shop knows from before.
#[derive(Clone, Copy, Debug, Default)]
struct Fallback<'a> {
    finished_jobs: &'a [Vec<f64>],
}

/// How a forecast was come by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Basis {
    OwnTimes {
        /// How many of them.
        valves: usize,
    },
    FinishedJobs {
        /// How many jobs.
        jobs: usize,
        /// How many valves of this job were timed.
        valves: usize,
    },
    FirstValves {
        /// How many of them.
        valves: usize,
    },
    HandlingAlone,
    NoValveLeft,
}

/// Minutes of work to go; pauses come on top.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Forecast {
    about_min: f64,
    low_min: f64,
    high_min: Option<f64>,
    basis: Basis,
}

/// The time to go, see the head of this file. The same question always gets the same answer.
fn forecast(question: &ForecastQuestion<'_>) -> Forecast {
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

/// The middle value, or the mean of the two middle ones. `None` as for [`quantile`].
fn median(values: &[f64]) -> Option<f64> {
    quantile(values, 0.5)
}

/// The slope of Theil and Sen: the median of the slopes of all pairs of points
/// (x, y) with different x (Sen, J. Am. Stat. Assoc. 63, 1968). Up to 29 % of the
/// points may be odd without spoiling it. `None` without two different x, or if a
/// slope is no number.
pub fn theil_sen(points: &[(f64, f64)]) -> Option<f64> {
    let mut slopes = Vec::with_capacity(points.len() * points.len().saturating_sub(1) / 2);
    for (i, (x1, y1)) in points.iter().enumerate() {
        for (x2, y2) in &points[i + 1..] {
            if x1 != x2 {
                slopes.push((y2 - y1) / (x2 - x1));
            }
        }
    }
    median(&slopes)
}

/// Low end, middle and high end of the minutes to go.
pub fn range(own: &[f64], left: usize, finished_jobs: &[Vec<f64>]) -> (f64, f64, f64) {
    let said = forecast(&ForecastQuestion {
        valve_minutes: own,
        valves_left: left,
        handling_minutes_left: 0.0,
        fallback: Fallback { finished_jobs },
        seed: FORECAST_SEED,
    });
    let high = said.high_min.unwrap_or(said.about_min);
    (said.low_min, said.about_min, high)
}
