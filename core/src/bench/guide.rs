//! The worn guide: from the rock at the stem's tip to the clearance in the guide.

use uom::si::f64::Length;
use uom::si::length::millimeter;

use super::range::{BenchError, limits};

/// Clearance between stem and guide, from how far the stem rocks at its tip:
/// w L / (L + 2h), w the rock from end to end, L the guide's length, h the tip's height
/// above the guide. The stem tilts until it touches both ends of the guide, so over the
/// length L it leans by the clearance each way; by similar triangles (own derivation).
///
/// # Errors
/// [`BenchError::OutOfRange`] for a rock outside [`limits::ROCK`], a guide outside
/// [`limits::GUIDE_LENGTH`] or a tip outside [`limits::TIP_ABOVE`].
pub fn guide_clearance(
    rock: Length,
    guide_length: Length,
    tip_above: Length,
) -> Result<Length, BenchError> {
    limits::ROCK.check(rock.get::<millimeter>())?;
    limits::GUIDE_LENGTH.check(guide_length.get::<millimeter>())?;
    limits::TIP_ABOVE.check(tip_above.get::<millimeter>())?;
    Ok(rock * (guide_length / (guide_length + 2.0 * tip_above)))
}
