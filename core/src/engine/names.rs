//! Names of valves.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Which of the two sides of a cylinder a valve is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// Where the mixture or the air comes in.
    Intake,
    /// Where the burnt gas goes out.
    Exhaust,
}

impl Side {
    /// The word used in layouts and journals.
    pub fn word(self) -> &'static str {
        match self {
            Side::Intake => "intake",
            Side::Exhaust => "exhaust",
        }
    }
}

/// One valve: cylinder number as the maker counts, side, place from the front (1, 2, ...).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ValveName {
    /// Cylinder number.
    pub cylinder: u8,
    /// Side of the cylinder.
    pub side: Side,
    /// Place on that side, 1 at the front.
    pub place: u8,
}

impl ValveName {
    /// Builds a name; whether the engine has such a valve is the layout's to say.
    pub const fn new(cylinder: u8, side: Side, place: u8) -> Self {
        Self {
            cylinder,
            side,
            place,
        }
    }

    /// The name inside its cylinder, such as `exhaust 2`.
    pub fn within_cylinder(self) -> String {
        format!("{} {}", self.side.word(), self.place)
    }

    /// Joins a cylinder number and a name such as `intake 1`.
    ///
    /// # Errors
    /// [`ValveNameError`] if the text is not a side, a blank and a place from 1 on.
    pub fn parse(cylinder: u8, within: &str) -> Result<Self, ValveNameError> {
        let fault = || ValveNameError {
            text: within.to_owned(),
        };
        let (side, place) = within.split_once(' ').ok_or_else(fault)?;
        let side = match side {
            "intake" => Side::Intake,
            "exhaust" => Side::Exhaust,
            _ => return Err(fault()),
        };
        let place = u8::from_str(place).map_err(|_| fault())?;
        if place == 0 {
            return Err(fault());
        }
        Ok(Self::new(cylinder, side, place))
    }
}

impl fmt::Display for ValveName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "cylinder {} {} {}",
            self.cylinder,
            self.side.word(),
            self.place
        )
    }
}

/// A text that is no valve's name.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("\"{text}\" is no valve: write a side and a place, such as \"intake 1\"")]
pub struct ValveNameError {
    /// The text as given.
    pub text: String,
}
