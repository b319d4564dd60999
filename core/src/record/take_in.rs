//! The beginning of the job: what was complained about and seen, and the oil it uses.

use serde::Serialize;

use super::By;
use crate::bench::{BenchError, OilRate, TopUp, oil_rate};
use crate::job::{Event, JobState, TakeIn};

/// The latest take-in note.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TakeInLine {
    /// What was noted.
    #[serde(flatten)]
    pub note: TakeIn,
    /// Who noted it, and when.
    #[serde(flatten)]
    pub by: By,
}

/// The oil topped up, and the rate that follows.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct OilUse {
    /// Every top-up, by odometer.
    pub top_ups: Vec<TopUpLine>,
    /// Oil used per distance; `None` where the top-ups give none.
    pub rate: Option<OilRate>,
    /// Why there is no rate although oil was topped up; in files in English.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub no_rate_because: Option<BenchError>,
}

/// One top-up.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TopUpLine {
    /// Date, year-month-day, as entered.
    pub on: String,
    /// Odometer, kilometres.
    pub odometer_km: f64,
    /// What went in, litres.
    pub litres: f64,
}

pub(super) fn take_in_line(state: &JobState) -> Option<TakeInLine> {
    state.facts().iter().rev().find_map(|f| match &f.event {
        Event::TakeInNoted(note) => Some(TakeInLine {
            note: (**note).clone(),
            by: By::of_fact(f),
        }),
        _ => None,
    })
}

/// The oil topped up so far, and the rate that follows from it.
pub fn oil_use(state: &JobState) -> OilUse {
    let mut top_ups: Vec<TopUpLine> = state
        .facts()
        .iter()
        .filter_map(|f| match &f.event {
            Event::OilToppedUp {
                on,
                odometer_km,
                litres,
            } => Some(TopUpLine {
                on: on.clone(),
                odometer_km: *odometer_km,
                litres: *litres,
            }),
            _ => None,
        })
        .collect();
    top_ups.sort_by(|a, b| a.odometer_km.total_cmp(&b.odometer_km));
    let figures: Vec<TopUp> = top_ups
        .iter()
        .map(|t| TopUp {
            odometer_km: t.odometer_km,
            litres: t.litres,
        })
        .collect();
    let (rate, no_rate_because) = match oil_rate(&figures) {
        Ok(rate) => (Some(rate), None),
        Err(_) if figures.is_empty() => (None, None),
        Err(fault) => (None, Some(fault)),
    };
    OilUse {
        top_ups,
        rate,
        no_rate_because,
    }
}
