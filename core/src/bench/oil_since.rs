//! Oil used over one stretch of road, from what was poured in to bring it back to the mark,
//! with what errors of reading leave open.

use serde::Serialize;

use super::oil::OilRate;
use super::range::{BenchError, Limit};

/// A level is read at the mark to within so many litres, at each end of the stretch (common
/// practice, no source).
pub const MARK_ERROR_L: f64 = 0.1;
/// What is poured is measured to within this share of it (common practice, no source).
pub const POURED_ERROR: f64 = 0.05;
/// An odometer tells a distance to within this share of it (common practice, no source).
pub const DISTANCE_ERROR: f64 = 0.02;

/// Twice the standard uncertainty: about 95 percent.
const COVERAGE: f64 = 2.0;

/// The stretches that are taken: shorter ones say nothing, longer ones nobody remembers.
pub const STRETCH_KM: Limit = Limit::new("distance since the work", "km", 50.0, 200_000.0);
/// What is poured in over one of them.
pub const POURED_L: Limit = Limit::new("oil added since the work", "l", 0.0, 200.0);

/// Litres per 1,000 km with an interval of about 95 percent.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct OilSince {
    /// The figure.
    pub litres_per_1000_km: f64,
    /// Its standard uncertainty; none where it comes from the scatter of top-ups alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub standard_uncertainty: Option<f64>,
    /// Lower end: never below nothing.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Which way oil use has gone from one stretch to another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OilWent {
    /// All of the later interval lies below the earlier one.
    Down,
    /// The two intervals overlap: nothing can be said.
    NotClear,
    /// All of the later interval lies above the earlier one.
    Up,
}

impl OilSince {
    /// Which way it has gone since an earlier stretch.
    pub fn went_since(&self, before: &OilSince) -> OilWent {
        if self.high < before.low {
            OilWent::Down
        } else if self.low > before.high {
            OilWent::Up
        } else {
            OilWent::NotClear
        }
    }
}

/// Oil used per distance, from litres poured in over a stretch. The law of propagation of
/// uncertainty of the GUM (JCGM 100:2008, 5.1.2; NIST TN 1297, appendix A; both from memory)
/// for r = (V + a - b) / d: each error is taken to be as likely anywhere within its bound
/// (standard uncertainty: bound over the root of 3), the errors to be independent, and the
/// interval to be twice the combined uncertainty to each side.
///
/// # Errors
/// [`BenchError::OutOfRange`] outside [`STRETCH_KM`] or [`POURED_L`].
pub fn oil_since(distance_km: f64, litres: f64) -> Result<OilSince, BenchError> {
    STRETCH_KM.check(distance_km)?;
    POURED_L.check(litres)?;
    let within = |bound: f64| bound / 3.0_f64.sqrt();
    let rate = litres / distance_km * 1_000.0;
    let per_km = 1_000.0 / distance_km;
    let marks = 2.0 * (per_km * within(MARK_ERROR_L)).powi(2);
    let poured = (per_km * within(POURED_ERROR * litres)).powi(2);
    let road = (rate * within(DISTANCE_ERROR)).powi(2);
    let uncertainty = (marks + poured + road).sqrt();
    Ok(OilSince {
        litres_per_1000_km: rate,
        standard_uncertainty: Some(uncertainty),
        low: (rate - COVERAGE * uncertainty).max(0.0),
        high: rate + COVERAGE * uncertainty,
    })
}

/// The rate before the work over a whole stretch of top-ups, with the wider of two intervals:
/// that of the scatter from fill to fill, and that of errors of reading over the stretch.
///
/// # Errors
/// As [`oil_since`] for the stretch.
pub fn oil_before(rate: &OilRate, distance_km: f64) -> Result<OilSince, BenchError> {
    let estimate = rate.litres_per_1000_km;
    let read = oil_since(distance_km, estimate.value * distance_km / 1_000.0)?;
    let Some((low, high)) = estimate.interval else {
        return Ok(read);
    };
    Ok(OilSince {
        low: low.min(read.low).max(0.0),
        high: high.max(read.high),
        ..read
    })
}
