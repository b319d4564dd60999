//! A forecast as it is said: "about 3 h 40, likely 3 h to 4 h 30", never a false minute.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::forecast::{Basis, Forecast};

/// A forecast in rounded minutes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Spoken {
    /// A figure with its range.
    Range {
        /// To the nearest 5, 10 or 30 minutes.
        about_min: u32,
        /// Rounded down to 5, 10 or 30 minutes.
        low_min: u32,
        /// Rounded up likewise.
        high_min: u32,
    },
    /// Only handling is left, and it does not scatter.
    About {
        /// To the nearest 5, 10 or 30 minutes.
        about_min: u32,
    },
    /// Only a floor is known.
    AtLeast {
        /// To the nearest 5, 10 or 30 minutes.
        about_min: u32,
    },
}

/// Steps in minutes for the figure and for the ends of its range: the longer it
/// lasts the coarser, and the ends no finer than the figure.
fn steps(about_min: f64) -> (f64, f64) {
    match about_min {
        m if m < 30.0 => (5.0, 5.0),
        m if m < 120.0 => (5.0, 10.0),
        m if m < 300.0 => (10.0, 30.0),
        _ => (30.0, 30.0),
    }
}

/// Rounds a forecast to what may honestly be said.
pub fn round_for_speech(forecast: &Forecast) -> Spoken {
    let (step, end_step) = steps(forecast.about_min);
    let about_min = ((forecast.about_min / step).round().max(1.0) * step) as u32;
    match (forecast.basis, forecast.high_min) {
        (Basis::NoValveLeft, _) => Spoken::About { about_min },
        (_, None) => Spoken::AtLeast { about_min },
        (_, Some(high)) => Spoken::Range {
            about_min,
            low_min: ((forecast.low_min / end_step).floor() * end_step) as u32,
            high_min: ((high / end_step).ceil().max(1.0) * end_step) as u32,
        },
    }
}

/// "45 min", "3 h", "3 h 40", "3 h 05".
struct Lasting(u32);

impl fmt::Display for Lasting {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.0 / 60, self.0 % 60) {
            (0, minutes) => write!(f, "{minutes} min"),
            (hours, 0) => write!(f, "{hours} h"),
            (hours, minutes) => write!(f, "{hours} h {minutes:02}"),
        }
    }
}

impl fmt::Display for Spoken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Spoken::Range {
                about_min,
                low_min,
                high_min,
            } => {
                let (about, high) = (Lasting(about_min), Lasting(high_min));
                match low_min {
                    0 => write!(f, "about {about}, likely up to {high}"),
                    low => write!(f, "about {about}, likely {} to {high}", Lasting(low)),
                }
            }
            Spoken::About { about_min } => write!(f, "about {}", Lasting(about_min)),
            Spoken::AtLeast { about_min } => write!(
                f,
                "at least {}; how long a valve takes is not known yet",
                Lasting(about_min)
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Basis, Forecast, round_for_speech};

    fn said(about_min: f64, low_min: f64, high_min: Option<f64>) -> String {
        let basis = match high_min {
            Some(_) => Basis::OwnTimes { valves: 12 },
            None => Basis::HandlingAlone,
        };
        let forecast = Forecast {
            about_min,
            low_min,
            high_min,
            basis,
        };
        round_for_speech(&forecast).to_string()
    }

    #[test]
    fn a_forecast_is_said_in_rounded_figures() {
        let table = [
            (
                218.0,
                190.0,
                Some(262.0),
                "about 3 h 40, likely 3 h to 4 h 30",
            ),
            (
                84.0,
                71.3,
                Some(101.0),
                "about 1 h 25, likely 1 h 10 to 1 h 50",
            ),
            (62.0, 52.0, Some(79.0), "about 1 h, likely 50 min to 1 h 20"),
            (64.0, 60.0, Some(79.0), "about 1 h 05, likely 1 h to 1 h 20"),
            (
                12.0,
                8.1,
                Some(16.2),
                "about 10 min, likely 5 min to 20 min",
            ),
            (3.0, 2.0, Some(4.0), "about 5 min, likely up to 5 min"),
            (
                640.0,
                520.0,
                Some(790.0),
                "about 10 h 30, likely 8 h 30 to 13 h 30",
            ),
            (
                41.0,
                41.0,
                None,
                "at least 40 min; how long a valve takes is not known yet",
            ),
        ];
        for (about, low, high, words) in table {
            assert_eq!(said(about, low, high), words, "{about} {low} {high:?}");
        }
    }

    #[test]
    fn the_figure_never_leaves_its_range() {
        for tenth in 1..6000 {
            let about_min = f64::from(tenth) / 10.0;
            let forecast = Forecast {
                about_min,
                low_min: about_min * 0.99,
                high_min: Some(about_min * 1.01),
                basis: Basis::OwnTimes { valves: 4 },
            };
            let super::Spoken::Range {
                about_min,
                low_min,
                high_min,
            } = round_for_speech(&forecast)
            else {
                panic!("a forecast with an upper end has a range");
            };
            assert!(low_min <= about_min && about_min <= high_min);
            assert!(high_min.is_multiple_of(5) && low_min.is_multiple_of(5));
        }
    }
}
