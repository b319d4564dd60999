//! Where lost things are looked for, and one line of a blind count.

use serde::{Deserialize, Serialize};

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
