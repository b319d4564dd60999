//! Mean and variance of minutes, and of how many times its like a valve takes.

/// A valve that took more than ten times its like is taken as ten times.
const RATIO_MAX: f64 = 10.0;

/// Mean and variance of some minutes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Moments {
    pub mean: f64,
    pub variance: f64,
}

/// How many times its like a valve takes: count, sum, sum of squares.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Ratio {
    pub count: f64,
    pub sum: f64,
    pub squares: f64,
}

impl Ratio {
    pub fn add(&mut self, ratio: f64) {
        let ratio = ratio.min(RATIO_MAX);
        self.count += 1.0;
        self.sum += ratio;
        self.squares += ratio * ratio;
    }

    pub fn moments(&self) -> Moments {
        if self.count == 0.0 {
            return Moments {
                mean: 1.0,
                variance: 0.0,
            };
        }
        let mean = self.sum / self.count;
        Moments {
            mean,
            variance: (self.squares / self.count - mean * mean).max(0.0),
        }
    }
}

/// Minutes of one valve that are believed: from under a second to a week.
pub(super) fn believed(minutes: f64) -> Option<f64> {
    (0.01..=10_080.0).contains(&minutes).then_some(minutes)
}
