//! The crank train: where the piston is and how hard air pushes on the crank.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};

use uom::si::angle::{degree, radian};
use uom::si::f64::{Angle, Area, Length, Pressure, Torque, Volume};
use uom::si::length::{meter, millimeter};
use uom::si::pressure::{bar, pascal};
use uom::si::torque::newton_meter;

use super::range::{BenchError, limits};
use crate::engine::Layout;

/// Halvings of an interval after which two neighbouring doubles are left.
const HALVINGS: u32 = 200;

/// One cylinder's crank train, checked: bore, stroke and rod in their ranges and
/// the rod longer than half the stroke, so that the crank goes round.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crank {
    bore: Length,
    stroke: Length,
    rod: Length,
}

impl Crank {
    /// Checks the three lengths.
    ///
    /// # Errors
    /// [`BenchError::OutOfRange`] for bore or stroke outside [`limits::BORE`] and
    /// [`limits::STROKE`], or a rod not longer than half the stroke.
    pub fn new(bore: Length, stroke: Length, rod: Length) -> Result<Self, BenchError> {
        limits::BORE.check(bore.get::<millimeter>())?;
        limits::STROKE.check(stroke.get::<millimeter>())?;
        // The next number above half the stroke: a rod of just that length jams.
        let shortest = (stroke.get::<millimeter>() / 2.0 * (1.0 + 1e-6)).max(limits::ROD.from);
        limits::ROD
            .between(shortest, limits::ROD.to)
            .check(rod.get::<millimeter>())?;
        Ok(Self { bore, stroke, rod })
    }

    /// The crank train of an engine layout.
    ///
    /// # Errors
    /// As [`Crank::new`].
    pub fn of(layout: &Layout) -> Result<Self, BenchError> {
        Self::new(
            Length::new::<millimeter>(layout.bore_mm),
            Length::new::<millimeter>(layout.stroke_mm),
            Length::new::<millimeter>(layout.rod_mm),
        )
    }

    /// Area of the piston, pi B^2 / 4.
    pub fn piston_area(&self) -> Area {
        FRAC_PI_4 * self.bore * self.bore
    }

    /// How far the piston stands below its top at an angle off TDC:
    /// x(a) = r (1 - cos a) + l - sqrt(l^2 - r^2 sin^2 a), r half the stroke, l the
    /// rod (Heywood, Internal Combustion Engine Fundamentals, ch. 2; from memory).
    /// Written as 2 r sin^2(a/2) + q^2 / (l + sqrt(l^2 - q^2)) with q = r sin a, which
    /// loses no digits near the top.
    ///
    /// # Errors
    /// [`BenchError::OutOfRange`] for an angle outside [`limits::OFF_TDC`].
    pub fn piston_drop(&self, off_tdc: Angle) -> Result<Length, BenchError> {
        let a = checked_angle(off_tdc)?;
        let (r, l) = self.throw_and_rod();
        let half = (a / 2.0).sin();
        let q = r * a.sin();
        Ok(Length::new::<meter>(
            2.0 * r * half * half + q * q / (l + self.rod_height(q)),
        ))
    }

    /// How far the piston drops per radian of crank:
    /// dx/da = r sin a + r^2 sin a cos a / sqrt(l^2 - r^2 sin^2 a), the derivative of
    /// [`Crank::piston_drop`]. Negative before TDC.
    ///
    /// # Errors
    /// As [`Crank::piston_drop`].
    pub fn drop_per_radian(&self, off_tdc: Angle) -> Result<Length, BenchError> {
        Ok(Length::new::<meter>(self.rate(checked_angle(off_tdc)?)))
    }

    /// Torque of air on the crank, T = p (pi B^2 / 4) dx/da, by virtual work. Negative
    /// before TDC, where the air pushes the crank backwards. Other cylinders' valve
    /// springs, acting through the cams, are not in the figure.
    ///
    /// # Errors
    /// [`BenchError::OutOfRange`] for an angle outside [`limits::OFF_TDC`] or a gauge
    /// pressure outside [`limits::PRESSURE`].
    pub fn torque(&self, pressure: Pressure, off_tdc: Angle) -> Result<Torque, BenchError> {
        let rate = self.rate(checked_angle(off_tdc)?);
        // Adding nothing turns the negative zero of an angle of -0 into plain zero.
        Ok(Torque::new::<newton_meter>(
            self.thrust_newton(pressure)? * rate + 0.0,
        ))
    }

