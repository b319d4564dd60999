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

/// The spellings of a unit, and how a quantity is made of a number of it.
type Spelled<Q> = (&'static [&'static str], fn(f64) -> Q);

/// A number of a unit, its decimals, and the unit's name.
type WrittenAs<Q> = (fn(&Q) -> f64, usize, &'static str);

/// A quantity as people write and read it.
pub struct Quantity<Q: 'static> {
    name: &'static str,
    /// What is asked for where it cannot be read.
    example: &'static str,
    /// A bare number is of the first, or of the second in the US system.
    units: &'static [Spelled<Q>],
    written: [WrittenAs<Q>; 2],
}

/// Gauge pressure, such as `60 psi`, `4.1 bar`, `400 kPa`; written to 0.01 bar or 0.1 psi.
pub const PRESSURE: Quantity<Pressure> = Quantity {
    name: "pressure",
    example: "4.1 bar, 60 psi or 400 kPa",
    units: &[
        (&["bar"], Pressure::new::<bar>),
        (&["psi", "lbf/in2", "lbf/in²"], Pressure::new::<psi>),
        (&["kpa"], Pressure::new::<kilopascal>),
        (&["mbar"], Pressure::new::<millibar>),
        (&["mpa"], Pressure::new::<megapascal>),
    ],
    written: [
        (Pressure::get::<bar>, 2, "bar"),
        (Pressure::get::<psi>, 1, "psi"),
    ],
};

/// Length, such as `12 mm`, `0.5 in`; written to 0.01 mm or 0.001 in.
pub const LENGTH: Quantity<Length> = Quantity {
    name: "length",
    example: "12 mm or 0.5 in",
    units: &[
        (&["mm"], Length::new::<millimeter>),
        (&["in", "inch", "inches", "\""], Length::new::<inch>),
        (&["cm"], Length::new::<centimeter>),
        (&["m"], Length::new::<meter>),
        (&["um", "µm", "μm"], Length::new::<micrometer>),
        (&["thou", "mil"], Length::new::<mil>),
    ],
    written: [
        (Length::get::<millimeter>, 2, "mm"),
        (Length::get::<inch>, 3, "in"),
    ],
};

/// Torque, such as `18 Nm`, `13 lbf ft`; written to 0.1 Nm or 0.1 lbf ft.
pub const TORQUE: Quantity<Torque> = Quantity {
    name: "torque",
    example: "18 Nm or 13 lbf ft",
    units: &[
        (&["nm", "n.m", "n·m", "n*m"], Torque::new::<newton_meter>),
        (
            &["lbfft", "ftlbf", "lbft", "ftlb", "lbf·ft", "ft·lbf"],
            Torque::new::<pound_force_foot>,
        ),
        (
            &["lbfin", "inlbf", "lbin", "inlb", "lbf·in", "in·lbf"],
            Torque::new::<pound_force_inch>,
        ),
    ],
    written: [
        (Torque::get::<newton_meter>, 1, "Nm"),
        (Torque::get::<pound_force_foot>, 1, "lbf ft"),
    ],
};

/// Force, such as `60 N`, `13 lbf`; written to 1 N or 0.1 lbf.
pub const FORCE: Quantity<Force> = Quantity {
    name: "force",
    example: "60 N or 13 lbf",
    units: &[
        (&["n"], Force::new::<newton>),
        (&["lbf", "lb"], Force::new::<pound_force>),
    ],
    written: [
        (Force::get::<newton>, 0, "N"),
        (Force::get::<pound_force>, 1, "lbf"),
    ],
};

/// Distance driven, such as `120000 km`, `75000 mi`; written to whole kilometres or miles.
pub const DISTANCE: Quantity<Length> = Quantity {
    name: "distance",
    example: "120000 km or 75000 mi",
    units: &[
        (&["km"], Length::new::<kilometer>),
        (&["mi", "mile", "miles"], Length::new::<mile>),
    ],
    written: [
        (Length::get::<kilometer>, 0, "km"),
        (Length::get::<mile>, 0, "mi"),
    ],
};

/// Volume of oil, such as `0.8 l`, `1 qt` (US liquid); written to 0.01 l or 0.01 qt.
pub const VOLUME: Quantity<Volume> = Quantity {
    name: "volume",
    example: "0.8 l or 1 qt",
    units: &[
        (
            &["l", "litre", "litres", "liter", "liters"],
            Volume::new::<liter>,
        ),
        (&["qt", "quart", "quarts"], Volume::new::<quart_liquid>),
        (&["ml"], Volume::new::<milliliter>),
    ],
    written: [
        (Volume::get::<liter>, 2, "l"),
        (Volume::get::<quart_liquid>, 2, "qt"),
    ],
};

/// Angle in degrees, such as `12`, `12 deg`, `-12°`; the same in both systems.
pub const ANGLE: Quantity<Angle> = Quantity {
    name: "angle",
    example: "12 or -12 deg",
    units: &[
        (&["deg", "°", "degrees"], Angle::new::<degree>),
        (&["deg"], Angle::new::<degree>),
    ],
    written: [(Angle::get::<degree>, 0, "deg"); 2],
};

impl<Q> Quantity<Q> {
    /// Reads a number and a unit. Capitals and blanks in units do not matter: none of the units
    /// here differ from each other by a capital alone.
    ///
    /// # Errors
    /// [`BenchError::Unreadable`] with the text. The sign is not judged here: the figure's
    /// own range is.
    pub fn parse(&self, text: &str, system: UnitSystem) -> Result<Q, BenchError> {
        let unreadable = || BenchError::Unreadable {
            quantity: self.name,
            text: text.chars().take(TEXT_MAX).collect(),
            example: self.example,
        };
        let (number, word) = split(text).ok_or_else(unreadable)?;
        let found = if word.is_empty() {
            self.units.get(system as usize)
        } else {
            let mut units = self.units.iter();
            units.find(|(words, _)| words.contains(&word.as_str()))
        };
        found.map(|(_, make)| make(number)).ok_or_else(unreadable)
    }

    /// As it is written, with its unit.
    pub fn format(&self, quantity: &Q, system: UnitSystem) -> String {
        let (get, decimals, unit) = self.written[system as usize];
        written(get(quantity), decimals, unit)
    }

    /// The unit that it is written in.
    pub fn unit(&self, system: UnitSystem) -> &'static str {
        self.written[system as usize].2
    }

    /// Of a number in the metric unit that a bare number is of.
    pub fn of_metric(&self, number: f64) -> Q {
        self.units[0].1(number)
    }

    /// As a number in that unit.
    pub fn in_metric(&self, quantity: &Q) -> f64 {
        self.written[0].0(quantity)
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
