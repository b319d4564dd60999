//! What air in a cylinder holds, and the pressure window.

use std::f64::consts::FRAC_PI_4;

use serde::Serialize;
use uom::si::f64::{Force, Length, Pressure};
use uom::si::force::newton;
use uom::si::length::millimeter;
use uom::si::pressure::{bar, pascal};

use super::range::{BenchError, limits};

/// Fitting locks pushes on the stem; air must hold this many times the push
/// (common practice, no source).
pub const FITTING_SAFETY: f64 = 2.0;

/// The crank counts as still while the air's torque is at most the breakaway torque
/// over this (common practice, no source).
pub const TURNING_SAFETY: f64 = 2.0;

/// Share by which a pressure may pass an end of the window, so that a figure printed
/// in bar and typed in again is not judged by its last binary digit.
const ROUNDING: f64 = 1e-12;

/// Force with which air holds a valve shut: F = p (pi/4) D^2, D the seat's inner
/// diameter, p the gauge pressure. From the definition of pressure.
///
/// # Errors
/// [`BenchError::OutOfRange`] for a pressure outside [`limits::PRESSURE`] or a seat
/// outside [`limits::SEAT`].
/// # Examples
/// 6 bar on a seat of 31 mm: 600 000 Pa times 754.8 square millimetres.
/// ```
/// use trayzero_core::bench::hold_force;
/// use trayzero_core::bench::uom::si::f64::{Length, Pressure};
/// use trayzero_core::bench::uom::si::force::newton;
/// use trayzero_core::bench::uom::si::length::millimeter;
/// use trayzero_core::bench::uom::si::pressure::bar;
///
/// let force = hold_force(Pressure::new::<bar>(6.0), Length::new::<millimeter>(31.0)).unwrap();
/// assert!((force.get::<newton>() - 452.9).abs() < 0.1);
/// ```
pub fn hold_force(pressure: Pressure, seat: Length) -> Result<Force, BenchError> {
    limits::PRESSURE.check(pressure.get::<bar>())?;
    limits::SEAT.check(seat.get::<millimeter>())?;
    Ok(pressure * (FRAC_PI_4 * seat * seat))
}

/// The least gauge pressure that holds a valve against the push of fitting its locks:
/// [`FITTING_SAFETY`] times the push, over the seat's area.
///
/// # Errors
/// [`BenchError::OutOfRange`] for a push outside [`limits::PUSH`] or a seat outside
/// [`limits::SEAT`].
pub fn least_pressure(push: Force, seat: Length) -> Result<Pressure, BenchError> {
    limits::PUSH.check(push.get::<newton>())?;
    limits::SEAT.check(seat.get::<millimeter>())?;
    Ok(FITTING_SAFETY * push / (FRAC_PI_4 * seat * seat))
}

/// The pressure to set: the geometric mean of both ends of the window, which is as many
/// times the lowest as the highest is times it. `None` without a window.
pub fn suggested_between(lowest: Pressure, highest: Pressure) -> Option<Pressure> {
    let (low, high) = (lowest.get::<pascal>(), highest.get::<pascal>());
    // Both roots first: the product of two pressures need not be a finite number.
    let mean = low.sqrt() * high.sqrt();
    let open = low >= 0.0 && !passes(low, high) && mean.is_finite();
    open.then(|| Pressure::new::<pascal>(mean))
}

/// What the bench says about air in a cylinder at one position.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum Verdict {
    /// Some pressure holds every valve and does not turn the crank.
    #[serde(rename = "window")]
    Window,
    /// No pressure does both: get nearer to TDC, or hold the valves mechanically.
    #[serde(rename = "no window")]
    NoWindow,
    /// The pressure is above the lowest rating among hose, regulator and tester.
    #[serde(rename = "over rating")]
    OverRating,
    /// The air may turn the engine.
    #[serde(rename = "may turn")]
    MayTurn,
    /// The air does not hold the smaller valve against the fitting of its locks.
    #[serde(rename = "too low")]
    TooLow,
    /// This pressure holds every valve and does not turn the crank.
    #[serde(rename = "hold")]
    Hold,
}

impl Verdict {
    /// The words of the verdict.
    pub fn words(self) -> &'static str {
        match self {
            Self::Window => "window",
            Self::NoWindow => "no window",
            Self::OverRating => "over rating",
            Self::MayTurn => "may turn",
            Self::TooLow => "too low",
            Self::Hold => "hold",
        }
    }

    /// Whether the work may go on with this air.
    pub fn is_yes(self) -> bool {
        matches!(self, Self::Window | Self::Hold)
    }
}

/// The three pressures, gauge, that bound the air in a cylinder at one position.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Holding {
    /// The least that holds the smaller valve; `None` when a seat is not known.
    pub least: Option<Pressure>,
    /// What the air's torque reaches half the breakaway torque at; `None` if nothing does.
    pub turning: Option<Pressure>,
    /// Lowest rating among hose, regulator and tester.
    pub rating: Pressure,
}

impl Holding {
    /// Upper end of the window: the lower of the rating and the turning pressure.
    pub fn highest(&self) -> Pressure {
        match self.turning {
            Some(turning) if turning < self.rating => turning,
            _ => self.rating,
        }
    }

    /// Whether there is a window at all. `None` when a seat is not known.
    pub fn window(&self) -> Option<Verdict> {
        let open = !passes(self.least?.get::<pascal>(), self.highest().get::<pascal>());
        Some(if open {
            Verdict::Window
        } else {
            Verdict::NoWindow
        })
    }

    /// The verdict on a pressure, the first that applies of over rating, may turn, too
    /// low, hold. `None` where only an unknown seat stands between too low and hold.
    pub fn judge(&self, pressure: Pressure) -> Option<Verdict> {
        let p = pressure.get::<pascal>();
        if passes(p, self.rating.get::<pascal>()) {
            return Some(Verdict::OverRating);
        }
        if self.turning.is_some_and(|t| passes(p, t.get::<pascal>())) {
            return Some(Verdict::MayTurn);
        }
        Some(if passes(self.least?.get::<pascal>(), p) {
            Verdict::TooLow
        } else {
            Verdict::Hold
        })
    }
}

/// Whether `a` is above `b` by more than rounding.
fn passes(a: f64, b: f64) -> bool {
    a > b * (1.0 + ROUNDING)
}
