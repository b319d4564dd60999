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
    /// Its standard error; `None` with two top-ups, which any rate fits.
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

/// Oil used per distance: all litres over all kilometres between the first top-up and
/// the last, with a 95 percent interval from Student's t and n - 2 degrees of freedom.
///
/// Every top-up is taken to bring the oil back to the same mark. The first one then
/// only fixes the origin: how long its litres took to burn is unknown, so they count
/// as nothing. The order of the list does not matter; it is sorted by odometer.
///
/// The interval assumes that each fill errs by itself and in proportion to what it is:
/// litres read off by some percent, or use that varies from fill to fill. It does not
/// know of a mark that was missed (what is too much at one fill is too little at the
/// next), nor of a trend. The estimator is the ratio of sums, its error the sandwich of
/// the residuals with the leverage taken out (Cochran, Sampling Techniques, ch. 6; `MacKinnon`
/// and White 1985, HC2; from memory).
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
    let (rate, standard_error) = ratio(&fills(top_ups)?);
    let t = match standard_error {
        Some(_) => student_quantile(CONFIDENCE, top_ups.len() as u32 - 2)?,
        None => 0.0,
    };
    let scaled = |factor: f64| {
        let (value, error) = (rate * factor, standard_error.map(|e| e * factor));
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

/// Kilometres and litres of each fill after the first top-up, by odometer.
fn fills(top_ups: &[TopUp]) -> Result<Vec<(f64, f64)>, BenchError> {
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
    let fill = |pair: &[TopUp]| (pair[1].odometer_km - pair[0].odometer_km, pair[1].litres);
    Ok(sorted.windows(2).map(fill).collect())
}

/// Litres a kilometre and, from two fills on, its standard error. The kilometres do not
/// sum to nothing.
fn ratio(fills: &[(f64, f64)]) -> (f64, Option<f64>) {
    let driven: f64 = fills.iter().map(|f| f.0).sum();
    let rate = fills.iter().map(|f| f.1).sum::<f64>() / driven;
    // A fill over all the distance leaves no residual and says nothing of its error.
    let squares: f64 = fills
        .iter()
        .filter(|(km, _)| *km < driven)
        .map(|(km, litres)| (litres - rate * km).powi(2) / (1.0 - km / driven))
        .sum();
    let error = (fills.len() > 1).then(|| squares.sqrt() / driven);
    (rate, error)
}
