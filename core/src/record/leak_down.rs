//! Leak-down of every cylinder before and after, side by side.

use serde::Serialize;

use super::{By, bank_name};
use crate::bench::LeakClass;
use crate::engine::Layout;
use crate::job::{Event, HeardAt, JobState, Reading};

/// One cylinder's readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LeakLine {
    /// Cylinder number.
    pub cylinder: u8,
    /// Name of its bank.
    pub bank: String,
    /// The latest reading before the work.
    pub before: Option<LeakSide>,
    /// The latest reading after the work.
    pub after: Option<LeakSide>,
    /// The foreman who saw a cylinder past the limit and let the work go on.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub foreman_agreed: Option<By>,
}

/// One reading.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LeakSide {
    /// Gauge pressure ahead of the tester's orifice, bar.
    pub supply_bar: f64,
    /// Gauge pressure in the cylinder, bar.
    pub cylinder_bar: f64,
    /// Share of the supply that is lost, percent.
    pub loss_percent: f64,
    /// What that is called.
    pub class: LeakClass,
    /// Where the air was heard.
    pub heard: Vec<HeardAt>,
    /// Who read it, and when.
    #[serde(flatten)]
    pub by: By,
}

pub(super) fn leak_lines(state: &JobState, layout: &Layout) -> Vec<LeakLine> {
    layout
        .cylinders()
        .map(|cylinder| LeakLine {
            cylinder,
            bank: bank_name(layout, layout.bank_of(cylinder).unwrap_or_default()),
            before: side(state, cylinder, Reading::Before),
            after: side(state, cylinder, Reading::After),
            foreman_agreed: agreed(state, cylinder),
        })
        .collect()
}

fn side(state: &JobState, cylinder: u8, reading: Reading) -> Option<LeakSide> {
    let read = state.leak(cylinder, reading)?;
    Some(LeakSide {
        supply_bar: read.supply_bar,
        cylinder_bar: read.cylinder_bar,
        loss_percent: read.loss_percent(),
        class: LeakClass::of(read.loss_percent() / 100.0),
        heard: read.heard.to_vec(),
        by: By::of_fact(read.fact),
    })
}

fn agreed(state: &JobState, of: u8) -> Option<By> {
    state.facts().iter().rev().find_map(|f| match &f.event {
        Event::ForemanAgreed { cylinder, by } if *cylinder == of => Some(By {
            who: by.person.clone(),
            ..By::of_fact(f)
        }),
        _ => None,
    })
}
