//! What to do next and how long it will take: the exact working order round the
//! engine, and the time to go with its range.
//!
//! [`working_order`] answers the first from a layout and from wherever the job
//! stands; [`forecast`] answers the second from the job's own valve times.

mod circle;
mod dice;
mod fault;
mod forecast;
mod learning;
mod order;
mod robust;
mod scatter;
mod search;
mod spoken;
mod ways;

pub use fault::OrderFault;
pub use forecast::{
    Basis, FORECAST_SEED, Fallback, Forecast, ForecastQuestion, OWN_TIMES_MIN, forecast,
};
pub use learning::{LEARNING_RATE_MAX, LEARNING_RATE_MIN, LearningCurve, exponent, unit_factor};
pub use order::{OrderQuestion, PLANNED_CYLINDERS_MAX, Stop, WorkingOrder, working_order};
pub use robust::{median, quantile, theil_sen};
pub use spoken::{Spoken, round_for_speech};
