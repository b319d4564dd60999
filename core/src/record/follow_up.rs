//! After it left: oil, smoke and codes beside those of the take-in.

use serde::Serialize;

use super::{By, oil_use};
use crate::bench::{OilSince, OilWent, oil_before, oil_since};
use crate::job::{Event, FollowUp, JobState};

/// What was seen some time after the work, with what the oil comes to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FollowUpLine {
    /// What was seen.
    #[serde(flatten)]
    pub seen: FollowUp,
    /// Oil used since the work.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub oil: Option<OilSince>,
    /// Which way oil use has gone since before the work; `None` where that is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub oil_went: Option<OilWent>,
    /// Who has signed for it, and when.
    #[serde(flatten)]
    pub by: By,
}

/// Oil used before the work, with an interval that holds errors of reading too.
pub fn oil_before_work(state: &JobState) -> Option<OilSince> {
    let used = oil_use(state);
    let (first, last) = (used.top_ups.first()?, used.top_ups.last()?);
    oil_before(used.rate.as_ref()?, last.odometer_km - first.odometer_km).ok()
}

/// Every follow-up that stands, the shortest way first, with its event.
pub fn follow_ups(state: &JobState) -> Vec<(uuid::Uuid, FollowUpLine)> {
    let before = oil_before_work(state);
    let told = state.facts().iter().filter_map(|fact| {
        let Event::FollowedUp { by, seen } = &fact.event else {
            return None;
        };
        let oil = oil_since(seen.distance_km, seen.litres).ok();
        let line = FollowUpLine {
            seen: (**seen).clone(),
            oil,
            oil_went: oil.zip(before).map(|(oil, before)| oil.went_since(&before)),
            by: By {
                who: by.person.clone(),
                ..By::of_fact(fact)
            },
        };
        Some((fact.id, line))
    });
    let mut lines: Vec<_> = told.collect();
    lines.sort_by(|(_, a), (_, b)| a.seen.distance_km.total_cmp(&b.seen.distance_km));
    lines
}
