//! How much oil an engine uses, from what was topped up.

use serde::Serialize;
use uom::si::f64::{Length, Volume};
use uom::si::length::{kilometer, mile};
use uom::si::volume::{liter, quart_liquid};

use super::range::{BenchError, limits};
use super::student::student_quantile;

/// Share that the interval covers.
const CONFIDENCE: f64 = 0.95;

/// Most top-ups of one estimate.
const TOP_UPS_MAX: usize = 100_000;

/// Oil topped up to the same mark as always.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TopUp {
    /// Odometer, kilometres.
    pub odometer_km: f64,
    /// What went in, litres.
    pub litres: f64,
}

/// A figure with its uncertainty.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Estimate {
    /// The figure.
    pub value: f64,
    /// Its standard error; `None` with two top-ups, which any line fits.
    pub standard_error: Option<f64>,
    /// Lower and upper end of the 95 percent interval; `None` as the standard error.
    pub interval: Option<(f64, f64)>,
}

/// Oil used, in both unit systems.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct OilRate {
    /// Litres per 1,000 km.
    pub litres_per_1000_km: Estimate,
    /// US quarts per 1,000 mi.
    pub quarts_per_1000_mi: Estimate,
    /// How many top-ups it rests on.
    pub top_ups: usize,
}

/// Oil used per distance: the slope of cumulative litres over odometer by ordinary
/// least squares with intercept, its standard error from the residuals with n - 2
/// degrees of freedom, and the 95 percent interval from Student's t.
///
/// Every top-up is taken to bring the oil back to the same mark. The first one then
/// only fixes the origin: how long its litres took to burn is unknown, so they count
/// as nothing, and the n-th point is the sum of the second to the n-th. The order of
/// the list does not matter; it is sorted by odometer.
///
/// An error in one top-up stays in every later sum, so the points are not independent
/// and the interval is narrower than a strict one. It shows how well the line fits.
///
/// # Errors
/// [`BenchError::OutOfRange`] for an odometer outside [`limits::ODOMETER`] or litres
/// outside [`limits::TOP_UP`], and for top-ups that are all at one odometer reading;
/// [`BenchError::TooFew`] below two top-ups.
pub fn oil_rate(top_ups: &[TopUp]) -> Result<OilRate, BenchError> {
    if top_ups.len() < 2 {
        return Err(BenchError::TooFew {
            quantity: "oil top-ups",
            given: top_ups.len(),
            needed: 2,
        });
    }
    super::Limit::new("oil top-ups", "", 2.0, TOP_UPS_MAX as f64).check(top_ups.len() as f64)?;
    let (slope, standard_error) = fit(&cumulative(top_ups)?);
    let t = match standard_error {
        Some(_) => student_quantile(CONFIDENCE, top_ups.len() as u32 - 2)?,
        None => 0.0,
    };
    let scaled = |factor: f64| {
        let (value, error) = (slope * factor, standard_error.map(|e| e * factor));
        Estimate {
            value,
            standard_error: error,
            interval: error.map(|e| (value - t * e, value + t * e)),
        }
    };
    let quarts = Volume::new::<liter>(1.0).get::<quart_liquid>();
    let miles = Length::new::<kilometer>(1.0).get::<mile>();
    Ok(OilRate {
        litres_per_1000_km: scaled(1_000.0),
        quarts_per_1000_mi: scaled(1_000.0 * quarts / miles),
        top_ups: top_ups.len(),
    })
}

/// Points (kilometres from the first top-up, litres since it), by odometer.
fn cumulative(top_ups: &[TopUp]) -> Result<Vec<(f64, f64)>, BenchError> {
    for t in top_ups {
        limits::ODOMETER.check(t.odometer_km)?;
        limits::TOP_UP.check(t.litres)?;
    }
    let mut sorted = top_ups.to_vec();
    sorted.sort_by(|a, b| a.odometer_km.total_cmp(&b.odometer_km));
    let start = sorted.first().map_or(0.0, |t| t.odometer_km);
    let driven = sorted.last().map_or(0.0, |t| t.odometer_km) - start;
    super::Limit::new(
        "distance between first and last top-up",
        "km",
        0.1,
        limits::ODOMETER.to,
    )
    .check(driven)?;
    let mut sum = 0.0;
    let point = |(i, t): (usize, &TopUp)| {
        sum += if i == 0 { 0.0 } else { t.litres };
        (t.odometer_km - start, sum)
    };
    Ok(sorted.iter().enumerate().map(point).collect())
}

/// Slope of the least-squares line and, from three points on, its standard error.
/// The points do not all lie at one abscissa.
fn fit(points: &[(f64, f64)]) -> (f64, Option<f64>) {
    let n = points.len() as f64;
    let mean_x = points.iter().map(|p| p.0).sum::<f64>() / n;
    let mean_y = points.iter().map(|p| p.1).sum::<f64>() / n;
    let sxx: f64 = points.iter().map(|p| (p.0 - mean_x).powi(2)).sum();
    let sxy: f64 = points.iter().map(|p| (p.0 - mean_x) * (p.1 - mean_y)).sum();
    let slope = sxy / sxx;
    let residual = |p: &(f64, f64)| (p.1 - mean_y) - slope * (p.0 - mean_x);
    let squares: f64 = points.iter().map(|p| residual(p).powi(2)).sum();
    let error = (points.len() > 2).then(|| (squares / (n - 2.0) / sxx).sqrt());
    (slope, error)
}
