//! How single valves scatter about their learning curve.

use super::dice::Dice;
use super::learning::LearningCurve;
use super::robust::quantile;

/// The quartiles of a normal distribution are so many standard deviations apart.
const QUARTILES_APART: f64 = 1.349;

/// Bandwidth of the smoothing at one residual, in standard deviations: two thirds of
/// Silverman's 0.9 ("Density Estimation", 1986; from memory), which is meant for
/// drawing a density and is too wide here.
const BANDWIDTH: f64 = 0.6;

/// A valve that took more than three times what its curve says was left lying without
/// a pause being noted; it is drawn as three times. ln 3.
const RESIDUAL_MAX: f64 = 1.098_612_288_668_109_8;

/// Residuals to draw from, in natural logarithms of minutes.
#[derive(Clone, Debug)]
pub(super) struct Scatter {
    /// Residuals of the fit, widened to the errors they stand for.
    pub residuals: Vec<f64>,
    /// Standard deviation of what is added to each: a few residuals stand for a smooth
    /// distribution (smoothed bootstrap; Silverman and Young, Biometrika 74, 1987).
    smoothing: f64,
    /// Residuals less the two figures of the curve.
    freedom: f64,
}

impl Scatter {
    /// The scatter of points about the curve fitted to them. `None` for no points.
    pub fn about(curve: LearningCurve, points: &[(f64, f64)]) -> Option<Self> {
        let count = points.len() as f64;
        let freedom = (count - 2.0).max(1.0);
        // A fit with two free figures leaves residuals smaller than the errors.
        let widening = (count / freedom).sqrt();
        let mut residuals = curve.residuals(points);
        for residual in &mut residuals {
            *residual = (*residual * widening).clamp(-RESIDUAL_MAX, RESIDUAL_MAX);
        }
        let quartiles = quantile(&residuals, 0.75)? - quantile(&residuals, 0.25)?;
        Some(Self {
            smoothing: BANDWIDTH * count.powf(-0.2) * quartiles / QUARTILES_APART,
            freedom,
            residuals,
        })
    }

    /// One residual.
    pub fn draw(&self, dice: &mut Dice) -> f64 {
        dice.pick(&self.residuals) + self.smoothing * dice.normal()
    }

    /// A factor on all residuals: their own spread is only known from a few, as in
    /// Student's t. sqrt(f / chi-square of f degrees of freedom), with the cube root
    /// of chi-square taken as normal (Wilson and Hilferty, PNAS 17, 1931).
    pub fn draw_width(&self, dice: &mut Dice) -> f64 {
        let variance = 2.0 / (9.0 * self.freedom);
        let cube_root = 1.0 - variance + dice.normal() * variance.sqrt();
        // The least cube root keeps one odd draw from a spread eleven times too wide.
        cube_root.max(0.2).powf(-1.5)
    }
}
