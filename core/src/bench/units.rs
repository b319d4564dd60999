//! Reading quantities as people write them, and writing them back.

use serde::{Deserialize, Serialize};
use uom::si::angle::degree;
use uom::si::f64::{Angle, Force, Length, Pressure, Torque, Volume};
use uom::si::force::{newton, pound_force};
use uom::si::length::{centimeter, inch, kilometer, meter, micrometer, mil, mile, millimeter};
use uom::si::pressure::{bar, kilopascal, megapascal, millibar, psi};
use uom::si::torque::{newton_meter, pound_force_foot, pound_force_inch};
use uom::si::volume::{liter, milliliter, quart_liquid};

use super::range::BenchError;

/// Longest text that is read, in bytes.
const TEXT_MAX: usize = 60;

/// Largest number that is read; anything above is a slip.
const NUMBER_MAX: f64 = 1e9;

/// The units that a tablet shows and that a bare number is taken in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum UnitSystem {
    /// bar, mm, Nm, N, km, l.
    #[default]
    Metric,
    /// psi, in, lbf ft, lbf, mi, US liquid quarts.
    Us,
}

/// One unit: the spellings it goes by, and how to make the quantity of a number.
struct Unit<Q> {
    words: &'static [&'static str],
    make: fn(f64) -> Q,
}

/// Gauge pressure, such as `60 psi`, `4.1 bar`, `400 kPa`. A bare number is bar or psi.
///
/// # Errors
/// [`BenchError::Unreadable`] with the text. The sign is not judged here: the figure's
/// own range is.
pub fn parse_pressure(text: &str, system: UnitSystem) -> Result<Pressure, BenchError> {
    let units: [Unit<Pressure>; 5] = [
        unit(&["bar"], Pressure::new::<bar>),
        unit(&["psi", "lbf/in2", "lbf/in²"], Pressure::new::<psi>),
        unit(&["kpa"], Pressure::new::<kilopascal>),
        unit(&["mbar"], Pressure::new::<millibar>),
        unit(&["mpa"], Pressure::new::<megapascal>),
    ];
    parse(
        "pressure",
        text,
        system,
        &units,
        "4.1 bar, 60 psi or 400 kPa",
    )
}

/// Length, such as `12 mm`, `0.5 in`. A bare number is millimetres or inches.
///
/// # Errors
/// As [`parse_pressure`].
pub fn parse_length(text: &str, system: UnitSystem) -> Result<Length, BenchError> {
    let units: [Unit<Length>; 6] = [
        unit(&["mm"], Length::new::<millimeter>),
        unit(&["in", "inch", "inches", "\""], Length::new::<inch>),
        unit(&["cm"], Length::new::<centimeter>),
        unit(&["m"], Length::new::<meter>),
        unit(&["um", "µm", "μm"], Length::new::<micrometer>),
        unit(&["thou", "mil"], Length::new::<mil>),
    ];
    parse("length", text, system, &units, "12 mm or 0.5 in")
}

/// Torque, such as `18 Nm`, `13 lbf ft`. A bare number is newton metres or pound-feet.
///
/// # Errors
/// As [`parse_pressure`].
pub fn parse_torque(text: &str, system: UnitSystem) -> Result<Torque, BenchError> {
    let units: [Unit<Torque>; 3] = [
        unit(&["nm", "n.m", "n·m", "n*m"], Torque::new::<newton_meter>),
        unit(
            &["lbfft", "ftlbf", "lbft", "ftlb", "lbf·ft", "ft·lbf"],
            Torque::new::<pound_force_foot>,
        ),
        unit(
            &["lbfin", "inlbf", "lbin", "inlb", "lbf·in", "in·lbf"],
            Torque::new::<pound_force_inch>,
        ),
    ];
    parse("torque", text, system, &units, "18 Nm or 13 lbf ft")
}

/// Force, such as `60 N`, `13 lbf`. A bare number is newton or pounds-force.
///
/// # Errors
/// As [`parse_pressure`].
pub fn parse_force(text: &str, system: UnitSystem) -> Result<Force, BenchError> {
    let units: [Unit<Force>; 2] = [
        unit(&["n"], Force::new::<newton>),
        unit(&["lbf", "lb"], Force::new::<pound_force>),
    ];
    parse("force", text, system, &units, "60 N or 13 lbf")
}

/// Distance driven, such as `120000 km`, `75000 mi`. A bare number is kilometres or miles.
///
/// # Errors
/// As [`parse_pressure`].
pub fn parse_distance(text: &str, system: UnitSystem) -> Result<Length, BenchError> {
    let units: [Unit<Length>; 2] = [
        unit(&["km"], Length::new::<kilometer>),
        unit(&["mi", "mile", "miles"], Length::new::<mile>),
    ];
    parse("distance", text, system, &units, "120000 km or 75000 mi")
}

/// Volume of oil, such as `0.8 l`, `1 qt` (US liquid). A bare number is litres or quarts.
///
/// # Errors
/// As [`parse_pressure`].
pub fn parse_volume(text: &str, system: UnitSystem) -> Result<Volume, BenchError> {
    let units: [Unit<Volume>; 3] = [
        unit(
            &["l", "litre", "litres", "liter", "liters"],
            Volume::new::<liter>,
        ),
        unit(&["qt", "quart", "quarts"], Volume::new::<quart_liquid>),
        unit(&["ml"], Volume::new::<milliliter>),
    ];
    parse("volume", text, system, &units, "0.8 l or 1 qt")
}

