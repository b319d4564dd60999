//! What a shop's jobs have in common, for one shape of their times.
//!
//! Each run of valves has a level, a learning, a side and a first-valve figure of its
//! own; those are drawn about the shop's, and levels besides about those of the hand and
//! of the engine. What is known little leans on what is known more (Gelman and others,
//! Bayesian Data Analysis, ch. 5 and 15; from memory). The variances are found by
//! expectation and maximisation (Dempster, Laird and Rubin 1977), held by what is
//! assumed before any job.

use super::shape::{FEATURES, Features, Shape, Whitened};
use super::small::{Matrix, dot, inverse, times};

/// Assumed before any job (common practice, no source): twelve minutes for the sixth
/// valve, learning of 87 %, sides alike, the first of a cylinder a tenth longer.
const ASSUMED: Features = [2.5, -0.20, 0.0, 0.10];
/// Variances of that assumption.
const ASSUMED_VARIANCE: Features = [1.0, 0.0144, 0.06, 0.06];
/// Assumed variances between the runs of one shop, and as how many runs they count.
const SPREAD: Features = [0.05, 0.008, 0.006, 0.01];
const SPREAD_RUNS: Features = [3.0, 4.0, 4.0, 4.0];
/// Assumed variance of a single valve, and as how many valves it counts.
pub(super) const NOISE: f64 = 0.045;
pub(super) const NOISE_VALVES: f64 = 4.0;
/// Assumed variance between hands and between engines, and as how many they count.
const GROUP: f64 = 0.03;
const GROUP_COUNT: f64 = 2.0;

/// A run of one hand on one engine, whitened.
pub(super) struct Run {
    pub hand: usize,
    pub engine: usize,
    pub white: Whitened,
}

/// How far the levels of groups lie off the shop's: hands, or engines.
#[derive(Clone, Debug)]
pub(super) struct Groups {
    /// Level and its variance, by group.
    pub levels: Vec<(f64, f64)>,
    /// Variance between groups.
    pub variance: f64,
}

impl Groups {
    fn new(count: usize) -> Self {
        Self {
            levels: vec![(0.0, GROUP); count],
            variance: GROUP,
        }
    }

    /// Level and variance of a group, or of one that was never seen.
    pub fn level(&self, group: Option<usize>) -> (f64, f64) {
        let known = group.and_then(|g| self.levels.get(g));
        known.copied().unwrap_or((0.0, self.variance))
    }

    /// Levels anew, from how far each run lies off, by its group.
    fn learn(&mut self, runs: &[(usize, f64)], spread: f64) {
        let mut sums = vec![(0.0, 0.0); self.levels.len()];
        for (group, off) in runs {
            sums[*group].0 += off;
            sums[*group].1 += 1.0;
        }
        for (level, (sum, count)) in self.levels.iter_mut().zip(sums) {
            let precision = count / spread + 1.0 / self.variance;
            *level = (sum / spread / precision, 1.0 / precision);
        }
        let squares: f64 = self.levels.iter().map(|(l, v)| l * l + v).sum();
        self.variance = (GROUP * GROUP_COUNT + squares) / (GROUP_COUNT + self.levels.len() as f64);
    }
}

/// What the shop's jobs have in common.
#[derive(Clone, Debug)]
pub(super) struct Fit {
    pub shape: Shape,
    pub mean: Features,
    /// How well that mean is known.
    pub mean_covariance: Matrix<FEATURES>,
    /// Variances between runs.
    pub spread: Features,
    /// Variance of a single valve.
    pub noise: f64,
    pub hands: Groups,
    pub engines: Groups,
    /// Logarithm of how likely the shop's times are.
    pub ln_likelihood: f64,
    /// Figures of each run.
    pub runs: Vec<Features>,
}

impl Fit {
    /// Finds it in so many rounds.
    pub fn of(runs: &[Run], counts: (usize, usize), shape: Shape, rounds: usize) -> Self {
        let mut fit = Self {
            shape,
            mean: ASSUMED,
            mean_covariance: diagonal(&ASSUMED_VARIANCE),
            spread: SPREAD,
            noise: NOISE,
            hands: Groups::new(counts.0),
            engines: Groups::new(counts.1),
            ln_likelihood: 0.0,
            runs: vec![ASSUMED; runs.len()],
        };
        for _ in 0..rounds {
            fit.round(runs);
        }
        fit.judge(runs);
        fit
    }

    /// The shop's figures as a run of that hand and engine begins with them.
    fn centre(&self, run: &Run) -> Features {
        let mut centre = self.mean;
        centre[0] += self.hands.levels[run.hand].0 + self.engines.levels[run.engine].0;
        centre
    }

