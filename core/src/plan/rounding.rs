//! Minutes as they may honestly be said: "about 3 h 40, likely 3 h to 4 h 30", never a
//! false minute.

use serde::{Deserialize, Serialize};

use super::whole_job::JobForecast;

/// A forecast in rounded minutes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rounded {
    /// To the nearest 5, 10 or 30 minutes.
    pub about_min: u32,
    /// Rounded down to 5, 10 or 30 minutes.
    pub low_min: u32,
    /// Rounded up likewise.
    pub high_min: u32,
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

/// Minutes to the nearest 5, 10 or 30, at least the first step.
pub fn rounded_minutes(minutes: f64) -> u32 {
    let (step, _) = steps(minutes);
    ((minutes / step).round().max(1.0) * step) as u32
}

impl JobForecast {
    /// Rounds a forecast to what may honestly be said.
    pub fn rounded(&self) -> Rounded {
        let (_, end_step) = steps(self.about_min);
        Rounded {
            about_min: rounded_minutes(self.about_min),
            low_min: ((self.low_min / end_step).floor() * end_step) as u32,
            high_min: ((self.high_min / end_step).ceil().max(1.0) * end_step) as u32,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{JobForecast, Rounded};
    use crate::plan::{JobHours, ShopPace, WorkLeft};

    fn forecast(about_min: f64, low_min: f64, high_min: f64) -> JobForecast {
        let nothing =
            ShopPace::learn(&[], &[]).forecast(&JobHours::default(), &WorkLeft::default());
        JobForecast {
            about_min,
            low_min,
            high_min,
            ..nothing
        }
    }

    #[test]
    fn a_forecast_is_said_in_rounded_figures() {
        let table = [
            ((218.0, 190.0, 262.0), (220, 180, 270)),
            ((84.0, 71.3, 101.0), (85, 70, 110)),
            ((62.0, 52.0, 79.0), (60, 50, 80)),
            ((12.0, 8.1, 16.2), (10, 5, 20)),
            ((3.0, 2.0, 4.0), (5, 0, 5)),
            ((640.0, 520.0, 790.0), (630, 510, 810)),
        ];
        for ((about, low, high), (about_min, low_min, high_min)) in table {
            let said = Rounded {
                about_min,
                low_min,
                high_min,
            };
            assert_eq!(forecast(about, low, high).rounded(), said);
        }
    }

    #[test]
    fn the_figure_never_leaves_its_range() {
        for tenth in 1..6000 {
            let about = f64::from(tenth) / 10.0;
            let said = forecast(about, about * 0.99, about * 1.01).rounded();
            assert!(said.low_min <= said.about_min && said.about_min <= said.high_min);
            assert!(said.high_min.is_multiple_of(5) && said.low_min.is_multiple_of(5));
        }
    }
}
