//! Figures as the tablet shows and reads them: metric or US, either accepted, with the
//! decimal sign of the language.

pub use trayzero_core::bench::{ANGLE, DISTANCE, FORCE, LENGTH, PRESSURE, TORQUE, VOLUME};
use trayzero_core::bench::{BenchError, OilRate, OilSince, Quantity, UnitSystem, rim_length};
use trayzero_core::engine::Layout;
use uom::si::angle::degree;
use uom::si::energy::{foot_pound, joule};
use uom::si::f64::{Angle, Energy, Length, Pressure, Volume, VolumeRate};
use uom::si::length::{inch, kilometer, mile, millimeter};
use uom::si::pressure::{bar, pound_force_per_square_inch};
use uom::si::volume::{liter, quart_liquid};
use uom::si::volume_rate::{cubic_foot_per_minute, liter_per_minute};

/// How figures are written: their units and their decimal sign.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Figures {
    /// The units.
    pub system: UnitSystem,
    decimal: &'static str,
}

/// Metric ones, as files and makers have them.
pub const METRIC: Figures = Figures {
    system: UnitSystem::Metric,
    decimal: ".",
};

impl Figures {
    /// In a system, with the decimal sign of a language.
    pub fn new(system: UnitSystem, decimal: &'static str) -> Self {
        Self { system, decimal }
    }

    fn written(self, plain: &str) -> String {
        plain.replace('.', self.decimal)
    }
}

/// A quantity, as it is shown, of a number in its metric unit.
fn shown<Q>(of: &Quantity<Q>, number: f64, figures: Figures) -> String {
    figures.written(&of.format(&of.of_metric(number), figures.system))
}

/// Reads a quantity, as a number in its metric unit.
///
/// # Errors
/// [`BenchError`], which names what was read.
pub fn read<Q>(of: &Quantity<Q>, text: &str, figures: Figures) -> Result<f64, BenchError> {
    let read = of.parse(text, figures.system)?;
    Ok(of.in_metric(&read))
}

/// The label of a field with the unit in which a bare figure is read.
pub fn field<Q>(label: &str, of: &Quantity<Q>, figures: Figures) -> String {
    format!("{label} ({})", of.unit(figures.system))
}

/// A gauge pressure in bar, as it is shown.
pub fn pressure(value_bar: f64, figures: Figures) -> String {
    shown(&PRESSURE, value_bar, figures)
}

/// A torque in newton metres, as it is shown.
pub fn torque(value_nm: f64, figures: Figures) -> String {
    shown(&TORQUE, value_nm, figures)
}

/// A force in newtons, as it is shown.
pub fn force(value_n: f64, figures: Figures) -> String {
    shown(&FORCE, value_n, figures)
}

/// A length in millimetres, as it is shown.
pub fn length(value_mm: f64, figures: Figures) -> String {
    shown(&LENGTH, value_mm, figures)
}

/// A distance in kilometres, as it is shown.
pub fn distance(value_km: f64, figures: Figures) -> String {
    shown(&DISTANCE, value_km, figures)
}

/// A volume in litres, as it is shown.
pub fn volume(value_l: f64, figures: Figures) -> String {
    shown(&VOLUME, value_l, figures)
}

/// An energy in joules, as it is shown: to 0.1 J or 0.1 ft lbf.
pub fn energy(value_j: f64, figures: Figures) -> String {
    let value = Energy::new::<joule>(value_j);
    figures.written(&match figures.system {
        UnitSystem::Metric => format!("{value_j:.1} J"),
        UnitSystem::Us => format!("{:.1} ft lbf", value.get::<foot_pound>()),
    })
}

/// A flow of free air in litres a minute, as it is shown: to 1 l/min or 0.1 cu ft/min.
pub fn air_flow(litres_a_minute: f64, figures: Figures) -> String {
    let flow = VolumeRate::new::<liter_per_minute>(litres_a_minute);
    figures.written(&match figures.system {
        UnitSystem::Metric => format!("{litres_a_minute:.0} l/min"),
        UnitSystem::Us => format!("{:.1} cu ft/min", flow.get::<cubic_foot_per_minute>()),
    })
}

/// Reads degrees, or millimetres and inches along a rim of the given diameter.
///
/// # Errors
/// [`BenchError`], which names what was read.
pub fn read_angle_or_rim(text: &str, rim_diameter_mm: Option<f64>) -> Result<f64, BenchError> {
    let along = text.trim_end();
    if let (true, Some(diameter)) = (
        along.ends_with("mm") || along.ends_with("in"),
        rim_diameter_mm,
    ) {
        let mm = read(&LENGTH, text, METRIC)?;
        return Ok(mm / (std::f64::consts::PI * diameter) * 360.0);
    }
    read(&ANGLE, text, METRIC)
}

