//! Every drop, and how it ended.

use serde::Serialize;

use super::By;
use super::timeline::Timeline;
use crate::engine::ValveName;
use crate::job::{Drop, DropStatus, Event, Person, SearchPlace};
use crate::parts::{Item, Place};

/// One drop.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DropLine {
    /// What was dropped.
    pub item: Item,
    /// How many.
    pub count: u32,
    /// Where it was before.
    pub from: Place,
    /// The valve it belongs to, where known.
    pub valve: Option<ValveName>,
    /// Who reported it, and when.
    #[serde(flatten)]
    pub by: By,
    /// How it ended.
    pub ending: Ending,
}

/// How a drop ended.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "how", rename_all = "snake_case")]
pub enum Ending {
    /// Not found yet.
    Adrift,
    /// Found.
    Found {
        /// Where it lay.
        found_at: SearchPlace,
        /// Where it was put.
        to: Place,
        /// Who found it, and when.
        #[serde(flatten)]
        by: By,
    },
    /// Searched for everywhere, and not found.
    Unfound {
        /// Every place searched.
        places: Vec<SearchPlace>,
        /// Who signed first, and when.
        first: By,
        /// Who signed as the second person.
        second: Person,
    },
}

pub(super) fn drop_lines(timeline: &Timeline) -> Vec<DropLine> {
    let line = |d: &Drop| DropLine {
        item: d.item.clone(),
        count: d.count,
        from: d.from,
        valve: d.valve,
        by: timeline.entry(d.id).map_or_else(
            || By {
                from_paper: false,
                at: super::Stamp {
                    at_ms: d.at_ms,
                    offset_min: 0,
                },
                who: d.who.clone(),
            },
            By::of,
        ),
        ending: ending(timeline, d.status),
    };
    timeline.state.drops().iter().map(line).collect()
}

fn ending(timeline: &Timeline, status: DropStatus) -> Ending {
    let (DropStatus::Found(event) | DropStatus::Unfound(event)) = status else {
        return Ending::Adrift;
    };
    let Some(entry) = timeline.entry(event) else {
        return Ending::Adrift;
    };
    match &entry.event {
        Event::PartFound { found_at, to, .. } => Ending::Found {
            found_at: *found_at,
            to: *to,
            by: By::of(entry),
        },
        Event::SearchSigned {
            first,
            second,
            places,
            ..
        } => Ending::Unfound {
            places: places.clone(),
            first: By::signed(entry, &first.person),
            second: second.person.clone(),
        },
        _ => Ending::Adrift,
    }
}
