//! Figures as the tablet shows and reads them: metric or US, either accepted.

use trayzero_core::bench::{
    UnitSystem, format_length, format_pressure, format_torque, parse_length, parse_pressure,
    parse_torque,
};
use uom::si::f64::{Length, Pressure, Torque};
use uom::si::length::millimeter;
use uom::si::pressure::bar;
use uom::si::torque::newton_meter;

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
