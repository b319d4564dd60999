//! Figures that one odd valve cannot spoil: quantiles, the median, and the slope of
//! Theil and Sen.

/// The quantile `q` (0 to 1) of the values, by linear interpolation between the two
/// nearest: definition 7 of Hyndman and Fan (1996), the default of `numpy.quantile`.
/// `None` for no values, for a NaN among them, or for `q` outside 0 to 1.
pub fn quantile(values: &[f64], q: f64) -> Option<f64> {
    if values.is_empty() || !(0.0..=1.0).contains(&q) || values.iter().any(|v| v.is_nan()) {
        return None;
    }
    let mut sorted = values.to_vec();
    let place = q * (sorted.len() - 1) as f64;
    let below = (place.floor() as usize).min(sorted.len() - 1);
    let (_, low, above) = sorted.select_nth_unstable_by(below, f64::total_cmp);
    let low = *low;
    let high = above.iter().copied().min_by(f64::total_cmp).unwrap_or(low);
    Some(low + (high - low) * (place - below as f64))
}

/// The middle value, or the mean of the two middle ones. `None` as for [`quantile`].
pub fn median(values: &[f64]) -> Option<f64> {
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

#[cfg(test)]
mod tests {
    use super::{median, quantile, theil_sen};

    #[test]
    fn one_odd_point_does_not_move_the_slope() {
        let mut points: Vec<(f64, f64)> = (0..9)
            .map(|i| (f64::from(i), 3.0 - 2.0 * f64::from(i)))
            .collect();
        points[4].1 = 1e6;
        assert_eq!(theil_sen(&points), Some(-2.0));
    }

    #[test]
    fn what_has_no_answer_gives_none() {
        assert_eq!(median(&[]), None);
        assert_eq!(quantile(&[1.0, f64::NAN], 0.5), None);
        assert_eq!(quantile(&[1.0], 1.5), None);
        assert_eq!(theil_sen(&[(1.0, 2.0)]), None);
        assert_eq!(theil_sen(&[(1.0, 2.0), (1.0, 3.0)]), None);
    }

    #[test]
    fn the_ends_are_the_least_and_the_greatest() {
        let values = [4.0, 1.0, 3.0, 2.0];
        assert_eq!(quantile(&values, 0.0), Some(1.0));
        assert_eq!(quantile(&values, 1.0), Some(4.0));
        assert_eq!(median(&values), Some(2.5));
    }
}
