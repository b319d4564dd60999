//! The working order: question and answer.
//!
//! Minutes = turn/360 x `turn_360` + bank changes x `bank_change` + adaptor changes
//! x `adaptor_change` + stops x `cylinder_setup`. The answer is the true minimum over the order of the
//! cylinders, the working offset of each and the order of the adaptors inside it.
//! Orders within 1e-9 minutes of the least are equal; of those the first is given
//! when their stops are compared one after another by cylinder number, then by
//! offset (the more negative one is smaller), then by the adaptors' names.

use serde::{Deserialize, Serialize};

use super::OrderFault;
use super::question::OrderQuestion;
use super::search::{Leg, Table};
use super::ways::{CrankPlace, Ways};

/// One stop of the crank: one cylinder worked at one position.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stop {
    /// Cylinder number.
    pub cylinder: u8,
    /// Name of its bank.
    pub bank: String,
    /// Working offset in degrees after (positive) or before (negative) its top.
    pub offset_deg: f64,
    /// Turn of the crank to get here, in degrees: positive in the running direction,
    /// negative when it is turned back (only if the layout allows it).
    pub turn_deg: f64,
    /// Crank angle at this stop, 0 (included) to 720 (excluded).
    pub crank_deg: f64,
    /// Adaptors in the order in which they are used, each once.
    pub adaptors: Vec<String>,
}

/// The cheapest way round the engine.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WorkingOrder {
    /// The stops, first to last; empty when every cylinder is done.
    pub stops: Vec<Stop>,
    /// All turns together in degrees, each counted without its sign.
    pub turn_deg: f64,
    /// How often the next stop is in another bank.
    pub bank_changes: u32,
    /// How often another adaptor is fitted.
    pub adaptor_changes: u32,
    /// What turns, changes and setting cylinders up take, in minutes; the work on the valves is not in it.
    pub minutes: f64,
}

/// The exact working order for the cylinders that are left, see the head of this file.
///
/// Takes time and memory in proportion to 2^n for n cylinders left: microseconds
/// for eight, well under a second for sixteen.
///
/// # Errors
/// [`OrderFault`] when more than [`PLANNED_CYLINDERS_MAX`](super::PLANNED_CYLINDERS_MAX) cylinders are left or a
/// field of the question or the layout makes no sense.
/// # Examples
/// An inline four that fires 1 3 4 2: worked in that order, its crank makes half a turn
/// between two stops and is never turned twice round.
/// ```
/// use trayzero_core::engine::{Layout, shipped};
/// use trayzero_core::plan::{OrderQuestion, working_order};
///
/// let one = shipped().iter().find(|s| s.key == "inline-4-16v").unwrap();
/// let layout = Layout::from_json(one.key, one.json.as_bytes()).unwrap();
/// let order = working_order(&OrderQuestion::at_start(&layout)).unwrap();
/// let cylinders: Vec<u8> = order.stops.iter().map(|s| s.cylinder).collect();
/// assert_eq!(cylinders, layout.firing_order);
/// assert!((order.turn_deg - 3.0 * 180.0).abs() < 1e-9);
/// ```
pub fn working_order(question: &OrderQuestion<'_>) -> Result<WorkingOrder, OrderFault> {
    let ways = Ways::compile(question)?;
    let table = Table::fill(&ways);
    let route = table.route(&ways);
    debug_assert_eq!(route.len(), ways.cylinders.len());
    Ok(describe(question, &ways, &route))
}

/// Turns a route of indices into stops with names, and adds up what it takes.
fn describe(question: &OrderQuestion<'_>, ways: &Ways, route: &[Leg]) -> WorkingOrder {
    let layout = question.layout;
    let mut order = WorkingOrder {
        stops: Vec::with_capacity(route.len()),
        turn_deg: 0.0,
        bank_changes: 0,
        adaptor_changes: 0,
        minutes: 0.0,
    };
    let mut at = ways.start_deg;
    let mut bank = question.from_bank;
    let mut fitted = ways.start_adaptor;
    for leg in route {
        let cylinder = &ways.cylinders[leg.cylinder];
        let CrankPlace {
            crank_deg,
            offset_deg,
            ..
        } = ways.places[leg.place];
        let sequence = &cylinder.sequences[leg.sequence];
        let turn_deg = ways.turn_deg(at, crank_deg);
        order.turn_deg += turn_deg.abs();
        order.bank_changes += u32::from(bank.is_some_and(|b| b != cylinder.bank));
        let change = !fitted.allows_free(sequence.first);
        order.adaptor_changes += u32::from(change) + sequence.names.len() as u32 - 1;
        order.stops.push(Stop {
            cylinder: cylinder.number,
            bank: layout.banks[cylinder.bank].name.clone(),
            offset_deg,
            turn_deg,
            crank_deg,
            adaptors: sequence
                .names
                .iter()
                .map(|a| ways.adaptors[*a].clone())
                .collect(),
        });
        (at, bank, fitted) = (crank_deg, Some(cylinder.bank), sequence.hand());
    }
    order.minutes = order.turn_deg / 360.0 * layout.handling_min.turn_360
        + f64::from(order.bank_changes) * layout.handling_min.bank_change
        + f64::from(order.adaptor_changes) * layout.handling_min.adaptor_change
        + order.stops.len() as f64 * layout.handling_min.cylinder_setup.unwrap_or(0.0);
    order
}
