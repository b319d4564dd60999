//! Quantiles of Student's t distribution, for small samples.

use std::f64::consts::{FRAC_2_PI, FRAC_PI_2};

use super::crank::bisect;
use super::range::{BenchError, Limit};

const DEGREES: Limit = Limit::new("degrees of freedom", "", 1.0, 1_000_000.0);
const SHARE: Limit = Limit::new("share inside the interval", "", 0.0, 0.999_999);

/// The t for which a share `inside` of Student's distribution lies between -t and t.
/// No approximation by the normal distribution: for whole degrees of freedom the
/// share is a finite sum (Abramowitz and Stegun, Handbook of Mathematical Functions,
/// 26.7.3 and 26.7.4; from memory), inverted here by bisection.
///
/// # Errors
/// [`BenchError::OutOfRange`] for degrees of freedom outside 1 to 1,000,000 or a share
/// outside 0 to 0.999999.
pub fn student_quantile(inside: f64, degrees_of_freedom: u32) -> Result<f64, BenchError> {
    DEGREES.check(f64::from(degrees_of_freedom))?;
    let inside = SHARE.check(inside)?;
    // With theta = atan(t / sqrt(nu)) the whole range of t is 0 to a quarter turn.
    let theta = bisect(0.0, FRAC_PI_2, |theta| {
        share_within(theta, degrees_of_freedom) <= inside
    });
    Ok(theta.tan() * f64::from(degrees_of_freedom).sqrt())
}

/// Share of the distribution between -t and t, t = tan(theta) sqrt(nu).
fn share_within(theta: f64, degrees_of_freedom: u32) -> f64 {
    let (sin, cos) = theta.sin_cos();
    let odd = degrees_of_freedom % 2 == 1;
    // The first term of the sum, and the first factor's numerator: the terms run
    // cos, 2/3 cos^3, 2*4/(3*5) cos^5 ... or 1, 1/2 cos^2, 1*3/(2*4) cos^4 ...
    let (mut term, first) = if odd { (cos, 2) } else { (1.0, 1) };
    let mut sum = if degrees_of_freedom == 1 { 0.0 } else { term };
    for numerator in (first..)
        .step_by(2)
        .take_while(|n| n + 2 < degrees_of_freedom)
    {
        term *= f64::from(numerator) / f64::from(numerator + 1) * cos * cos;
        // Later terms are smaller still; below this they leave the sum as it is.
        if term < f64::MIN_POSITIVE {
            break;
        }
        sum += term;
    }
    if odd {
        FRAC_2_PI * (theta + sin * sum)
    } else {
        sin * sum
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// Values of the printed table of Student's t, two-sided 95 % (any statistics
    /// handbook; from memory).
    #[test]
    fn two_sided_95_percent_agrees_with_the_printed_table() {
        let table = [
            (1, 12.706),
            (2, 4.303),
            (3, 3.182),
            (4, 2.776),
            (5, 2.571),
            (6, 2.447),
            (10, 2.228),
            (20, 2.086),
            (30, 2.042),
            (120, 1.980),
        ];
        for (nu, t) in table {
            assert!(
                (student_quantile(0.95, nu).unwrap() - t).abs() < 5.1e-4,
                "{nu}"
            );
        }
    }

    #[test]
    fn no_degrees_of_freedom_and_the_whole_distribution_are_refused() {
        assert!(student_quantile(0.95, 0).is_err());
        assert!(student_quantile(1.0, 5).is_err());
        assert!(student_quantile(f64::NAN, 5).is_err());
    }
}
