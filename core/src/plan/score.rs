//! Forecasts that keep their own score.
//!
//! Once a job is over every forecast that stood while it went on is held against what
//! really happened, and the next ranges are made wider or narrower by that: conformal
//! prediction on the shop's own past (Vovk, Gammerman and Shafer, Algorithmic Learning in
//! a Random World, 2005; from memory). Until a shop has enough scores of its own, a few
//! that the model expects stand beside them.

use serde::{Deserialize, Serialize};

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
