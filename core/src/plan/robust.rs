//! Figures that one odd valve cannot spoil: quantiles and the median.

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

#[cfg(test)]
mod tests {
    use super::{median, quantile};

    #[test]
    fn what_has_no_answer_gives_none() {
        assert_eq!(median(&[]), None);
        assert_eq!(quantile(&[1.0, f64::NAN], 0.5), None);
        assert_eq!(quantile(&[1.0], 1.5), None);
    }

    #[test]
    fn the_ends_are_the_least_and_the_greatest() {
        let values = [4.0, 1.0, 3.0, 2.0];
        assert_eq!(quantile(&values, 0.0), Some(1.0));
        assert_eq!(quantile(&values, 1.0), Some(4.0));
        assert_eq!(median(&values), Some(2.5));
    }
}
