//! Angles as lengths on a rim, and finding TDC by halving.

use std::f64::consts::PI;

use uom::si::angle::degree;
use uom::si::f64::{Angle, Length};
use uom::si::length::millimeter;

use super::range::{BenchError, limits};

/// Length along a pulley's rim that an angle takes: pi D a / 360 with a in degrees.
/// The sign of the angle stays.
///
/// # Errors
/// [`BenchError::OutOfRange`] for a rim outside [`limits::RIM`] or an angle outside
/// [`limits::CRANK`].
/// # Examples
/// A third of a turn on a rim of 160 mm.
/// ```
/// use trayzero_core::bench::rim_length;
/// use trayzero_core::bench::uom::si::angle::degree;
/// use trayzero_core::bench::uom::si::f64::{Angle, Length};
/// use trayzero_core::bench::uom::si::length::millimeter;
///
/// let along = rim_length(Length::new::<millimeter>(160.0), Angle::new::<degree>(120.0)).unwrap();
/// assert!((along.get::<millimeter>() - 167.55).abs() < 0.01);
/// ```
pub fn rim_length(rim_diameter: Length, angle: Angle) -> Result<Length, BenchError> {
    limits::RIM.check(rim_diameter.get::<millimeter>())?;
    let deg = limits::CRANK.check(angle.get::<degree>())?;
    Ok(rim_diameter * (PI * deg / 360.0))
}

/// Where TDC lies between two readings at equal piston height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TdcHalved {
    /// How far to turn on from the first reading to stand at TDC.
    pub turn_from_first: Angle,
    /// Crank angle of TDC on the scale of the readings, 0 to 360 degrees.
    pub tdc: Angle,
}

/// TDC from two crank angles at which the piston stands equally high: `rising` is read
/// on the way up, `falling` after the top, turning in the running direction. TDC is
/// half way between. Degree wheels repeat every 360 degrees, so readings on either
/// side of the zero mark are understood. Which of the two tops it is, compression or
/// overlap, equal heights cannot tell.
///
/// # Errors
/// [`BenchError::OutOfRange`] for readings outside [`limits::CRANK`], or for two equal
/// readings, which leave open on which side the top lies.
pub fn tdc_by_halving(rising: Angle, falling: Angle) -> Result<TdcHalved, BenchError> {
    let first = limits::CRANK.check(rising.get::<degree>())?;
    let second = limits::CRANK.check(falling.get::<degree>())?;
    let arc = ARC_DEG.check((second - first).rem_euclid(360.0))?;
    let tdc = (first + arc / 2.0).rem_euclid(360.0);
    Ok(TdcHalved {
        turn_from_first: Angle::new::<degree>(arc / 2.0),
        // The remainder of a tiny negative number rounds up to 360, which is 0 again.
        tdc: Angle::new::<degree>(if tdc >= 360.0 { 0.0 } else { tdc }),
    })
}

const ARC_DEG: super::Limit = super::Limit::new("arc between both readings", "deg", 1e-6, 360.0);
