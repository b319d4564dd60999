//! Figures as the tablet shows and reads them: metric or US, either accepted.

use trayzero_core::bench::{
    OilRate, UnitSystem, format_distance, format_length, format_pressure, format_torque,
    format_volume, parse_angle, parse_distance, parse_length, parse_pressure, parse_torque,
    parse_volume, rim_length,
};
use trayzero_core::engine::Layout;
use uom::si::angle::degree;
use uom::si::f64::{Angle, Length, Pressure, Torque, Volume};
use uom::si::length::{kilometer, millimeter};
use uom::si::pressure::bar;
use uom::si::torque::newton_meter;
use uom::si::volume::liter;

use crate::settings::Units;

/// The system that the settings choose.
pub fn system(units: Units) -> UnitSystem {
    match units {
        Units::Metric => UnitSystem::Metric,
        Units::Imperial => UnitSystem::Us,
    }
}

/// A gauge pressure in bar, as it is shown.
pub fn pressure(value_bar: f64, system: UnitSystem) -> String {
    format_pressure(Pressure::new::<bar>(value_bar), system)
}

/// A torque in newton metres, as it is shown.
pub fn torque(value_nm: f64, system: UnitSystem) -> String {
    format_torque(Torque::new::<newton_meter>(value_nm), system)
}

/// A length in millimetres, as it is shown.
pub fn length(value_mm: f64, system: UnitSystem) -> String {
    format_length(Length::new::<millimeter>(value_mm), system)
}

/// Reads a gauge pressure in bar.
///
/// # Errors
/// A sentence that names what was read.
pub fn read_pressure(text: &str, system: UnitSystem) -> Result<f64, String> {
    parse_pressure(text, system)
        .map(|p| p.get::<bar>())
        .map_err(|e| e.to_string())
}

/// Reads a torque in newton metres.
///
/// # Errors
/// A sentence that names what was read.
pub fn read_torque(text: &str, system: UnitSystem) -> Result<f64, String> {
    parse_torque(text, system)
        .map(|t| t.get::<newton_meter>())
        .map_err(|e| e.to_string())
}

/// Reads a length in millimetres.
///
/// # Errors
/// A sentence that names what was read.
pub fn read_length(text: &str, system: UnitSystem) -> Result<f64, String> {
    parse_length(text, system)
        .map(|l| l.get::<millimeter>())
        .map_err(|e| e.to_string())
}

/// A distance in kilometres, as it is shown.
pub fn distance(value_km: f64, system: UnitSystem) -> String {
    format_distance(Length::new::<kilometer>(value_km), system)
}

/// Reads a distance in kilometres.
///
/// # Errors
/// A sentence that names what was read.
pub fn read_distance(text: &str, system: UnitSystem) -> Result<f64, String> {
    parse_distance(text, system)
        .map(|l| l.get::<kilometer>())
        .map_err(|e| e.to_string())
}

/// A volume in litres, as it is shown.
pub fn volume(value_l: f64, system: UnitSystem) -> String {
    format_volume(Volume::new::<liter>(value_l), system)
}

/// Reads a volume in litres.
///
/// # Errors
/// A sentence that names what was read.
pub fn read_volume(text: &str, system: UnitSystem) -> Result<f64, String> {
    parse_volume(text, system)
        .map(|l| l.get::<liter>())
        .map_err(|e| e.to_string())
}

/// Reads degrees, or millimetres and inches along a rim of the given diameter.
///
/// # Errors
/// A sentence that names what was read.
pub fn read_angle_or_rim(text: &str, rim_diameter_mm: Option<f64>) -> Result<f64, String> {
    let along = text.trim_end();
    if let (true, Some(diameter)) = (
        along.ends_with("mm") || along.ends_with("in"),
        rim_diameter_mm,
    ) {
        let mm = read_length(text, UnitSystem::Metric)?;
        return Ok(mm / (std::f64::consts::PI * diameter) * 360.0);
    }
    parse_angle(text)
        .map(|a| a.get::<degree>())
        .map_err(|e| e.to_string())
}

/// Length along the pulley's rim of a turn, in millimetres; `None` where the layout gives
/// no rim.
pub fn along_rim_mm(layout: &Layout, turn_deg: f64) -> Option<f64> {
    let rim = Length::new::<millimeter>(layout.rim_diameter_mm?);
    let turn = Angle::new::<degree>(turn_deg.abs());
    rim_length(rim, turn)
        .ok()
        .map(|along| along.get::<millimeter>())
}

/// An oil rate with its uncertainty, as it is shown.
pub fn oil_rate(rate: &OilRate, system: UnitSystem) -> String {
    let (estimate, unit) = match system {
        UnitSystem::Metric => (&rate.litres_per_1000_km, "l / 1,000 km"),
        UnitSystem::Us => (&rate.quarts_per_1000_mi, "qt / 1,000 mi"),
    };
    match estimate.interval {
        Some((low, high)) => format!(
            "{:.2} {unit} (95 %: {:.2} \u{2013} {:.2})",
            estimate.value,
            low.max(0.0),
            high
        ),
        None => format!("{:.2} {unit}", estimate.value),
    }
}

/// A gauge pressure in bar as a bare figure in the system's own unit, for a field.
pub fn pressure_figure(value_bar: f64, system: UnitSystem) -> String {
    let shown = pressure(value_bar, system);
    shown.split(' ').next().unwrap_or_default().to_owned()
}

/// The unit of pressures in a system.
pub fn pressure_unit(system: UnitSystem) -> String {
    let shown = pressure(1.0, system);
    shown.split(' ').nth(1).unwrap_or_default().to_owned()
}