/// Angle in degrees, such as `12`, `12 deg`, `-12°`; the same in both systems.
///
/// # Errors
/// As [`parse_pressure`].
pub fn parse_angle(text: &str) -> Result<Angle, BenchError> {
    let units: [Unit<Angle>; 2] = [
        unit(&["deg", "°", "degrees"], Angle::new::<degree>),
        unit(&["deg"], Angle::new::<degree>),
    ];
    parse("angle", text, UnitSystem::Metric, &units, "12 or -12 deg")
}

/// A pressure to 0.01 bar or 0.1 psi.
pub fn format_pressure(pressure: Pressure, system: UnitSystem) -> String {
    match system {
        UnitSystem::Metric => written(pressure.get::<bar>(), 2, "bar"),
        UnitSystem::Us => written(pressure.get::<psi>(), 1, "psi"),
    }
}

/// A length to 0.01 mm or 0.001 in.
pub fn format_length(length: Length, system: UnitSystem) -> String {
    match system {
        UnitSystem::Metric => written(length.get::<millimeter>(), 2, "mm"),
        UnitSystem::Us => written(length.get::<inch>(), 3, "in"),
    }
}

/// A torque to 0.1 Nm or 0.1 lbf ft.
pub fn format_torque(torque: Torque, system: UnitSystem) -> String {
    match system {
        UnitSystem::Metric => written(torque.get::<newton_meter>(), 1, "Nm"),
        UnitSystem::Us => written(torque.get::<pound_force_foot>(), 1, "lbf ft"),
    }
}

/// A force to 1 N or 0.1 lbf.
pub fn format_force(force: Force, system: UnitSystem) -> String {
    match system {
        UnitSystem::Metric => written(force.get::<newton>(), 0, "N"),
        UnitSystem::Us => written(force.get::<pound_force>(), 1, "lbf"),
    }
}

/// A distance to whole kilometres or miles.
pub fn format_distance(distance: Length, system: UnitSystem) -> String {
    match system {
        UnitSystem::Metric => written(distance.get::<kilometer>(), 0, "km"),
        UnitSystem::Us => written(distance.get::<mile>(), 0, "mi"),
    }
}

/// A volume to 0.01 l or 0.01 US quart.
pub fn format_volume(volume: Volume, system: UnitSystem) -> String {
    match system {
        UnitSystem::Metric => written(volume.get::<liter>(), 2, "l"),
        UnitSystem::Us => written(volume.get::<quart_liquid>(), 2, "qt"),
    }
}

/// A number with its decimals and unit, `?` if it is none, and no minus before zero.
fn written(value: f64, decimals: usize, unit: &str) -> String {
    if !value.is_finite() {
        return format!("? {unit}");
    }
    let number = format!("{value:.decimals$}");
    let is_zero = number.bytes().all(|b| matches!(b, b'-' | b'0' | b'.'));
    let number = if is_zero {
        number.trim_start_matches('-')
    } else {
        &number
    };
    format!("{number} {unit}")
}

fn unit<Q>(words: &'static [&'static str], make: fn(f64) -> Q) -> Unit<Q> {
    Unit { words, make }
}

/// Reads a number and a unit. The first unit is the metric one of a bare number, the
/// second the US one. Capitals and blanks in units do not matter: none of the units here
/// differ from each other by a capital alone.
fn parse<Q>(
    quantity: &'static str,
    text: &str,
    system: UnitSystem,
    units: &[Unit<Q>],
    example: &'static str,
) -> Result<Q, BenchError> {
    let unreadable = || BenchError::Unreadable {
        quantity,
        text: text.chars().take(TEXT_MAX).collect(),
        example,
    };
    let (number, word) = split(text).ok_or_else(unreadable)?;
    let bare = match system {
        UnitSystem::Metric => 0,
        UnitSystem::Us => 1,
    };
    let found = if word.is_empty() {
        units.get(bare)
    } else {
        units.iter().find(|u| u.words.contains(&word.as_str()))
    };
    found.map(|u| (u.make)(number)).ok_or_else(unreadable)
}

/// The number at the start of a text, and the unit after it in small letters without
/// blanks or hyphens.
fn split(text: &str) -> Option<(f64, String)> {
    let text = text.trim();
    if text.len() > TEXT_MAX {
        return None;
    }
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-' | '−');
    let end = text.find(|c| !is_number(c)).unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    let number: f64 = plain_number(number)?.parse().ok()?;
    let unit: String = unit
        .chars()
        .filter(|c| !c.is_whitespace() && *c != '-')
        .flat_map(char::to_lowercase)
        .collect();
    (number.abs() <= NUMBER_MAX).then_some((number, unit))
}

/// A number with a decimal point. A decimal comma is understood; a comma before just
/// three last digits is not, since it may as well part the thousands.
fn plain_number(number: &str) -> Option<String> {
    let number = number.replace('−', "-");
    let Some((whole, decimals)) = number.split_once(',') else {
        return Some(number);
    };
    let doubtful = decimals.len() == 3 || decimals.contains([',', '.']) || whole.contains('.');
    (!doubtful && !decimals.is_empty()).then(|| format!("{whole}.{decimals}"))
}
