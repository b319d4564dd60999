//! Minutes of the valves to come: for each shape the shop's figures are brought to this
//! job by its own valves (the filter of Kalman, 1960), and the sum of the valves left is
//! told by its mean and its variance.

use super::fit::Fit;
use super::hours::{JobHours, ValveKind, ValveToDo};
use super::moments::{Moments, Ratio, believed};
use super::pace::ShopPace;
use super::shape::FEATURES;
use super::small::{Matrix, dot, times};

/// Features, and the drift of the pace.
const STATE: usize = FEATURES + 1;

/// How often, and how wide, a valve takes quite another time than its like: a seal that
/// will not come off, an unnoted break. Densities on the logarithm: longer, shorter.
const ODD_LONGER: f64 = 0.018;
const ODD_SHORTER: f64 = 0.006;
/// Less than this a valve says nothing about its like.
const PLAIN_MIN: f64 = 0.3;
/// The shop's scatter counts as so many of this job's valves.
const NOISE_VALVES: f64 = 8.0;
/// What is assumed, what the shop has seen, and this job's own valves tell the mean and
/// the scatter of single valves; the first counts as so many valves, the second at most.
const ASSUMED_RATIOS: f64 = 8.0;
const SHOP_RATIOS_MAX: f64 = 40.0;

/// One shape brought to this job.
struct Brought {
    state: [f64; STATE],
    covariance: Matrix<STATE>,
    noise: f64,
    ln_likelihood: f64,
    /// How many times its like each valve took.
    ratio: Ratio,
}

/// Minutes of the valves left.
pub(super) fn minutes_left(shop: &ShopPace, job: &JobHours, left: &[ValveToDo]) -> Moments {
    if left.is_empty() {
        return Moments::default();
    }
    let shares: Vec<f64> = left.iter().map(|valve| shop.share_left(*valve)).collect();
    let told: Vec<(f64, Moments)> = shop
        .fits
        .iter()
        .map(|fit| {
            let brought = bring(shop, fit, job, left[0].kind);
            let likelihood = fit.ln_likelihood + brought.ln_likelihood;
            (likelihood, sum_of(shop, fit, &brought, job, left, &shares))
        })
        .collect();
    let most = told.iter().map(|t| t.0).fold(f64::NEG_INFINITY, f64::max);
    let weight = |t: &(f64, Moments)| (t.0 - most).exp();
    let whole: f64 = told.iter().map(weight).sum();
    let mean = told.iter().map(|t| weight(t) * t.1.mean).sum::<f64>() / whole;
    let variance = told
        .iter()
        .map(|t| weight(t) * (t.1.variance + (t.1.mean - mean).powi(2)))
        .sum::<f64>();
    Moments {
        mean,
        variance: variance / whole,
    }
}

/// Twice: the first pass tells how much this job's valves scatter, the second uses it.
fn bring(shop: &ShopPace, fit: &Fit, job: &JobHours, next: ValveKind) -> Brought {
    let first = filter(shop, fit, job, next, fit.noise);
    filter(shop, fit, job, next, first.noise)
}

fn filter(shop: &ShopPace, fit: &Fit, job: &JobHours, next: ValveKind, noise: f64) -> Brought {
    let mut brought = begin(shop, fit, job, next, noise);
    let drift = fit.shape.drift * noise;
    let (mut squares, mut plain) = (0.0, 0.0);
    let mut last: Option<ValveKind> = None;
    for (at, valve) in job.valves.iter().enumerate() {
        step(fit, &mut brought, last, valve.kind, drift);
        if let Some(before) = last {
            change_hands(shop, fit, &mut brought, job, before, valve.kind);
        }
        last = Some(valve.kind);
        let Some(minutes) = believed(valve.minutes) else {
            continue;
        };
        let features = with_drift(fit.shape.features(at + 1, valve.kind), 1.0);
        let gain = times(&brought.covariance, &features);
        let variance = noise + dot(&gain, &features);
        let off = minutes.ln() - dot(&brought.state, &features);
        let density =
            (-0.5 * off * off / variance).exp() / (std::f64::consts::TAU * variance).sqrt();
        let odd = if off > 0.0 { ODD_LONGER } else { ODD_SHORTER };
        // The chance that the valve is like the others; an odd one hardly counts.
        let like = (density / (density + odd)).max(0.02);
        brought.ln_likelihood += (density + odd).ln();
        if like >= PLAIN_MIN {
            squares += off * off / variance;
            plain += 1.0;
            brought.ratio.add((off * (noise / variance).sqrt()).exp());
        } else {
            brought.ratio.add(off.exp());
        }
        let variance = variance + noise * (1.0 / like - 1.0);
        for a in 0..STATE {
            brought.state[a] += gain[a] * off / variance;
            for b in 0..STATE {
                brought.covariance[a][b] -= gain[a] * gain[b] / variance;
            }
        }
    }
    if let Some(before) = last {
        change_hands(shop, fit, &mut brought, job, before, next);
    }
    let wider = (NOISE_VALVES + squares) / (NOISE_VALVES + plain);
    brought.noise = if noise == fit.noise {
        noise * wider.clamp(0.3, 4.0)
    } else {
        noise
    };
    brought
}

