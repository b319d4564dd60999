//! A share of few cases, with what chance alone leaves open.

/// The quantile of the normal distribution for a two-sided interval of 95 percent.
const Z_95: f64 = 1.959_963_984_540_054;

/// The 95 percent interval of a share: the score interval of E. B. Wilson (1927), which holds
/// for few cases too, and never leaves 0 to 1. `None` without a case, or with more than all.
pub fn wilson_interval(of: u32, all: u32) -> Option<(f64, f64)> {
    if all == 0 || of > all {
        return None;
    }
    let (n, z2) = (f64::from(all), Z_95 * Z_95);
    let share = f64::from(of) / n;
    let middle = share + z2 / (2.0 * n);
    let half = Z_95 * (share * (1.0 - share) / n + z2 / (4.0 * n * n)).sqrt();
    let scale = 1.0 + z2 / n;
    // At none and at all of them rounding may leave it by the last digit.
    let low = if of == 0 {
        0.0
    } else {
        (middle - half) / scale
    };
    let high = if of == all {
        1.0
    } else {
        (middle + half) / scale
    };
    Some((low, high))
}
