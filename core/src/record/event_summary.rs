//! What an event was, in few fields: for lists of what was taken back or cannot stand.

use serde::Serialize;

use super::bank_name;
use crate::engine::{Layout, ValveName};
use crate::job::{Event, PictureOf, Stage};
use crate::parts::Item;

/// What an event was, without its figures.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EventSummary {
    /// The event's name, as journals write it.
    pub what: String,
    /// The cylinder it concerns.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cylinder: Option<u8>,
    /// The valve it concerns.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub valve: Option<ValveName>,
    /// The stage seen.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stage: Option<Stage>,
    /// The bank it concerns.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bank: Option<String>,
    /// What was moved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub item: Option<Item>,
    /// How many of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
    /// The event itself, for whoever puts it into words.
    #[serde(skip)]
    pub event: Event,
}

impl EventSummary {
    pub(super) fn of(layout: &Layout, event: &Event) -> Self {
        let mut summary = EventSummary {
            what: event_name(event),
            cylinder: event.cylinder(),
            valve: None,
            stage: None,
            bank: bank_of(event).map(|b| bank_name(layout, usize::from(b))),
            item: None,
            count: None,
            event: event.clone(),
        };
        match event {
            Event::StageSeen { valve, stage, .. } => {
                (summary.valve, summary.stage) = (Some(*valve), Some(*stage));
            }
            Event::FindingNoted(finding) => summary.valve = finding.valve,
            Event::PartReplaced { valve, .. } => summary.valve = Some(*valve),
            Event::PartDropped { valve, .. } => summary.valve = *valve,
            Event::PictureAdded(picture) => {
                if let PictureOf::Valve { valve } = picture.of {
                    summary.valve = Some(valve);
                }
            }
            _ => {}
        }
        if let Some((item, count)) = items_of(event) {
            (summary.item, summary.count) = (Some(item.clone()), Some(count));
        }
        summary
    }
}

/// The name under which journals write an event: the one key of its JSON object.
fn event_name(event: &Event) -> String {
    match serde_json::to_value(event) {
        Ok(serde_json::Value::Object(fields)) => fields.keys().next().cloned().unwrap_or_default(),
        _ => String::new(),
    }
}

fn bank_of(event: &Event) -> Option<u8> {
    match event {
        Event::CoverOff { bank }
        | Event::BankClosed { bank, .. }
        | Event::PutAboard { bank, .. }
        | Event::TakenOff { bank, .. } => Some(*bank),
        Event::PartDropped { bank, .. } => *bank,
        _ => None,
    }
}

fn items_of(event: &Event) -> Option<(&Item, u32)> {
    match event {
        Event::KitCounted { item, count }
        | Event::StockIssued { item, count }
        | Event::StockReturned { item, count }
        | Event::TakenFromStock { item, count }
        | Event::PutAway { item, count, .. }
        | Event::PutAboard { item, count, .. }
        | Event::TakenOff { item, count, .. }
        | Event::PartUsed { item, count }
        | Event::PartReplaced { item, count, .. }
        | Event::PartDropped { item, count, .. } => Some((item, *count)),
        _ => None,
    }
}