/// What is known before the first valve.
fn begin(shop: &ShopPace, fit: &Fit, job: &JobHours, next: ValveKind, noise: f64) -> Brought {
    let mut state = [0.0; STATE];
    let mut covariance = [[0.0; STATE]; STATE];
    for k in 0..FEATURES {
        state[k] = fit.mean[k];
        covariance[k][..FEATURES].copy_from_slice(&fit.mean_covariance[k]);
        covariance[k][k] += fit.spread[k];
    }
    let first = job.valves.first().map_or(next, |v| v.kind);
    let hand = fit.hands.level(shop.hand(job.hand_of(first)));
    let engine = fit.engines.level(shop.engine(&job.engine));
    state[0] += hand.0 + engine.0;
    covariance[0][0] += hand.1 + engine.1;
    Brought {
        state,
        covariance,
        noise,
        ln_likelihood: 0.0,
        ratio: Ratio::default(),
    }
}

/// From one valve to the next the drift fades; after a night it begins anew.
fn step(fit: &Fit, brought: &mut Brought, last: Option<ValveKind>, kind: ValveKind, drift: f64) {
    let keep = if fit.shape.begins_anew(last, kind) {
        0.0
    } else {
        fit.shape.keep
    };
    brought.state[FEATURES] *= keep;
    for k in 0..FEATURES {
        brought.covariance[k][FEATURES] *= keep;
        brought.covariance[FEATURES][k] *= keep;
    }
    let faded = &mut brought.covariance[FEATURES][FEATURES];
    *faded = keep * keep * *faded + (1.0 - keep * keep) * drift;
}

/// Another hand has another level, and what was learned of the first says less of it.
fn change_hands(
    shop: &ShopPace,
    fit: &Fit,
    brought: &mut Brought,
    job: &JobHours,
    before: ValveKind,
    now: ValveKind,
) {
    if before.hand == now.hand {
        return;
    }
    let from = fit.hands.level(shop.hand(job.hand_of(before)));
    let to = fit.hands.level(shop.hand(job.hand_of(now)));
    brought.state[0] += to.0 - from.0;
    brought.covariance[0][0] += from.1 + to.1 + 0.5 * fit.spread[0];
}

fn with_drift(features: [f64; FEATURES], drift: f64) -> [f64; STATE] {
    let mut all = [drift; STATE];
    all[..FEATURES].copy_from_slice(&features);
    all
}

/// A valve left as the sum sees it.
struct Coming {
    features: [f64; STATE],
    /// Covariance times features.
    gain: [f64; STATE],
    mean: f64,
    variance: f64,
    /// Valves of one group drift together.
    group: usize,
    /// The chance that another hand works on it.
    other_hand: f64,
}

/// How far another hand's level lies off that of the one at work.
struct OtherHand {
    mean: f64,
    square: f64,
}

impl OtherHand {
    /// The shop's other hands, and one more whom it has not seen yet.
    fn of(shop: &ShopPace, fit: &Fit, job: &JobHours, now: ValveKind) -> Self {
        let own = shop.hand(job.hand_of(now));
        let (own_level, own_variance) = fit.hands.level(own);
        let (mut sum, mut squares, mut count) = (0.0, 0.0, 0.0);
        let others = (0..=fit.hands.levels.len()).filter(|hand| Some(*hand) != own);
        for (level, variance) in others.map(|hand| fit.hands.level(Some(hand))) {
            let off = level - own_level;
            sum += off;
            squares += off * off + variance + own_variance;
            count += 1.0;
        }
        Self {
            mean: sum / count,
            square: squares / count + 0.5 * fit.spread[0],
        }
    }