    /// Covariance, its logarithmic determinant turned round, and figures of one run.
    fn run(&self, run: &Run) -> (Matrix<FEATURES>, f64, Features) {
        let centre = self.centre(run);
        let mut precision = run.white.squares.map(|row| row.map(|x| x / self.noise));
        let mut weighted = run.white.products.map(|x| x / self.noise);
        for k in 0..FEATURES {
            precision[k][k] += 1.0 / self.spread[k];
            weighted[k] += centre[k] / self.spread[k];
        }
        let (covariance, ln_determinant) = inverse(&precision);
        (covariance, ln_determinant, times(&covariance, &weighted))
    }

    fn round(&mut self, runs: &[Run]) {
        let mut variances = [0.0; FEATURES];
        let (mut squares, mut valves) = (0.0, 0.0);
        for (at, run) in runs.iter().enumerate() {
            let (covariance, _, figures) = self.run(run);
            self.runs[at] = figures;
            let trace: f64 = (0..FEATURES)
                .map(|k| dot(&run.white.squares[k], &covariance[k]))
                .sum();
            squares += residual_squares(&run.white, &figures) + trace;
            valves += run.white.rows.len() as f64;
            for k in 0..FEATURES {
                variances[k] += covariance[k][k];
            }
        }
        self.learn_mean(runs);
        self.learn_groups(runs);
        for (run, figures) in runs.iter().zip(&self.runs) {
            let centre = self.centre(run);
            for k in 0..FEATURES {
                variances[k] += (figures[k] - centre[k]).powi(2);
            }
        }
        for k in 0..FEATURES {
            self.spread[k] =
                (SPREAD[k] * SPREAD_RUNS[k] + variances[k]) / (SPREAD_RUNS[k] + runs.len() as f64);
        }
        self.noise = (NOISE * NOISE_VALVES + squares) / (NOISE_VALVES + valves);
    }

    fn learn_mean(&mut self, runs: &[Run]) {
        for k in 0..FEATURES {
            let mut sum = ASSUMED[k] / ASSUMED_VARIANCE[k];
            let mut precision = 1.0 / ASSUMED_VARIANCE[k];
            for (run, figures) in runs.iter().zip(&self.runs) {
                let off = self.centre(run)[k] - self.mean[k];
                sum += (figures[k] - off) / self.spread[k];
                precision += 1.0 / self.spread[k];
            }
            self.mean[k] = sum / precision;
        }
    }

    fn learn_groups(&mut self, runs: &[Run]) {
        let levels = |fit: &Self, of: &dyn Fn(&Run) -> (usize, f64)| -> Vec<(usize, f64)> {
            let each = runs.iter().zip(&fit.runs);
            each.map(|(run, figures)| {
                let (group, other) = of(run);
                (group, figures[0] - fit.mean[0] - other)
            })
            .collect()
        };
        let hands = levels(self, &|run| (run.hand, self.engines.levels[run.engine].0));
        self.hands.learn(&hands, self.spread[0]);
        let engines = levels(self, &|run| (run.engine, self.hands.levels[run.hand].0));
        self.engines.learn(&engines, self.spread[0]);
    }

    /// How likely the shop's times are, and how well its mean is known.
    fn judge(&mut self, runs: &[Run]) {
        let ln_spread: f64 = self.spread.iter().map(|s| s.ln()).sum();
        let mut precision = diagonal(&ASSUMED_VARIANCE.map(|v| 1.0 / v));
        self.ln_likelihood = 0.0;
        for run in runs {
            let (covariance, ln_determinant, figures) = self.run(run);
            let centre = self.centre(run);
            let off: f64 = (0..FEATURES)
                .map(|k| (figures[k] - centre[k]).powi(2) / self.spread[k])
                .sum();
            let squares = residual_squares(&run.white, &figures) / self.noise + off;
            let valves = run.white.rows.len() as f64;
            self.ln_likelihood -= 0.5
                * (run.white.ln_determinant
                    + valves * self.noise.ln()
                    + ln_determinant
                    + ln_spread
                    + squares);
            for a in 0..FEATURES {
                precision[a][a] += 1.0 / self.spread[a];
                for b in 0..FEATURES {
                    precision[a][b] -= covariance[a][b] / self.spread[a] / self.spread[b];
                }
            }
        }
        self.mean_covariance = inverse(&precision).0;
    }
}

fn diagonal(values: &Features) -> Matrix<FEATURES> {
    let mut matrix = [[0.0; FEATURES]; FEATURES];
    for k in 0..FEATURES {
        matrix[k][k] = values[k];
    }
    matrix
}

/// Squares that a run's figures leave unexplained, in units of a single valve's variance.
fn residual_squares(white: &Whitened, figures: &Features) -> f64 {
    let explained = dot(&times(&white.squares, figures), figures);
    (white.sum - 2.0 * dot(&white.products, figures) + explained).max(0.0)
}
