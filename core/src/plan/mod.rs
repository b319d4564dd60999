//! What to do next and how long it will take: the exact working order round the engine,
//! and the end of the whole job with its range.
//!
//! [`working_order`] answers the first from a layout and from wherever the job stands.
//! [`ShopPace`] learns from a shop's finished jobs and answers the second.

mod around;
mod circle;
mod fault;
mod fit;
mod hours;
mod moments;
mod order;
mod pace;
mod question;
mod robust;
mod rounding;
mod score;
mod scored_job;
mod search;
mod shape;
mod small;
mod spent;
mod valves;
mod ways;
mod whole_job;

pub use fault::OrderFault;
pub use hours::{
    ByPhase, CLEAR_STEPS_A_BANK, CLOSING_STEPS, JobHours, Loss, LossKind, SHORT_STEPS,
    STEPS_A_BANK, TAKE_IN_STEPS, ValveHours, ValveKind, ValveToDo, WORK_PHASES, WorkLeft,
    WorkPhase, count_steps, steps_of,
};
pub use order::{Stop, WorkingOrder, working_order};
pub use pace::{JOBS_LOOKED_AT, ShopPace};
pub use question::{OrderQuestion, PLANNED_CYLINDERS_MAX};
pub use robust::{median, quantile};
pub use rounding::{Rounded, rounded_minutes};
pub use score::Score;
pub use scored_job::scores_of;
pub use spent::{DropCost, EngineHours};
pub use whole_job::{Footing, JobForecast, ROUGH_BELOW_JOBS};
