//! What to do next and how long it will take: the exact working order round the
//! engine, and the time to go with its range.
//!
//! [`working_order`] answers the first from a layout and from wherever the job
//! stands; [`forecast`] answers the second from the job's own valve times.

mod around;
mod circle;
mod dice;
mod fault;
mod fit;
mod forecast;
mod hours;
mod learning;
mod order;
mod robust;
mod scatter;
mod score;
mod search;
mod shape;
mod shop;
mod small;
mod spoken;
mod valves;
mod ways;
mod whole_job;

pub use fault::OrderFault;
pub use forecast::{
    Basis, FORECAST_SEED, Fallback, Forecast, ForecastQuestion, OWN_TIMES_MIN, forecast,
};
pub use hours::{
    ByPhase, CLEAR_STEPS_A_BANK, CLOSING_STEPS, JobHours, SHORT_STEPS, STEPS_A_BANK, TAKE_IN_STEPS,
    ValveHours, ValveKind, ValveToDo, WORK_PHASES, WorkLeft, WorkPhase, count_steps, steps_of,
};
pub use learning::{LEARNING_RATE_MAX, LEARNING_RATE_MIN, LearningCurve, exponent, unit_factor};
pub use order::{OrderQuestion, PLANNED_CYLINDERS_MAX, Stop, WorkingOrder, working_order};
pub use robust::{median, quantile, theil_sen};
pub use score::{Score, scores_of, scores_of_all};
pub use shop::{JOBS_LOOKED_AT, Shop};
pub use spoken::{Spoken, round_for_speech};
pub use whole_job::{Footing, JobForecast, ROUGH_BELOW_JOBS};
