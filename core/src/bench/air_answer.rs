//! The air question for an engine layout: one position, or the whole window as a curve.

use serde::Serialize;
use uom::si::angle::degree;
use uom::si::f64::{Angle, Force, Length, Pressure, Torque};
use uom::si::force::newton;
use uom::si::length::millimeter;
use uom::si::pressure::bar;
use uom::si::torque::newton_meter;

use super::air::{Holding, TURNING_SAFETY, Verdict, hold_force, least_pressure, suggested_between};
use super::crank::Crank;
use super::range::{BenchError, limits};
use crate::engine::Layout;

/// Most points of one curve; a chart needs no more.
const CURVE_POINTS_MAX: usize = 10_000;

/// What is asked about the air in a cylinder.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct AirQuestion {
    /// Angle off compression TDC in degrees, -180 to 180; negative is before it.
    pub off_tdc_deg: f64,
    /// Gauge pressure set or meant to be set, in bar, if one is.
    pub pressure_bar: Option<f64>,
    /// Breakaway torque read on this very engine, in newton metres, if it was. It
    /// takes the place of the layout's.
    pub breakaway_nm: Option<f64>,
}

/// The breakaway torque that an answer rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Breakaway {
    /// The torque in newton metres.
    pub torque_nm: f64,
    /// Whether it was read on a torque wrench; otherwise it is assumed, and every
    /// figure that rests on it has to say so.
    pub measured: bool,
}

/// A figure that the layout does not allow, with the reason.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftOut {
    /// Field of the answer.
    pub figure: &'static str,
    /// Why it is not there, in a sentence.
    pub reason: String,
}

/// What the bench answers. Field names and verdicts are those of `trayzero air --json`.
/// Other cylinders' valve springs, acting through the cams, are not in the torque.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AirAnswer {
    /// How far the piston stands below its top, millimetres.
    pub piston_drop_mm: f64,
    /// Torque of the air on the crank, newton metres, negative before TDC. Needs a pressure.
    pub torque_nm: Option<f64>,
    /// Force that holds one intake valve, newton. Needs a pressure and the seat.
    pub hold_intake_n: Option<f64>,
    /// Force that holds one exhaust valve, newton. Needs a pressure and the seat.
    pub hold_exhaust_n: Option<f64>,
    /// Lowest gauge pressure that holds the smaller valve, bar. Needs both seats.
    pub lowest_bar: Option<f64>,
    /// Highest gauge pressure that neither turns the crank nor passes the rating, bar.
    pub highest_bar: f64,
    /// Geometric mean of both, bar. Needs a window.
    pub suggested_bar: Option<f64>,
    /// Largest angle off TDC at which the pressure (or the lowest, if none is given)
    /// does not turn the crank, degrees. `None` when it turns it nowhere.
    pub widest_off_tdc_deg: Option<f64>,
    /// What it comes to; `None` when an unknown seat leaves it open.
    pub verdict: Option<Verdict>,
    /// Figures that the layout does not allow, with the reason.
    #[serde(skip)]
    pub left_out: Vec<LeftOut>,
    /// The breakaway torque behind the figures.
    #[serde(skip)]
    pub breakaway: Breakaway,
}

/// One point of the pressure window's curve. Pressures are gauge.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WindowPoint {
    /// Angle off compression TDC in degrees.
    pub off_tdc_deg: f64,
    /// Lowest pressure that holds the smaller valve, bar; `None` without both seats.
    pub lowest_bar: Option<f64>,
    /// Highest pressure that neither turns the crank nor passes the rating, bar.
    pub highest_bar: f64,
}

impl AirQuestion {
    /// Answers for one engine layout.
    ///
    /// # Errors
    /// [`BenchError::OutOfRange`] naming the figure of the question or of the layout
    /// that lies outside its range.
    pub fn answer(&self, layout: &Layout) -> Result<AirAnswer, BenchError> {
        let bench = Bench::of(layout, self.breakaway_nm)?;
        let off_tdc = Angle::new::<degree>(self.off_tdc_deg);
        let holding = bench.holding(off_tdc)?;
        let pressure = self.pressure_bar.map(Pressure::new::<bar>);
        let torque = pressure
            .map(|p| bench.crank.torque(p, off_tdc))
            .transpose()?;
        let suggested = holding
            .least
            .and_then(|least| suggested_between(least, holding.highest()));
        let widest = match pressure.or(holding.least) {
            Some(p) => bench.crank.widest_angle(p, bench.still)?,
            None => None,
        };
        let verdict = match pressure {
            Some(p) => holding.judge(p),
            None => holding.window(),
        };
        Ok(AirAnswer {
            piston_drop_mm: bench.crank.piston_drop(off_tdc)?.get::<millimeter>(),
            torque_nm: torque.map(|t| t.get::<newton_meter>()),
            hold_intake_n: force_on(pressure, bench.intake_seat)?,
            hold_exhaust_n: force_on(pressure, bench.exhaust_seat)?,
            lowest_bar: holding.least.map(|p| p.get::<bar>()),
            highest_bar: holding.highest().get::<bar>(),
            suggested_bar: suggested.map(|p| p.get::<bar>()),
            widest_off_tdc_deg: widest.map(|a| a.get::<degree>()),
            verdict,
            left_out: bench.left_out(pressure.is_some(), verdict),
            breakaway: bench.breakaway,
        })
    }
}

