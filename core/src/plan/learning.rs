//! Learning by doing: T. P. Wright, "Factors Affecting the Cost of Airplanes",
//! Journal of the Aeronautical Sciences 3 (1936). Each time the number of finished
//! valves doubles, the time of one falls to the same share, the learning rate.

use super::robust::{median, theil_sen};

/// The fastest learning that is believed: a rate of 70 %.
pub const LEARNING_RATE_MIN: f64 = 0.70;

/// The slowest: a rate of 100 %, which is no learning at all.
pub const LEARNING_RATE_MAX: f64 = 1.0;

/// The exponent of the learning curve for a rate from 0 to 1: log2(rate).
pub fn exponent(rate: f64) -> f64 {
    rate.log2()
}

/// Time of the unit of the given number (1, 2, ...) as a share of the first one's:
/// unit ^ log2(rate), with the rate from 0 to 1.
pub fn unit_factor(rate: f64, unit: usize) -> f64 {
    (unit as f64).powf(exponent(rate))
}

/// A learning curve: minutes of valve n = exp(level + slope x ln n).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LearningCurve {
    /// Natural logarithm of the first valve's minutes.
    pub level: f64,
    /// Exponent of the curve; from log2(0.7) to 0 when fitted.
    pub slope: f64,
}

impl LearningCurve {
    /// Fits points (ln unit, ln minutes): the slope of Theil and Sen brought into
    /// 70 to 100 % learning, then the median level. `None` without two different units.
    pub fn fit(points: &[(f64, f64)]) -> Option<Self> {
        Self::fit_freely(points)?.brought_in(points)
    }

    /// The same with whatever slope the points have.
    pub(super) fn fit_freely(points: &[(f64, f64)]) -> Option<Self> {
        let slope = theil_sen(points)?;
        let level = level_for(points, slope)?;
        Some(Self { level, slope })
    }

    /// The curve itself if its slope is believed, else the nearest believed one.
    pub(super) fn brought_in(self, points: &[(f64, f64)]) -> Option<Self> {
        if self.is_believed() {
            return Some(self);
        }
        let slope = believed(self.slope);
        let level = level_for(points, slope)?;
        Some(Self { level, slope })
    }

    /// Whether the slope lies within 70 to 100 % learning.
    pub(super) fn is_believed(self) -> bool {
        believed(self.slope) == self.slope
    }

    /// Minutes of the valve whose number has this natural logarithm, if its residual
    /// (the logarithm of its minutes over the curve's) is the one given.
    pub fn minutes(self, ln_unit: f64, residual: f64) -> f64 {
        (self.level + self.slope * ln_unit + residual).exp()
    }

    /// How far each point lies above the curve, in natural logarithms.
    pub fn residuals(self, points: &[(f64, f64)]) -> Vec<f64> {
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
pub(super) fn log_points(valve_minutes: &[f64]) -> Vec<(f64, f64)> {
    valve_minutes
        .iter()
        .enumerate()
        .filter(|(_, minutes)| VALVE_MINUTES.contains(*minutes))
        .map(|(i, minutes)| (((i + 1) as f64).ln(), minutes.ln()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{LearningCurve, exponent, log_points, unit_factor};

    #[test]
    fn a_clean_curve_is_found_again() {
        let times: Vec<f64> = (1..=12).map(|n| 20.0 * unit_factor(0.85, n)).collect();
        let curve = LearningCurve::fit(&log_points(&times));
        let curve = curve.expect("twelve units differ");
        assert!((curve.level.exp() - 20.0).abs() < 1e-9);
        assert!((curve.slope - exponent(0.85)).abs() < 1e-12);
    }

    #[test]
    fn nobody_is_believed_to_forget_or_to_learn_faster_than_70_percent() {
        let slower: Vec<f64> = (1..=6).map(|n| 10.0 + f64::from(n)).collect();
        let curve = LearningCurve::fit(&log_points(&slower)).expect("six units");
        assert_eq!(curve.slope, 0.0);
        let faster: Vec<f64> = (1..=6).map(|n| 30.0 * unit_factor(0.5, n)).collect();
        let curve = LearningCurve::fit(&log_points(&faster)).expect("six units");
        assert_eq!(curve.slope, exponent(0.7));
    }

    #[test]
    fn a_time_that_is_no_number_is_left_out_and_its_valve_counts() {
        let points = log_points(&[8.0, f64::NAN, 0.0, 4.0]);
        assert_eq!(points.len(), 2);
        assert_eq!(points[1].0, 4.0_f64.ln());
    }
}
