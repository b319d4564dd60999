//! Why no working order can be given.

use thiserror::Error;

use super::question::PLANNED_CYLINDERS_MAX;

/// Why a question has no working order. Each names the field, the value and the rule.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum OrderFault {
    /// More cylinders are left than an exact answer is given for.
    #[error(
        "cylinders to work = {count}: an exact working order is given for at most {} cylinders",
        PLANNED_CYLINDERS_MAX
    )]
    TooManyCylinders {
        /// How many are left to work.
        count: usize,
    },
    /// The offsets and adaptors multiply beyond the memory set aside for the answer.
    #[error(
        "working_positions and adaptors: {ways} ways to leave the cylinders, the exact answer \
         has room for {limit} with so many cylinders; list fewer offsets"
    )]
    TooManyWays {
        /// Pairs of a working position and the adaptor in hand at its end, over all cylinders.
        ways: usize,
        /// The most that fit.
        limit: usize,
    },
    /// A cylinder is named that the layout lacks.
    #[error("{field} = {cylinder}: the layout has no such cylinder")]
    NoSuchCylinder {
        /// The field of the question or of the layout.
        field: &'static str,
        /// The cylinder as named.
        cylinder: u8,
    },
    /// The cylinder wanted next has been worked already.
    #[error("wanted_next = {cylinder}: this cylinder is done")]
    WantedIsDone {
        /// The cylinder wanted.
        cylinder: u8,
    },
    /// The bank at which the technician stands is not in the layout.
    #[error("from_bank = {bank}: the layout has {banks} banks, counted from 0")]
    NoSuchBank {
        /// The index as given.
        bank: usize,
        /// How many banks there are.
        banks: usize,
    },
    /// The firing order lacks a cylinder, so its top is not known.
    #[error("firing_order: cylinder {cylinder} is missing, so its top dead centre is not known")]
    NotInFiringOrder {
        /// The cylinder without a top.
        cylinder: u8,
    },
    /// A cylinder has no position at which it may be worked.
    #[error("working_positions: cylinder {cylinder} has no offset at which it may be worked")]
    NoOffset {
        /// The cylinder.
        cylinder: u8,
    },
    /// The engine has no valves to work.
    #[error("intake_valves and exhaust_valves are both 0: there is nothing to work")]
    NoValves,
    /// A figure is not a usable number.
    #[error("{field} = {value}: it must be {rule}")]
    BadFigure {
        /// The field.
        field: &'static str,
        /// The value as given.
        value: f64,
        /// What it must be.
        rule: &'static str,
    },
}
