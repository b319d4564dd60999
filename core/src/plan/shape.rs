//! How the times of a job's valves may hang together: what a valve's time hangs on, when
//! learning ends, and how a pace drifts.

use super::hours::ValveKind;
use super::small::Matrix;

/// What the logarithm of a valve's minutes hangs on: the level, its number (Wright 1936),
/// its side, and whether it is the first of its cylinder.
pub(super) const FEATURES: usize = 4;

/// A figure for each feature.
pub(super) type Features = [f64; FEATURES];

/// The valve from which numbers are counted, so that level and learning come apart.
const MIDDLE_VALVE: f64 = 6.0;

/// One way in which times may hang together. Several are weighed against each other by
/// how well they tell what the shop has seen.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shape {
    /// From this valve on nobody learns any more.
    pub plateau: f64,
    /// Variance of the drifting pace, in units of a single valve's.
    pub drift: f64,
    /// Share of the drift that is still there one valve later.
    pub keep: f64,
    /// Whether the drift begins anew at each cylinder, besides after a night.
    pub by_cylinder: bool,
}

const NO_PLATEAU: f64 = 1e9;

/// Drift: none, quick, slow, a pace that wanders, and cylinders that go hard or easily.
const DRIFTS: [(f64, f64, bool); 6] = [
    (0.0, 0.0, false),
    (0.7, 0.85, false),
    (2.0, 0.95, false),
    (8.0, 0.97, false),
    (1.0, 1.0, true),
    (4.0, 1.0, true),
];

/// Every shape that is weighed.
pub(super) fn shapes() -> impl Iterator<Item = Shape> {
    [6.0, 12.0, NO_PLATEAU].into_iter().flat_map(|plateau| {
        DRIFTS
            .into_iter()
            .map(move |(drift, keep, by_cylinder)| Shape {
                plateau,
                drift,
                keep,
                by_cylinder,
            })
    })
}

impl Shape {
    /// Learning up to the twelfth valve and no drift: for a first look.
    pub const PLAIN: Self = Self {
        plateau: 12.0,
        drift: 0.0,
        keep: 0.0,
        by_cylinder: false,
    };

    /// What the time of a valve hangs on; `number` counts the job's valves from 1.
    pub fn features(&self, number: usize, kind: ValveKind) -> Features {
        let side = match kind.exhaust {
            Some(true) => 0.5,
            Some(false) => -0.5,
            None => 0.0,
        };
        [
            1.0,
            ((number as f64).min(self.plateau) / MIDDLE_VALVE).ln(),
            side,
            f64::from(u8::from(kind.opens_cylinder)),
        ]
    }

    /// Whether the drift begins anew between two valves.
    pub fn begins_anew(&self, before: Option<ValveKind>, kind: ValveKind) -> bool {
        before.is_none_or(|b| b.day != kind.day) || (self.by_cylinder && kind.opens_cylinder)
    }
}

/// A valve of a run: its kind, and the logarithm of its minutes where it counts.
pub(super) type Point = (ValveKind, Option<f64>);

/// A run of valves with the drift taken out: what remains is independent from valve to
/// valve, so that plain least squares apply. In units of a single valve's variance.
#[derive(Clone, Debug, Default)]
pub(super) struct Whitened {
    /// Features and logarithm of minutes of each valve that counts.
    pub rows: Vec<(Features, f64)>,
    /// Sums over the rows: features by features, by minutes, and minutes by minutes.
    pub squares: Matrix<FEATURES>,
    pub products: Features,
    pub sum: f64,
    /// Logarithm of the determinant of what was taken out.
    pub ln_determinant: f64,
}

impl Whitened {
    /// Takes the drift of a shape out of a run whose first valve has the number
    /// `before` + 1. This is the filter of Kalman (1960) for one drifting figure.
    pub fn of(points: &[Point], before: usize, shape: &Shape) -> Self {
        let mut white = Self::default();
        let mut drift = [0.0; FEATURES + 1];
        let mut variance = shape.drift;
        let mut last = None;
        for (at, (kind, minutes)) in points.iter().enumerate() {
            if shape.begins_anew(last, *kind) {
                drift = [0.0; FEATURES + 1];
                variance = shape.drift;
            } else {
                drift = drift.map(|d| d * shape.keep);
                let kept = shape.keep * shape.keep;
                variance = kept * variance + (1.0 - kept) * shape.drift;
            }
            last = Some(*kind);
            let Some(minutes) = minutes else { continue };
            let whole = variance + 1.0;
            let gain = variance / whole;
            let features = shape.features(before + at + 1, *kind);
            let mut row = [0.0; FEATURES + 1];
            for (k, value) in features.iter().chain([minutes]).enumerate() {
                let off = value - drift[k];
                drift[k] += gain * off;
                row[k] = off / whole.sqrt();
            }
            variance *= 1.0 - gain;
            white.add(row, whole.ln());
        }
        white
    }

    fn add(&mut self, row: [f64; FEATURES + 1], ln_variance: f64) {
        let mut features = [0.0; FEATURES];
        features.copy_from_slice(&row[..FEATURES]);
        let minutes = row[FEATURES];
        for a in 0..FEATURES {
            for b in 0..FEATURES {
                self.squares[a][b] += features[a] * features[b];
            }
            self.products[a] += features[a] * minutes;
        }
        self.sum += minutes * minutes;
        self.ln_determinant += ln_variance;
        self.rows.push((features, minutes));
    }
}
