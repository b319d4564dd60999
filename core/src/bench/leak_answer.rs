//! A leak-down reading and what it comes to.

use serde::Serialize;
use uom::si::f64::{Length, Pressure};
use uom::si::length::millimeter;
use uom::si::pressure::bar;
use uom::si::volume_rate::liter_per_minute;

use super::air_answer::{AirQuestion, LeftOut};
use super::flow::{Orifice, free_air};
use super::leak::{LeakClass, loss, pressure_behind, same_flow_diameter};
use super::range::BenchError;
use crate::engine::Layout;

/// Both gauges of a leak tester, and its orifice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeakGauges {
    /// Gauge pressure ahead of the orifice, bar.
    pub supply_bar: f64,
    /// Gauge pressure behind it, in the cylinder, bar; at most the supply.
    pub cylinder_bar: f64,
    /// Diameter of the orifice, millimetres.
    pub orifice_mm: f64,
}

/// What a reading comes to. Field names and classes are those of `trayzero leak --json`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LeakAnswer {
    /// Share of the supply that is lost, percent.
    pub loss_percent: f64,
    /// What that is called.
    pub class: LeakClass,
    /// Diameter of one round hole that leaks as much, millimetres; `None` when the
    /// cylinder holds no pressure to speak of.
    pub leak_diameter_mm: Option<f64>,
    /// Air that gets lost, litres a minute of free air (100 kPa, 20 degrees C, ISO 8778).
    pub free_air_l_min: f64,
    /// Figures left out, with the reason.
    #[serde(skip)]
    pub left_out: Vec<LeftOut>,
}

/// Whether air can hold a leaking cylinder's valves at all.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CanHold {
    /// Gauge pressure the cylinder reaches through the tester at the highest supply
    /// that the layout's rating allows, bar.
    pub reaches_bar: f64,
    /// Lowest gauge pressure that holds the smaller valve, bar; `None` without both seats.
    pub lowest_bar: Option<f64>,
    /// Whether it reaches that much; `None` without both seats.
    pub holds: Option<bool>,
}

impl LeakGauges {
    /// Diameter of the orifice unless told otherwise, millimetres.
    pub const USUAL_ORIFICE_MM: f64 = 1.0;

    /// What this reading comes to.
    ///
    /// # Errors
    /// [`BenchError::OutOfRange`] for a supply or an orifice outside its range, and for
    /// a cylinder pressure that is negative or above the supply.
    pub fn answer(&self) -> Result<LeakAnswer, BenchError> {
        let orifice = Orifice::new(Length::new::<millimeter>(self.orifice_mm))?;
        let (supply, cylinder) = self.pressures();
        let lost = loss(supply, cylinder)?;
        let hole = same_flow_diameter(orifice, supply, cylinder)?;
        let flow = orifice.mass_flow(supply, cylinder)?;
        let left_out = match hole {
            Some(_) => Vec::new(),
            None => vec![LeftOut {
                figure: "leak_diameter_mm",
                reason: "the cylinder holds no pressure to speak of, so no hole can be reckoned"
                    .to_owned(),
            }],
        };
        Ok(LeakAnswer {
            loss_percent: lost * 100.0,
            class: LeakClass::of(lost),
            leak_diameter_mm: hole.map(|d| d.get::<millimeter>()),
            free_air_l_min: free_air(flow)?.get::<liter_per_minute>(),
            left_out,
        })
    }

    /// Supply and cylinder as gauge pressures.
    fn pressures(&self) -> (Pressure, Pressure) {
        (
            Pressure::new::<bar>(self.supply_bar),
            Pressure::new::<bar>(self.cylinder_bar),
        )
    }
}

/// Whether the cylinder of a reading can hold its valves with air: what it reaches
/// through the same orifice at the layout's pressure rating, against the lowest
/// pressure that holds. It says nothing about turning the crank; see [`AirQuestion`].
///
/// # Errors
/// [`BenchError::OutOfRange`] for a reading as in [`LeakGauges::answer`], for figures of
/// the layout, and for a rating above what a leak tester is reckoned for.
pub fn can_hold(layout: &Layout, reading: &LeakGauges) -> Result<CanHold, BenchError> {
    let lowest_bar = AirQuestion::default().answer(layout)?.lowest_bar;
    let (supply, cylinder) = reading.pressures();
    let rating = Pressure::new::<bar>(layout.pressure_rating_bar);
    let reaches_bar = pressure_behind(supply, cylinder, rating)?.get::<bar>();
    Ok(CanHold {
        reaches_bar,
        lowest_bar,
        holds: lowest_bar.map(|lowest| reaches_bar >= lowest),
    })
}
