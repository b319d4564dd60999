//! Leak-down: how much is lost, what class that is, and through how big a hole.

use serde::Serialize;
use uom::si::f64::{Length, Pressure};
use uom::si::length::millimeter;
use uom::si::pressure::{bar, pascal};

use super::crank::bisect;
use super::flow::{Orifice, absolute, drive, scaled_diameter};
use super::range::{BenchError, limits};

/// Share by which a loss may pass a class's limit: 6.3 of 7.0 bar is ten percent, though
/// not in binary fractions.
const ROUNDING: f64 = 1e-9;

/// Share of the supply that a cylinder loses: (supply - cylinder) / supply, gauge
/// pressures, 0 to 1.
///
/// # Errors
/// [`BenchError::OutOfRange`] for a supply outside [`limits::SUPPLY`] or a cylinder
/// pressure that is negative or above the supply.
/// # Examples
/// ```
/// use trayzero_core::bench::uom::si::f64::Pressure;
/// use trayzero_core::bench::uom::si::pressure::bar;
/// use trayzero_core::bench::{LeakClass, loss};
///
/// let lost = loss(Pressure::new::<bar>(6.0), Pressure::new::<bar>(5.4)).unwrap();
/// assert!((lost - 0.10).abs() < 1e-12);
/// assert_eq!(LeakClass::of(lost), LeakClass::Good);
/// assert!(loss(Pressure::new::<bar>(6.0), Pressure::new::<bar>(6.5)).is_err());
/// ```
pub fn loss(supply: Pressure, cylinder: Pressure) -> Result<f64, BenchError> {
    check_pair(supply, cylinder)?;
    Ok(((supply - cylinder) / supply).get::<uom::si::ratio::ratio>())
}

/// Supply in its range, the cylinder not above it.
pub(super) fn check_pair(supply: Pressure, cylinder: Pressure) -> Result<(), BenchError> {
    let supply_bar = limits::SUPPLY.check(supply.get::<bar>())?;
    limits::CYLINDER
        .between(0.0, supply_bar)
        .check(cylinder.get::<bar>())?;
    Ok(())
}

/// What a loss is called (common practice, no source).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub enum LeakClass {
    /// Up to 10 percent.
    #[serde(rename = "good")]
    Good,
    /// Up to 20 percent.
    #[serde(rename = "usable")]
    Usable,
    /// Up to 30 percent.
    #[serde(rename = "poor")]
    Poor,
    /// Above 30 percent: find the leak before any other work.
    #[serde(rename = "find the leak")]
    FindTheLeak,
}

impl LeakClass {
    /// The class of a loss, given as a share of the supply (0 to 1).
    pub fn of(loss: f64) -> Self {
        match loss - ROUNDING {
            l if l <= 0.10 => Self::Good,
            l if l <= 0.20 => Self::Usable,
            l if l <= 0.30 => Self::Poor,
            _ => Self::FindTheLeak,
        }
    }

    /// The words of the class.
    pub fn words(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Usable => "usable",
            Self::Poor => "poor",
            Self::FindTheLeak => "find the leak",
        }
    }
}

/// Where the air of a leak is heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HeardWhere {
    /// At the throttle or the intake.
    Intake,
    /// At the exhaust's end.
    Exhaust,
    /// At the oil filler or the dipstick.
    OilFiller,
    /// As bubbles in the coolant.
    Coolant,
    /// At the next cylinder's plug hole.
    NextPlugHole,
}

impl HeardWhere {
    /// What leaks when air is heard there (common practice, no source).
    pub fn points_to(self) -> &'static str {
        match self {
            Self::Intake => "an intake valve does not close",
            Self::Exhaust => "an exhaust valve does not close",
            Self::OilFiller => "air passes the piston rings",
            Self::Coolant => "the head gasket or a casting leaks into the coolant",
            Self::NextPlugHole => "the head gasket leaks between two cylinders",
        }
    }
}

/// The hole that passes to the outside what the tester's orifice lets in: its diameter
/// is the orifice's times sqrt( p1 f(p2/p1) / (p2 f(pa/p2)) ), p1 the supply, p2 the
/// cylinder, pa the atmosphere (all absolute), f = [`super::relative_flow`], both with
/// the same discharge coefficient and temperature. `None` when the cylinder holds
/// next to no pressure, so that the hole would be wider than any bore.
///
/// # Errors
/// As [`loss`].
pub fn same_flow_diameter(
    orifice: Orifice,
    supply: Pressure,
    cylinder: Pressure,
) -> Result<Option<Length>, BenchError> {
    check_pair(supply, cylinder)?;
    let out = push(cylinder, Pressure::new::<pascal>(0.0));
    let hole = scaled_diameter(orifice.diameter(), push(supply, cylinder) / out);
    // Dividing by no outflow gives infinity, which is wider than any bore too.
    let is_hole = hole.get::<millimeter>() <= limits::BORE.to;
    Ok(is_hole.then_some(hole))
}

/// Gauge pressure that builds up in a cylinder behind the tester's orifice at another
/// supply, when the same hole leaks: in the reading `supply` and `cylinder` give that
/// hole, then both flows are brought to balance by bisection.
///
/// # Errors
/// As [`loss`], for the reading and for the other supply.
pub fn pressure_behind(
    supply: Pressure,
    cylinder: Pressure,
    other_supply: Pressure,
) -> Result<Pressure, BenchError> {
    check_pair(supply, cylinder)?;
    check_pair(other_supply, Pressure::new::<pascal>(0.0))?;
    let open = Pressure::new::<pascal>(0.0);
    let (inward, outward) = (push(supply, cylinder), push(cylinder, open));
    // As the cylinder fills, less comes in and more goes out; up to the balance more
    // comes in. The ratio of both areas is the one of the reading.
    let filling = |p: f64| {
        let p = Pressure::new::<pascal>(p);
        push(other_supply, p) * outward >= push(p, open) * inward
    };
    let full = other_supply.get::<pascal>();
    Ok(Pressure::new::<pascal>(if filling(full) {
        full
    } else {
        bisect(0.0, full, filling)
    }))
}

/// What drives air through a hole: absolute pressure ahead times the relative flow, Pa.
fn push(before: Pressure, behind: Pressure) -> f64 {
    absolute(before).get::<pascal>() * drive(before, behind)
}