    /// The gauge pressure at which the air's torque reaches `torque` at this angle,
    /// whichever way it turns. `None` where no pressure in [`limits::PRESSURE`] does:
    /// at TDC and close to it.
    ///
    /// # Errors
    /// [`BenchError::OutOfRange`] for an angle outside [`limits::OFF_TDC`] or a torque
    /// outside [`limits::BREAKAWAY`].
    pub fn turning_pressure(
        &self,
        torque: Torque,
        off_tdc: Angle,
    ) -> Result<Option<Pressure>, BenchError> {
        limits::BREAKAWAY.check(torque.get::<newton_meter>())?;
        let rate = Length::new::<meter>(self.rate(checked_angle(off_tdc)?).abs());
        let needed = torque.get::<newton_meter>()
            / (self.piston_area() * rate).get::<uom::si::volume::cubic_meter>();
        let greatest = Pressure::new::<bar>(limits::PRESSURE.to).get::<pascal>();
        // At TDC the division gives infinity, which fails the comparison as it should.
        Ok((needed <= greatest).then(|| Pressure::new::<pascal>(needed)))
    }

    /// The angle after TDC, in 0 to 90 degrees, at which air turns hardest: where the
    /// second derivative of [`Crank::piston_drop`] passes zero, found by bisection.
    pub fn peak(&self) -> Angle {
        // sin a and the swing of the rod both rise at TDC; at 90 degrees the rod's
        // share already falls while sin a stands still, so the root lies between.
        Angle::new::<radian>(bisect(0.0, FRAC_PI_2, |a| self.rate_slope(a) > 0.0))
    }

    /// The largest angle off TDC, up to [`Crank::peak`], at which air of this gauge
    /// pressure stays within `torque`. `None` if even at the peak it does.
    ///
    /// # Errors
    /// [`BenchError::OutOfRange`] for a pressure outside [`limits::PRESSURE`] or a
    /// torque outside [`limits::BREAKAWAY`].
    pub fn widest_angle(
        &self,
        pressure: Pressure,
        torque: Torque,
    ) -> Result<Option<Angle>, BenchError> {
        let allowed = limits::BREAKAWAY.check(torque.get::<newton_meter>())?;
        let thrust = self.thrust_newton(pressure)?;
        let peak = self.peak().get::<radian>();
        if thrust * self.rate(peak) <= allowed {
            return Ok(None);
        }
        let widest = bisect(0.0, peak, |a| thrust * self.rate(a) <= allowed);
        Ok(Some(Angle::new::<radian>(widest)))
    }

    /// Volume swept by one piston, pi/4 B^2 S.
    pub fn swept_volume(&self) -> Volume {
        self.piston_area() * self.stroke
    }

    /// Half the stroke and the rod, in metres.
    fn throw_and_rod(&self) -> (f64, f64) {
        (self.stroke.get::<meter>() / 2.0, self.rod.get::<meter>())
    }

    /// sqrt(l^2 - q^2) in metres, with q = r sin a: how high the rod stands.
    fn rod_height(&self, q: f64) -> f64 {
        let l = self.rod.get::<meter>();
        ((l - q) * (l + q)).sqrt()
    }

    /// dx/da in metres per radian at an angle in radians.
    fn rate(&self, a: f64) -> f64 {
        let (r, _) = self.throw_and_rod();
        let q = r * a.sin();
        q + q * r * a.cos() / self.rod_height(q)
    }

    /// Second derivative of the piston drop, metres per radian squared:
    /// r cos a + ((r cos a)^2 - q^2) / h + (q r cos a)^2 / h^3, h the rod's height.
    fn rate_slope(&self, a: f64) -> f64 {
        let (r, _) = self.throw_and_rod();
        let (across, along) = (r * a.sin(), r * a.cos());
        let height = self.rod_height(across);
        let lean = across * along / height;
        along + (along * along - across * across + lean * lean) / height
    }

    /// Thrust of air on the piston in newton.
    fn thrust_newton(&self, pressure: Pressure) -> Result<f64, BenchError> {
        limits::PRESSURE.check(pressure.get::<bar>())?;
        Ok((pressure * self.piston_area()).get::<uom::si::force::newton>())
    }
}

/// Volume swept by an engine, pi/4 B^2 S n.
///
/// # Errors
/// [`BenchError::OutOfRange`] for bore, stroke or number of cylinders outside
/// [`limits::BORE`], [`limits::STROKE`] and [`limits::CYLINDERS`].
pub fn swept_volume(bore: Length, stroke: Length, cylinders: u32) -> Result<Volume, BenchError> {
    limits::BORE.check(bore.get::<millimeter>())?;
    limits::STROKE.check(stroke.get::<millimeter>())?;
    let n = limits::CYLINDERS.check(f64::from(cylinders))?;
    Ok(FRAC_PI_4 * bore * bore * stroke * n)
}

/// An angle off TDC in radians, if it lies in its range.
fn checked_angle(off_tdc: Angle) -> Result<f64, BenchError> {
    limits::OFF_TDC.check(off_tdc.get::<degree>())?;
    Ok(off_tdc.get::<radian>())
}

/// The last argument between `low` and `high` for which `holds` is true, given that it
/// is true from `low` up to some point and false after it.
pub(super) fn bisect(mut low: f64, mut high: f64, holds: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..HALVINGS {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            break;
        }
        if holds(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}