/// Length along the pulley's rim of a turn, as a tape shows it: to 1 mm or 0.1 in. `None`
/// where the layout gives no rim.
pub fn along_rim(layout: &Layout, turn_deg: f64, figures: Figures) -> Option<String> {
    let rim = Length::new::<millimeter>(layout.rim_diameter_mm?);
    let turn = Angle::new::<degree>(turn_deg.abs());
    let along = rim_length(rim, turn).ok()?;
    Some(match figures.system {
        UnitSystem::Metric => format!("{:.0} mm", along.get::<millimeter>()),
        UnitSystem::Us => figures.written(&format!("{:.1} in", along.get::<inch>())),
    })
}

/// A gauge pressure in bar as it is read from a metre away: to 0.1 bar or 1 psi.
pub fn pressure_at_a_glance(value_bar: f64, figures: Figures) -> String {
    let value = Pressure::new::<bar>(value_bar);
    match figures.system {
        UnitSystem::Metric => figures.written(&format!("{value_bar:.1} bar")),
        UnitSystem::Us => format!("{:.0} psi", value.get::<pound_force_per_square_inch>()),
    }
}

/// An oil rate with its uncertainty, as it is shown.
pub fn oil_rate(rate: &OilRate, figures: Figures) -> String {
    let (estimate, unit) = match figures.system {
        UnitSystem::Metric => (&rate.litres_per_1000_km, LITRES_PER_DISTANCE),
        UnitSystem::Us => (&rate.quarts_per_1000_mi, QUARTS_PER_DISTANCE),
    };
    let plain = match estimate.interval {
        Some((low, high)) => format!(
            "{:.2} {unit} (95 %: {:.2} \u{2013} {:.2})",
            estimate.value,
            low.max(0.0),
            high
        ),
        None => format!("{:.2} {unit}", estimate.value),
    };
    figures.written(&plain)
}

/// Oil used over a stretch with its interval, as it is shown.
pub fn oil_since(oil: &OilSince, figures: Figures) -> String {
    let shown = |litres: f64| match figures.system {
        UnitSystem::Metric => litres,
        UnitSystem::Us => quarts_per_1000_mi(litres),
    };
    let [value, low, high] = [oil.litres_per_1000_km, oil.low, oil.high].map(shown);
    let unit = match figures.system {
        UnitSystem::Metric => LITRES_PER_DISTANCE,
        UnitSystem::Us => QUARTS_PER_DISTANCE,
    };
    figures.written(&format!("{value:.2} {unit} ({low:.2} \u{2013} {high:.2})"))
}

/// Oil used in litres per 1,000 km, as it is shown.
pub fn oil_used(litres_per_1000_km: f64, figures: Figures) -> String {
    let (used, unit) = match figures.system {
        UnitSystem::Metric => (litres_per_1000_km, LITRES_PER_DISTANCE),
        UnitSystem::Us => (quarts_per_1000_mi(litres_per_1000_km), QUARTS_PER_DISTANCE),
    };
    figures.written(&format!("{used:.2} {unit}"))
}

/// US quarts per 1,000 miles for litres per 1,000 km.
pub fn quarts_per_1000_mi(litres_per_1000_km: f64) -> f64 {
    let used = Volume::new::<liter>(litres_per_1000_km);
    let way = Length::new::<kilometer>(1.0);
    used.get::<quart_liquid>() / way.get::<mile>()
}

const LITRES_PER_DISTANCE: &str = "l / 1000 km";
const QUARTS_PER_DISTANCE: &str = "qt / 1000 mi";

/// A gauge pressure in bar as a bare figure in the system's own unit, for a field.
pub fn pressure_figure(value_bar: f64, figures: Figures) -> String {
    let shown = pressure(value_bar, figures);
    shown.split(' ').next().unwrap_or_default().to_owned()
}

/// How many of a system's units of pressure a bar is.
pub fn pressure_units_per_bar(figures: Figures) -> f64 {
    let one = Pressure::new::<bar>(1.0);
    match figures.system {
        UnitSystem::Metric => one.get::<bar>(),
        UnitSystem::Us => one.get::<pound_force_per_square_inch>(),
    }
}
