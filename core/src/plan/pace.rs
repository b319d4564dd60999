//! What a shop has learned of its own hours.

use super::around::Around;
use super::fit::{Fit, NOISE, NOISE_VALVES, Run};
use super::hours::{JobHours, ValveKind, ValveToDo, WorkPhase};
use super::moments::{Ratio, believed};
use super::robust::median;
use super::score::Score;
use super::shape::{Point, Shape, Whitened, shapes};
use super::small::dot;
use super::spent::{self, EngineHours};

/// The valves of so many of the latest jobs are looked at one by one; the shop's pace
/// years ago says little.
pub const JOBS_LOOKED_AT: usize = 40;

/// So many rounds of expectation and maximisation settle the figures; fewer do for a first
/// look.
const ROUNDS: usize = 12;
const FIRST_ROUNDS: usize = 6;

/// A valve so many deviations off its like is odd, and left out of what the others tell.
const ODD_DEVIATIONS: f64 = 3.0;
/// Deviation of a normal distribution over its median absolute one.
const DEVIATION_OVER_MEDIAN: f64 = 1.4826;
/// A shape so much less likely than the best one, in logarithms, is not asked any more:
/// one job cannot make up for it.
const UNLIKELY: f64 = 12.0;

/// Assumed: a night after every 25th valve, and as how many valves that counts.
const NIGHT_VALVES: f64 = 25.0;
/// Assumed: one in 200 valves is worked by another hand than the one before it, and as how
/// many valves that counts.
const ONE_HAND_VALVES: f64 = 50.0;
const HAND_CHANGES: f64 = 0.25;

/// Assumed shares of the six stages in a valve's minutes (common practice, no source), and
/// as how many minutes that counts.
const STAGE_SHARES: [f64; 6] = [0.15, 0.15, 0.15, 0.25, 0.2, 0.1];
const STAGE_MINUTES: f64 = 60.0;

/// What a shop has learned of its hours, from all its jobs together. The same jobs always
/// give the same figures.
#[derive(Clone, Debug)]
pub struct ShopPace {
    pub(super) hands: Vec<String>,
    pub(super) engines: Vec<String>,
    pub(super) fits: Vec<Fit>,
    pub(super) ratio: Ratio,
    /// The chance that a night comes between two valves.
    pub(super) night_chance: f64,
    /// The chance that another hand takes over between two valves.
    pub(super) other_hand_chance: f64,
    stage_shares: [[f64; 6]; 2],
    pub(super) around: Around,
    pub(super) scores: Vec<Score>,
    /// Name of the engine of each job.
    jobs: Vec<String>,
    spent: Vec<EngineHours>,
}

/// A run of one hand within one job.
struct Stretch {
    hand: usize,
    engine: usize,
    /// Valves of the job before it.
    before: usize,
    points: Vec<Point>,
}

impl ShopPace {
    /// Learns from finished jobs, the latest last, and from the scores of the forecasts
    /// that stood while they went on.
    pub fn learn(past: &[&JobHours], scores: &[Score]) -> Self {
        Self::learn_beside(past, &[], scores)
    }

