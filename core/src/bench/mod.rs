//! The arithmetic of the bench: crank, air, leak-down, spring, guide and oil.
//!
//! Every function here is total. A figure outside its range is a [`BenchError`]
//! that names the quantity, what was given and what is allowed; no answer is ever
//! NaN or infinite. Quantities carry their unit in their type ([`uom`]); where a
//! bare number crosses the border to a file or a screen, its name ends in the unit.
//!
//! Nothing here knows a job. [`AirQuestion`] and [`LeakGauges`] are the two ways
//! in for a screen or a script; the other modules' functions stand on their own.

/// The unit library whose quantities the functions here take and give.
pub use uom;

mod air;
mod air_answer;
mod crank;
mod flow;
mod guide;
mod leak;
mod leak_answer;
mod oil;
mod oil_since;
mod range;
mod share;
mod spring;
mod student;
mod tdc;
mod units;

pub use air::{
    FITTING_SAFETY, Holding, TURNING_SAFETY, Verdict, hold_force, least_pressure, suggested_between,
};
pub use air_answer::{
    AirAnswer, AirQuestion, Breakaway, LeftOut, WindowPoint, air_window_curve, breakaway_of,
};
pub use crank::{Crank, swept_volume};
pub use flow::{
    CRITICAL_RATIO, DISCHARGE, Orifice, RATIO_OF_HEATS, STANDARD_ATMOSPHERE_BAR, free_air,
    relative_flow,
};
pub use guide::guide_clearance;
pub use leak::{HeardWhere, LeakClass, loss, pressure_behind, same_flow_diameter};
pub use leak_answer::{CanHold, LeakAnswer, LeakGauges, can_hold};
pub use oil::{Estimate, OilRate, TopUp, oil_rate};
pub use oil_since::{
    DISTANCE_ERROR, MARK_ERROR_L, OilSince, OilWent, POURED_ERROR, POURED_L, STRETCH_KM,
    oil_before, oil_since,
};
pub use range::{BenchError, Limit, limits};
pub use share::wilson_interval;
pub use spring::{Spring, SpringAnswer, spring_answer};
pub use student::student_quantile;
pub use tdc::{TdcHalved, rim_length, tdc_by_halving};
pub use units::{ANGLE, DISTANCE, FORCE, LENGTH, PRESSURE, Quantity, TORQUE, UnitSystem, VOLUME};
