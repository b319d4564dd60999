//! Where lost things are looked for, and blind counts.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::Person;
use crate::parts::{Item, Place};

/// Places of the search list, in the order searched, and where else things turn up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SearchPlace {
    /// Plug hole, by borescope.
    PlugHole,
    /// Oil return passages.
    OilReturn,
    /// Oil sump.
    Sump,
    /// Timing cavity.
    TimingCavity,
    /// Bench and floor.
    BenchAndFloor,
    /// On the head, among the springs.
    OnTheHead,
    /// On the person: cuff, glove, magnet.
    OnThePerson,
}

impl SearchPlace {
    /// The places that must be searched before a part may be signed off as unfound.
    pub const LIST: [SearchPlace; 5] = [
        SearchPlace::PlugHole,
        SearchPlace::OilReturn,
        SearchPlace::Sump,
        SearchPlace::TimingCavity,
        SearchPlace::BenchAndFloor,
    ];
}

/// One line of a blind count: how many of an item one person sees laid out.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CountLine {
    /// The item.
    pub item: Item,
    /// Where it is laid out: kit, tray, scrap, stock or aside.
    pub place: Place,
    /// How many are seen.
    pub count: u32,
}

/// One blind count, good as long as nothing has moved since.
#[derive(Clone, Debug, PartialEq)]
pub struct CountTaken {
    /// Identity of the event.
    pub id: Uuid,
    /// When it was signed, milliseconds since 1970 UTC.
    pub at_ms: i64,
    /// Who counted.
    pub by: Person,
    /// What was seen, item by item and place by place.
    pub lines: Vec<CountLine>,
    /// The job's number of moves when the count was taken.
    pub moves_then: u64,
}

impl CountTaken {
    /// How many of each item at each place; two heaps of the same add up.
    pub(super) fn figures(&self) -> BTreeMap<(&Item, Place), u32> {
        let mut figures = BTreeMap::new();
        for line in &self.lines {
            let seen: &mut u32 = figures.entry((&line.item, line.place)).or_default();
            *seen = seen.saturating_add(line.count);
        }
        figures
    }
}
