//! What a figure may be, and the error that says so.

use serde::{Serialize, Serializer};
use thiserror::Error;

/// Share of a limit by which a figure may pass it, so that turning degrees into
/// radians and back does not refuse the very edge of a range.
const ROUNDING: f64 = 1e-12;

/// The range of one quantity, both ends allowed, in the unit named.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// The quantity, in the words of the bay.
    pub quantity: &'static str,
    /// The unit of both ends.
    pub unit: &'static str,
    /// The least value.
    pub from: f64,
    /// The greatest value.
    pub to: f64,
}

impl Limit {
    /// Names a range; both ends belong to it.
    pub const fn new(quantity: &'static str, unit: &'static str, from: f64, to: f64) -> Self {
        Self {
            quantity,
            unit,
            from,
            to,
        }
    }

    /// Gives the value back if it lies in the range.
    ///
    /// # Errors
    /// [`BenchError::OutOfRange`] for anything else, NaN and infinities included.
    pub fn check(&self, value: f64) -> Result<f64, BenchError> {
        let slack = ROUNDING * self.from.abs().max(self.to.abs());
        if value >= self.from - slack && value <= self.to + slack {
            Ok(value)
        } else {
            Err(BenchError::OutOfRange {
                quantity: self.quantity,
                value,
                unit: self.unit,
                from: self.from,
                to: self.to,
            })
        }
    }

    /// This range with other ends, for limits that depend on another figure.
    #[must_use]
    pub const fn between(mut self, from: f64, to: f64) -> Self {
        self.from = from;
        self.to = to;
        self
    }
}

/// Ranges of the figures that the bench works with. They are wider than any road
/// engine; they keep a slip of the finger from becoming an answer.
pub mod limits {
    use super::Limit;

    /// Cylinder bore.
    pub const BORE: Limit = Limit::new("bore", "mm", 1.0, 2_000.0);
    /// Stroke.
    pub const STROKE: Limit = Limit::new("stroke", "mm", 1.0, 4_000.0);
    /// Connecting rod, centre to centre. It must also be longer than half the stroke.
    pub const ROD: Limit = Limit::new("rod length", "mm", 1.0, 20_000.0);
    /// Number of cylinders.
    pub const CYLINDERS: Limit = Limit::new("number of cylinders", "", 1.0, 64.0);
    /// Angle off compression TDC; negative is before it.
    pub const OFF_TDC: Limit = Limit::new("angle off TDC", "deg", -180.0, 180.0);
    /// Angle read on the crank.
    pub const CRANK: Limit = Limit::new("crank angle", "deg", -720.0, 720.0);
    /// Gauge pressure of the air in a cylinder.
    pub const PRESSURE: Limit = Limit::new("pressure", "bar", 0.0, 1_000.0);
    /// Lowest rating among hose, regulator and tester.
    pub const RATING: Limit = Limit::new("pressure rating", "bar", 0.01, 1_000.0);
    /// Breakaway torque of the crank, plugs out.
    pub const BREAKAWAY: Limit = Limit::new("breakaway torque", "Nm", 0.01, 100_000.0);
    /// Inner diameter of a valve seat.
    pub const SEAT: Limit = Limit::new("seat diameter", "mm", 1.0, 2_000.0);
    /// Push on the stem while locks are fitted.
    pub const PUSH: Limit = Limit::new("fitting push", "N", 0.0, 10_000.0);
    /// Diameter of a pulley's rim.
    pub const RIM: Limit = Limit::new("rim diameter", "mm", 1.0, 10_000.0);
    /// Gauge pressure of a leak tester's supply.
    pub const SUPPLY: Limit = Limit::new("supply pressure", "bar", 0.01, 50.0);
    /// Gauge pressure that builds up in the cylinder on the leak tester.
    pub const CYLINDER: Limit = Limit::new("cylinder pressure", "bar", 0.0, 50.0);
    /// Orifice of the leak tester.
    pub const ORIFICE: Limit = Limit::new("orifice diameter", "mm", 0.05, 25.0);
    /// Load of a seated valve spring.
    pub const SPRING_LOAD: Limit = Limit::new("seated spring load", "N", 0.0, 100_000.0);
    /// Rate of a spring.
    pub const SPRING_RATE: Limit = Limit::new("spring rate", "N/mm", 0.001, 100_000.0);
    /// Height of a spring, seated or solid.
    pub const SPRING_HEIGHT: Limit = Limit::new("spring height", "mm", 0.1, 2_000.0);
    /// Travel of a spring.
    pub const SPRING_TRAVEL: Limit = Limit::new("spring travel", "mm", 0.0, 2_000.0);
    /// Rock of a stem at its tip, end to end.
    pub const ROCK: Limit = Limit::new("rock at the stem tip", "mm", 0.0, 50.0);
    /// Length of a valve guide.
    pub const GUIDE_LENGTH: Limit = Limit::new("guide length", "mm", 1.0, 2_000.0);
    /// Height of the stem's tip above its guide.
    pub const TIP_ABOVE: Limit = Limit::new("tip above the guide", "mm", 0.0, 2_000.0);
    /// Odometer.
    pub const ODOMETER: Limit = Limit::new("odometer", "km", 0.0, 10_000_000.0);
    /// One top-up of oil.
    pub const TOP_UP: Limit = Limit::new("oil topped up", "l", 0.0, 1_000.0);
}

/// Why the bench has no answer.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum BenchError {
    /// A figure lies outside its range.
    #[error("{quantity} = {}: allowed is {} to {}",
        written(*.value, .unit), written(*.from, ""), written(*.to, .unit))]
    OutOfRange {
        /// The quantity.
        quantity: &'static str,
        /// What was given.
        value: f64,
        /// Unit of the value and of both ends.
        unit: &'static str,
        /// Least value allowed.
        from: f64,
        /// Greatest value allowed.
        to: f64,
    },
    /// A text could not be read as a quantity.
    #[error("{quantity} \"{text}\" cannot be read: write {example}")]
    Unreadable {
        /// The quantity asked for.
        quantity: &'static str,
        /// The text as given, shortened.
        text: String,
        /// Texts that would do.
        example: &'static str,
    },
    /// Too few readings for a figure.
    #[error("{quantity}: {given} given, at least {needed} needed")]
    TooFew {
        /// What was counted.
        quantity: &'static str,
        /// How many there were.
        given: usize,
        /// How many are needed.
        needed: usize,
    },
}

impl Serialize for BenchError {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

impl BenchError {
    /// The quantity at fault.
    pub fn quantity(&self) -> &'static str {
        match self {
            Self::OutOfRange { quantity, .. }
            | Self::Unreadable { quantity, .. }
            | Self::TooFew { quantity, .. } => quantity,
        }
    }
}

/// A figure to nine digits, so that the last binary digit of a sum does not make a long
/// tail of decimals, and its unit unless it is a bare count.
fn written(value: f64, unit: &str) -> String {
    let rounded = format!("{value:.8e}").parse().unwrap_or(value);
    if unit.is_empty() {
        format!("{rounded}")
    } else {
        format!("{rounded} {unit}")
    }
}
