//! Forecasts that keep their own score.
//!
//! Once a job is over every forecast that stood while it went on is held against what
//! really happened, and the next ranges are made wider or narrower by that: conformal
//! prediction on the shop's own past (Vovk, Gammerman and Shafer, Algorithmic Learning in
//! a Random World, 2005; from memory). Until a shop has enough scores of its own, a few
//! that the model expects stand beside them.

use serde::{Deserialize, Serialize};

use super::hours::{JobHours, ValveToDo, WORK_PHASES, WorkLeft, WorkPhase};
use super::pace::ShopPace;

/// The ends of the range: one job in ten is over sooner, one in ten later.
const LOW: f64 = 0.1;
const HIGH: f64 = 0.9;

/// What the model expects: the middles of fifteen equal parts of the normal distribution
/// (tables of Abramowitz and Stegun; from memory), a tenth wider, for a model always
/// knows less than it thinks.
const EXPECTED: [f64; 7] = [1.834, 1.282, 0.967, 0.728, 0.524, 0.341, 0.168];
const WIDER: f64 = 1.1;

/// A score counts by how near its job was to the same place: in full at the same, nothing
/// from half a job away on.
const WEIGHT: f64 = 1.0;
const NEAR: f64 = 0.5;
/// A forecast further off than this says no more than that it was far off.
const FAR_OFF: f64 = 4.0;

/// Shares of the valves at which a finished job's forecasts are scored.
const SCORED_AT: [(usize, usize); 5] = [(1, 8), (1, 4), (1, 2), (3, 4), (1, 1)];

/// How one forecast turned out.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Score {
    /// Share of the job's working time that was behind it, 0 to 1.
    pub done: f64,
    /// How many deviations later than its middle the job ended; negative when sooner.
    pub off: f64,
    /// Whether the job ended inside the range that was said.
    pub inside: bool,
}

/// How many deviations below and above its middle the range ends at a place in a job.
pub(super) fn ends(scores: &[Score], done: f64) -> (f64, f64) {
    let mut points: Vec<(f64, f64)> = Vec::with_capacity(scores.len() + 15);
    points.push((0.0, 1.0));
    for expected in EXPECTED {
        points.extend([(-expected * WIDER, 1.0), (expected * WIDER, 1.0)]);
    }
    for score in scores {
        let weight = WEIGHT * (1.0 - ((score.done - done).abs() / NEAR).min(1.0));
        if weight > 0.0 {
            points.push((score.off.clamp(-FAR_OFF, FAR_OFF), weight));
        }
    }
    points.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    (quantile(&points, LOW), quantile(&points, HIGH))
}

/// A quantile of weighted points in rising order, between the middles of their weights.
fn quantile(points: &[(f64, f64)], share: f64) -> f64 {
    let wanted = share * points.iter().map(|p| p.1).sum::<f64>();
    let (mut before, mut last) = (0.0, (points[0].0, 0.0));
    for (value, weight) in points {
        let middle = before + weight / 2.0;
        if middle >= wanted {
            let part = if middle > last.1 {
                (wanted - last.1) / (middle - last.1)
            } else {
                0.0
            };
            return last.0 + (value - last.0) * part;
        }
        last = (*value, middle);
        before += weight;
    }
    last.0
}

/// Scores the forecasts of a finished job by what the shop knew before it.
pub fn scores_of(job: &JobHours, before: &ShopPace) -> Vec<Score> {
    let cuts = SCORED_AT
        .iter()
        .map(|(part, of)| (job.valves.len() * part).div_ceil(*of));
    let mut scores = Vec::new();
    let mut last = None;
    for valves in cuts.chain([0]) {
        if valves == 0 && valves < job.valves.len() && job.minutes[0] <= 0.0 {
            continue; // Nothing is known of what went before the valves.
        }
        if last.replace(valves) != Some(valves) {
            scores.extend(score_at(job, before, valves));
        }
    }
    scores
}

/// The forecast that stood when so many valves were verified; with none, before the job.
fn score_at(job: &JobHours, before: &ShopPace, valves: usize) -> Option<Score> {
    let (so_far, left) = cut(job, valves);
    let real = job.total() - so_far.total();
    if real <= 0.0 {
        return None;
    }
    let said = before.forecast(&so_far, &left);
    let off = (real.ln() - said.ln_middle) / said.ln_deviation.max(1e-3);
    Some(Score {
        done: so_far.total() / job.total(),
        off,
        inside: (said.low_min..=said.high_min).contains(&real),
    })
}

/// A finished job as it stood when so many valves were verified.
fn cut(job: &JobHours, valves: usize) -> (JobHours, WorkLeft) {
    let valves = valves.min(job.valves.len());
    let share = valves as f64 / job.valves.len().max(1) as f64;
    let mut so_far = JobHours {
        engine: job.engine.clone(),
        hands: job.hands.clone(),
        steps: job.steps,
        valves: job.valves[..valves].to_vec(),
        ..JobHours::default()
    };
    let mut steps = [0.0; WORK_PHASES];
    for phase in WorkPhase::ALL {
        let at = phase.index();
        let done = match phase {
            WorkPhase::TakeIn | WorkPhase::Prepare if valves > 0 => 1.0,
            WorkPhase::SetUp | WorkPhase::Lost => share,
            _ => 0.0,
        };
        so_far.minutes[at] = done * job.minutes[at];
        // A phase that left no time behind was not part of this job.
        if job.minutes[at] > 0.0 {
            steps[at] = (1.0 - done) * job.steps[at];
        }
    }
    so_far.minutes[WorkPhase::Valves.index()] = so_far.valves.iter().map(|v| v.minutes).sum();
    steps[WorkPhase::Valves.index()] = (job.valves.len() - valves) as f64;
    let now = so_far.valves.last().map(|v| (v.kind.day, v.kind.hand));
    let to_do = |valve: &super::ValveHours| {
        let mut kind = valve.kind;
        // Nights and other hands to come were not known.
        let (day, hand) = now.unwrap_or((0, job.valves[0].kind.hand));
        (kind.day, kind.hand) = (day, hand);
        ValveToDo {
            kind,
            stages_seen: 0,
        }
    };
    let left = WorkLeft {
        valves: job.valves[valves..].iter().map(to_do).collect(),
        steps,
    };
    (so_far, left)
}

/// Scores of jobs in the order in which they ended, each by what was known before it.
pub fn scores_of_all(past: &[&JobHours]) -> Vec<Vec<Score>> {
    let mut scores: Vec<Vec<Score>> = Vec::with_capacity(past.len());
    for (at, job) in past.iter().enumerate() {
        let known: Vec<Score> = scores.iter().flatten().copied().collect();
        scores.push(scores_of(job, &ShopPace::learn(&past[..at], &known)));
    }
    scores
}