    /// Learns besides from other jobs that are under way: from what is whole of them.
    pub fn learn_beside(past: &[&JobHours], under_way: &[&JobHours], scores: &[Score]) -> Self {
        let begun: Vec<JobHours> = under_way.iter().map(|job| what_is_whole(job)).collect();
        let finished = &past[past.len().saturating_sub(JOBS_LOOKED_AT)..];
        let latest: Vec<&JobHours> = finished.iter().copied().chain(&begun).collect();
        let all: Vec<&JobHours> = past.iter().copied().chain(&begun).collect();
        let mut shop = Self {
            hands: names(latest.iter().flat_map(|job| &job.hands)),
            engines: names(latest.iter().map(|job| &job.engine)),
            fits: Vec::new(),
            ratio: Ratio::default(),
            night_chance: chance_between(&latest, (1.0, NIGHT_VALVES), |a, b| a.day != b.day),
            other_hand_chance: chance_between(&latest, (HAND_CHANGES, ONE_HAND_VALVES), |a, b| {
                a.hand != b.hand
            }),
            stage_shares: stage_shares(past),
            around: Around::learn(&all),
            scores: scores.to_vec(),
            jobs: past.iter().map(|job| job.engine.clone()).collect(),
            spent: spent::by_engine(past),
        };
        let mut stretches = shop.stretches(&latest);
        let odd = shop.leave_odd_out(&mut stretches);
        let mut best: Option<(f64, Ratio)> = None;
        for shape in shapes() {
            let runs = whiten(&stretches, &shape);
            let fit = Fit::of(&runs, shop.counts(), shape, ROUNDS);
            if best.is_none_or(|(likelihood, _)| fit.ln_likelihood > likelihood) {
                best = Some((fit.ln_likelihood, ratio_of(&runs, &fit, &odd)));
            }
            shop.fits.push(fit);
        }
        if let Some((likelihood, ratio)) = best {
            shop.ratio = ratio;
            let unlikely = likelihood - UNLIKELY;
            shop.fits.retain(|fit| fit.ln_likelihood > unlikely);
        }
        shop
    }

    /// How many finished jobs it rests on.
    pub fn jobs(&self) -> usize {
        self.jobs.len()
    }

    /// How many of them were on this engine.
    pub fn jobs_on(&self, engine: &str) -> usize {
        self.jobs.iter().filter(|job| *job == engine).count()
    }

    /// Scores of the forecasts that stood while those jobs went on.
    pub fn scores(&self) -> &[Score] {
        &self.scores
    }

    /// Where the time of those jobs went, engine by engine.
    pub fn spent(&self) -> &[EngineHours] {
        &self.spent
    }

    pub(super) fn hand(&self, name: &str) -> Option<usize> {
        self.hands.binary_search_by(|h| h.as_str().cmp(name)).ok()
    }

    pub(super) fn engine(&self, name: &str) -> Option<usize> {
        self.engines.binary_search_by(|e| e.as_str().cmp(name)).ok()
    }

    /// The share of a valve's minutes that its stages to come take.
    pub(super) fn share_left(&self, valve: ValveToDo) -> f64 {
        let side = usize::from(valve.kind.exhaust == Some(true));
        let shares = &self.stage_shares[side];
        let seen = usize::from(valve.stages_seen).min(shares.len());
        shares[seen..].iter().sum()
    }

    fn counts(&self) -> (usize, usize) {
        (self.hands.len(), self.engines.len())
    }

    fn stretches(&self, jobs: &[&JobHours]) -> Vec<Stretch> {
        let mut stretches: Vec<Stretch> = Vec::new();
        for job in jobs {
            let engine = self.engine(&job.engine).unwrap_or(0);
            let mut last = None;
            for (before, valve) in job.valves.iter().enumerate() {
                if last != Some(valve.kind.hand) {
                    stretches.push(Stretch {
                        hand: self.hand(job.hand_of(valve.kind)).unwrap_or(0),
                        engine,
                        before,
                        points: Vec::new(),
                    });
                    last = Some(valve.kind.hand);
                }
                let point = (valve.kind, believed(valve.minutes).map(f64::ln));
                if let Some(stretch) = stretches.last_mut() {
                    stretch.points.push(point);
                }
            }
        }
        stretches
    }