/// The pressure window over angles off TDC, for a chart: one point an angle, in the
/// order given. `breakaway_nm` as in [`AirQuestion`].
///
/// # Errors
/// [`BenchError::OutOfRange`] as [`AirQuestion::answer`], and for more angles than a
/// chart can show.
pub fn air_window_curve(
    layout: &Layout,
    breakaway_nm: Option<f64>,
    offsets_deg: &[f64],
) -> Result<Vec<WindowPoint>, BenchError> {
    super::Limit::new("points of the curve", "", 0.0, CURVE_POINTS_MAX as f64)
        .check(offsets_deg.len() as f64)?;
    let bench = Bench::of(layout, breakaway_nm)?;
    let point = |&off_tdc_deg: &f64| {
        let holding = bench.holding(Angle::new::<degree>(off_tdc_deg))?;
        Ok(WindowPoint {
            off_tdc_deg,
            lowest_bar: holding.least.map(|p| p.get::<bar>()),
            highest_bar: holding.highest().get::<bar>(),
        })
    };
    offsets_deg.iter().map(point).collect()
}

/// The breakaway torque to reckon with: the one read on this engine, or the layout's.
pub fn breakaway_of(layout: &Layout, read_nm: Option<f64>) -> Breakaway {
    match read_nm {
        Some(torque_nm) => Breakaway {
            torque_nm,
            measured: true,
        },
        None => Breakaway {
            torque_nm: layout.breakaway_torque_nm,
            measured: layout.breakaway_measured,
        },
    }
}

/// A layout's figures, typed and checked.
struct Bench {
    crank: Crank,
    intake_seat: Option<Length>,
    exhaust_seat: Option<Length>,
    least: Option<Pressure>,
    rating: Pressure,
    still: Torque,
    breakaway: Breakaway,
}

impl Bench {
    fn of(layout: &Layout, breakaway_nm: Option<f64>) -> Result<Self, BenchError> {
        let breakaway = breakaway_of(layout, breakaway_nm);
        limits::BREAKAWAY.check(breakaway.torque_nm)?;
        limits::RATING.check(layout.pressure_rating_bar)?;
        let push = Force::new::<newton>(layout.fitting_push_n);
        let intake_seat = checked_seat(layout.intake_seat_mm)?;
        let exhaust_seat = checked_seat(layout.exhaust_seat_mm)?;
        let least = match (intake_seat, exhaust_seat) {
            (Some(a), Some(b)) => {
                let (on_a, on_b) = (least_pressure(push, a)?, least_pressure(push, b)?);
                // The smaller seat is the one that needs the higher pressure.
                Some(if on_a > on_b { on_a } else { on_b })
            }
            _ => None,
        };
        Ok(Self {
            crank: Crank::of(layout)?,
            intake_seat,
            exhaust_seat,
            least,
            rating: Pressure::new::<bar>(layout.pressure_rating_bar),
            still: Torque::new::<newton_meter>(breakaway.torque_nm / TURNING_SAFETY),
            breakaway,
        })
    }

    fn holding(&self, off_tdc: Angle) -> Result<Holding, BenchError> {
        Ok(Holding {
            least: self.least,
            turning: self.crank.turning_pressure(self.still, off_tdc)?,
            rating: self.rating,
        })
    }

    /// What cannot be said for want of a seat. Figures that are only not asked for, or
    /// that have no value at this position, are not among them.
    fn left_out(&self, pressure_given: bool, verdict: Option<Verdict>) -> Vec<LeftOut> {
        let missing = |seat: Option<Length>, side: &str| {
            seat.is_none()
                .then(|| format!("the layout gives no {side}_seat_mm"))
        };
        let no_intake = missing(self.intake_seat, "intake");
        let no_exhaust = missing(self.exhaust_seat, "exhaust");
        let either = no_intake.clone().or_else(|| no_exhaust.clone());
        let widest = either.clone().filter(|_| !pressure_given);
        let open = either.clone().filter(|_| verdict.is_none());
        let reasons = [
            ("hold_intake_n", no_intake),
            ("hold_exhaust_n", no_exhaust),
            ("lowest_bar", either.clone()),
            ("suggested_bar", either),
            ("widest_off_tdc_deg", widest),
            ("verdict", open),
        ];
        let left_out =
            |(figure, reason): (_, Option<String>)| reason.map(|reason| LeftOut { figure, reason });
        reasons.into_iter().filter_map(left_out).collect()
    }
}

/// A seat's diameter, if the layout gives it.
fn checked_seat(seat_mm: Option<f64>) -> Result<Option<Length>, BenchError> {
    let checked = seat_mm.map(|mm| limits::SEAT.check(mm)).transpose()?;
    Ok(checked.map(Length::new::<millimeter>))
}

/// Force of air on one seat in newton, if both are known.
fn force_on(pressure: Option<Pressure>, seat: Option<Length>) -> Result<Option<f64>, BenchError> {
    match (pressure, seat) {
        (Some(p), Some(d)) => Ok(Some(hold_force(p, d)?.get::<newton>())),
        _ => Ok(None),
    }
}