    /// Covariance of two valves, the first of which comes sooner.
    fn covariance(&self, sooner: f64, later: f64) -> f64 {
        sooner * (self.square - self.mean * self.mean * later)
    }
}

/// Mean and variance of the sum of all valves left: each is lognormal, and they hang
/// together by the figures of the job and by the drift.
fn sum_of(
    shop: &ShopPace,
    fit: &Fit,
    brought: &Brought,
    job: &JobHours,
    left: &[ValveToDo],
    shares: &[f64],
) -> Moments {
    let ratio = ratio_of(shop, fit, brought);
    let other = OtherHand::of(shop, fit, job, left[0].kind);
    let keep = fit.shape.keep * (1.0 - shop.night_chance);
    let drift = fit.shape.drift * brought.noise;
    let mut coming = coming(fit, brought, job, left, keep, drift);
    let mut own_hand = 1.0;
    for valve in &mut coming {
        own_hand *= 1.0 - shop.other_hand_chance;
        valve.other_hand = 1.0 - own_hand;
        valve.mean += other.mean * valve.other_hand;
        valve.variance += other.covariance(valve.other_hand, valve.other_hand);
    }
    let means: Vec<f64> = coming
        .iter()
        .zip(shares)
        .map(|(valve, share)| share * ratio.mean * (valve.mean + 0.5 * valve.variance).exp())
        .collect();
    let single = ratio.variance / (ratio.mean * ratio.mean);
    let mut variance = 0.0;
    for (i, valve) in coming.iter().enumerate() {
        variance += means[i] * means[i] * (valve.variance.exp() * (1.0 + single) - 1.0);
        let mut together = drift;
        for j in (0..i).rev() {
            let sooner = &coming[j];
            let mut covariance = dot(&sooner.features, &valve.gain)
                + other.covariance(sooner.other_hand, valve.other_hand);
            if sooner.group == valve.group {
                together *= keep;
                covariance +=
                    together - drift * valve.features[FEATURES] * sooner.features[FEATURES];
            }
            variance += 2.0 * means[i] * means[j] * (covariance.exp() - 1.0);
        }
    }
    Moments {
        mean: means.iter().sum(),
        variance,
    }
}

fn coming(
    fit: &Fit,
    brought: &Brought,
    job: &JobHours,
    left: &[ValveToDo],
    keep: f64,
    drift: f64,
) -> Vec<Coming> {
    let mut last = job.valves.last().map(|v| v.kind);
    let (mut kept, mut group) = (1.0, 0);
    let each = left.iter().enumerate().map(|(at, valve)| {
        if fit.shape.begins_anew(last, valve.kind) {
            (kept, group) = (0.0, group + 1);
        } else {
            kept *= keep;
        }
        last = Some(valve.kind);
        let features = fit.shape.features(job.valves.len() + at + 1, valve.kind);
        let features = with_drift(features, kept);
        let gain = times(&brought.covariance, &features);
        Coming {
            features,
            gain,
            mean: dot(&brought.state, &features),
            variance: dot(&gain, &features) + drift * (1.0 - kept * kept),
            group,
            other_hand: 0.0,
        }
    });
    each.collect()
}

/// How many times its like a single valve takes: what is assumed (with rare slow valves),
/// what the shop has seen, and what this job has.
fn ratio_of(shop: &ShopPace, fit: &Fit, brought: &Brought) -> Moments {
    let scale = brought.noise / fit.noise;
    let seen = shop.ratio.moments();
    let mean = 1.0 + (seen.mean - 1.0) * scale;
    let squares = seen.variance * scale + mean * mean;
    let own = &brought.ratio;
    let weight = shop.ratio.count.min(SHOP_RATIOS_MAX);
    let all = ASSUMED_RATIOS + weight + own.count;
    let assumed = (
        (0.5 * brought.noise).exp() * 1.02,
        (2.0 * brought.noise).exp() * 1.06,
    );
    let mean = (ASSUMED_RATIOS * assumed.0 + weight * mean + own.sum) / all;
    let squares = (ASSUMED_RATIOS * assumed.1 + weight * squares + own.squares) / all;
    Moments {
        mean,
        variance: (squares - mean * mean).max(1e-4 * mean * mean),
    }
}