    /// A first look, after which valves far off their like do not count. Gives how far
    /// off they were, in logarithms.
    fn leave_odd_out(&self, stretches: &mut [Stretch]) -> Vec<f64> {
        let shape = Shape::PLAIN;
        let runs = whiten(stretches, &shape);
        let fit = Fit::of(&runs, self.counts(), shape, FIRST_ROUNDS);
        let off: Vec<f64> = residuals(&runs, &fit).map(f64::abs).collect();
        let Some(middle) = median(&off) else {
            return Vec::new();
        };
        let valves = off.len() as f64;
        let measured = (DEVIATION_OVER_MEDIAN * middle).powi(2) * valves;
        let deviation = ((measured + NOISE * NOISE_VALVES) / (valves + NOISE_VALVES)).sqrt();
        let mut odd = Vec::new();
        for (stretch, figures) in stretches.iter_mut().zip(&fit.runs) {
            for (at, (kind, minutes)) in stretch.points.iter_mut().enumerate() {
                let features = shape.features(stretch.before + at + 1, *kind);
                let Some(known) = *minutes else { continue };
                let off = known - dot(&features, figures);
                if off.abs() > ODD_DEVIATIONS * deviation {
                    odd.push(off);
                    *minutes = None;
                }
            }
        }
        odd
    }
}

fn whiten(stretches: &[Stretch], shape: &Shape) -> Vec<Run> {
    let run = |stretch: &Stretch| Run {
        hand: stretch.hand,
        engine: stretch.engine,
        white: Whitened::of(&stretch.points, stretch.before, shape),
    };
    stretches.iter().map(run).collect()
}

/// How far each valve lies off what its run's figures say, in logarithms.
fn residuals<'a>(runs: &'a [Run], fit: &'a Fit) -> impl Iterator<Item = f64> + 'a {
    runs.iter().zip(&fit.runs).flat_map(|(run, figures)| {
        let rows = run.white.rows.iter();
        rows.map(move |(features, minutes)| minutes - dot(features, figures))
    })
}

/// How many times its like a valve takes, odd ones included.
fn ratio_of(runs: &[Run], fit: &Fit, odd: &[f64]) -> Ratio {
    let all: Vec<f64> = residuals(runs, fit).collect();
    let mean_square = all.iter().map(|r| r * r).sum::<f64>() / all.len().max(1) as f64;
    // Figures fitted to a run leave residuals smaller than what they stand for.
    let widening = (fit.noise / mean_square.max(1e-9)).sqrt().clamp(1.0, 1.5);
    let mut ratio = Ratio::default();
    for off in all
        .iter()
        .map(|off| off * widening)
        .chain(odd.iter().copied())
    {
        ratio.add(off.exp());
    }
    ratio
}

/// What of a job under way tells others how long things take: its valves, and the phases
/// that lie behind the first of them.
fn what_is_whole(job: &JobHours) -> JobHours {
    let mut whole = JobHours {
        engine: job.engine.clone(),
        hands: job.hands.clone(),
        valves: job.valves.clone(),
        ..JobHours::default()
    };
    if !job.valves.is_empty() {
        for phase in [WorkPhase::TakeIn, WorkPhase::Prepare] {
            let at = phase.index();
            (whole.minutes[at], whole.steps[at]) = (job.minutes[at], job.steps[at]);
        }
    }
    whole
}

fn names<'a>(all: impl Iterator<Item = &'a String>) -> Vec<String> {
    let mut names: Vec<String> = all.cloned().collect();
    names.sort_unstable();
    names.dedup();
    names
}

/// The chance that something happens between two valves, from what is assumed (so many
/// times in so many valves) and from what the jobs have seen.
fn chance_between(
    jobs: &[&JobHours],
    assumed: (f64, f64),
    happens: impl Fn(&ValveKind, &ValveKind) -> bool,
) -> f64 {
    let (mut times, mut valves) = assumed;
    for pair in jobs.iter().flat_map(|job| job.valves.windows(2)) {
        valves += 1.0;
        times += f64::from(u8::from(happens(&pair[0].kind, &pair[1].kind)));
    }
    times / valves
}

fn stage_shares(jobs: &[&JobHours]) -> [[f64; 6]; 2] {
    std::array::from_fn(|side| {
        let mut minutes = STAGE_SHARES.map(|share| share * STAGE_MINUTES);
        for job in jobs {
            for (sum, own) in minutes.iter_mut().zip(&job.stage_minutes[side]) {
                *sum += own.max(0.0);
            }
        }
        let whole: f64 = minutes.iter().sum();
        minutes.map(|own| own / whole)
    })
}
