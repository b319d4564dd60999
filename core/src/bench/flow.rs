//! Isentropic flow of air through a hole.

use std::f64::consts::FRAC_PI_4;

use uom::si::f64::{Area, Length, MassRate, Pressure, VolumeRate};
use uom::si::length::{meter, millimeter};
use uom::si::mass_rate::kilogram_per_second;
use uom::si::pressure::{bar, kilopascal, pascal};
use uom::si::volume_rate::cubic_meter_per_second;

use super::range::{BenchError, Limit, limits};

/// Ratio of the specific heats of air.
pub const RATIO_OF_HEATS: f64 = 1.4;

/// Gas constant of dry air, J/(kg K).
const GAS_CONSTANT: f64 = 287.05;

/// Temperature of the air ahead of both holes and of free air, K (20 degrees C).
const TEMPERATURE_K: f64 = 293.15;

/// Pressure ratio p2/p1 below which the flow is choked: (2/(k+1))^(k/(k-1)), 0.5283 for
/// k = 1.4 (NACA Report 1135, 1953, p*/p0 at M = 1; from memory).
pub const CRITICAL_RATIO: f64 = 0.528_281_787_717_174;

/// Discharge coefficient taken for the tester's orifice and for the leak alike.
pub const DISCHARGE: f64 = 0.8;

/// Pressure of the standard atmosphere in bar, under every gauge pressure.
pub const STANDARD_ATMOSPHERE_BAR: f64 = 1.013_25;

const RATIO: Limit = Limit::new("pressure ratio p2/p1", "", 0.0, 1.0);

/// Mass flow at a pressure ratio p2/p1 (absolute), relative to choked flow from the
/// same p1: 1 up to [`CRITICAL_RATIO`], then falling to 0 at equal pressures. It is
/// A*/A of the tables, from
/// psi(x) = sqrt( 2k/(k-1) (x^(2/k) - x^((k+1)/k)) ) over psi at the critical ratio
/// (NACA Report 1135, 1953).
///
/// # Errors
/// [`BenchError::OutOfRange`] for a ratio outside 0 to 1.
pub fn relative_flow(ratio: f64) -> Result<f64, BenchError> {
    Ok(relative(RATIO.check(ratio)?.clamp(0.0, 1.0) - 1.0))
}

/// [`relative_flow`] of a ratio in 0 to 1, given as the ratio less 1, so that two nearly
/// equal pressures keep their difference.
fn relative(less_one: f64) -> f64 {
    if less_one <= CRITICAL_RATIO - 1.0 {
        return 1.0;
    }
    (outflow(less_one.ln_1p()) / outflow(CRITICAL_RATIO.ln())).min(1.0)
}

/// sqrt( x^(2/k) - x^((k+1)/k) ) with ln x given; x^(2/k) (1 - x^((k-1)/k)) keeps its
/// digits near x = 1.
fn outflow(ln_x: f64) -> f64 {
    let k = RATIO_OF_HEATS;
    let lost = -((k - 1.0) / k * ln_x).exp_m1();
    ((2.0 / k * ln_x).exp() * lost.max(0.0)).sqrt()
}

/// A round hole that lets air through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Orifice {
    diameter: Length,
}

impl Orifice {
    /// Checks the diameter.
    ///
    /// # Errors
    /// [`BenchError::OutOfRange`] for a diameter outside [`limits::ORIFICE`].
    pub fn new(diameter: Length) -> Result<Self, BenchError> {
        limits::ORIFICE.check(diameter.get::<millimeter>())?;
        Ok(Self { diameter })
    }

    /// The hole's diameter.
    pub fn diameter(&self) -> Length {
        self.diameter
    }

    /// Mass flow from one gauge pressure to another, both over the standard atmosphere:
    /// Cd A p1 sqrt(k/(R T)) (2/(k+1))^((k+1)/(2(k-1))) times [`relative_flow`], with
    /// Cd = [`DISCHARGE`], T = 293.15 K, R = 287.05 J/(kg K).
    ///
    /// # Errors
    /// [`BenchError::OutOfRange`] for a supply outside [`limits::SUPPLY`] or a pressure
    /// behind the hole that is negative or above the supply.
    pub fn mass_flow(&self, before: Pressure, behind: Pressure) -> Result<MassRate, BenchError> {
        let before_bar = limits::SUPPLY.check(before.get::<bar>())?;
        limits::CYLINDER
            .between(0.0, before_bar)
            .check(behind.get::<bar>())?;
        let area = FRAC_PI_4 * self.diameter * self.diameter;
        Ok(DISCHARGE * area_flow(area, before, behind))
    }
}

/// Isentropic mass flow through an area between two gauge pressures, `before` not the lower.
fn area_flow(area: Area, before: Pressure, behind: Pressure) -> MassRate {
    let k = RATIO_OF_HEATS;
    let choked = (k / (GAS_CONSTANT * TEMPERATURE_K)).sqrt()
        * (2.0 / (k + 1.0)).powf((k + 1.0) / (2.0 * (k - 1.0)));
    let pressed = absolute(before).get::<pascal>() * drive(before, behind);
    MassRate::new::<kilogram_per_second>(
        choked * pressed * area.get::<uom::si::area::square_meter>(),
    )
}

/// [`relative_flow`] between two gauge pressures, `before` not the lower.
pub(super) fn drive(before: Pressure, behind: Pressure) -> f64 {
    let difference = behind.get::<pascal>() - before.get::<pascal>();
    relative((difference / absolute(before).get::<pascal>()).min(0.0))
}

/// The absolute pressure of a gauge pressure.
pub(super) fn absolute(gauge: Pressure) -> Pressure {
    gauge + Pressure::new::<bar>(STANDARD_ATMOSPHERE_BAR)
}

/// A mass flow of air as free air: the volume it takes a second at 100 kPa and 20
/// degrees C (ISO 8778), by the gas law with R = 287.05 J/(kg K). The humidity of the
/// standard's reference atmosphere is left out; it is under one percent.
///
/// # Errors
/// [`BenchError::OutOfRange`] for a flow that is negative or not a number of kilograms
/// a second up to 100.
pub fn free_air(flow: MassRate) -> Result<VolumeRate, BenchError> {
    let kilograms =
        Limit::new("mass flow", "kg/s", 0.0, 100.0).check(flow.get::<kilogram_per_second>())?;
    let free = Pressure::new::<kilopascal>(100.0).get::<pascal>();
    Ok(VolumeRate::new::<cubic_meter_per_second>(
        kilograms * GAS_CONSTANT * TEMPERATURE_K / free,
    ))
}

/// The diameter in metres of a round hole, from one length and a ratio of areas.
pub(super) fn scaled_diameter(diameter: Length, area_ratio: f64) -> Length {
    Length::new::<meter>(diameter.get::<meter>() * area_ratio.sqrt())
}
