//! What a person sees who looks at the engine because two tablets disagree.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::change::Change;
use super::{CrankAt, DropStatus, Event, HoldKind, JobState, Stage};
use crate::engine::{Layout, ValveName};
use crate::parts::{Item, Place};

/// What a plug hole has in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PlugHole {
    /// Its plug.
    Plug,
    /// A vented cover.
    VentedCover,
    /// The air hose.
    Hose,
    /// Nothing: it gapes.
    Nothing,
}

/// One thing that was seen at the engine or on the bench, with what there was to see.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
#[allow(missing_docs)] // The names of the fields say what they are, with their units.
pub enum Sight {
    /// Air on a cylinder at a gauge pressure in bar, or no air.
    Air {
        cylinder: u8,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        bar: Option<f64>,
    },
    /// A mechanical hold in a cylinder, or none.
    Hold {
        cylinder: u8,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        hold: Option<HoldKind>,
    },
    /// The wrench on the crank, or off.
    Wrench { on: bool },
    /// The crank at a working position, or at none that is known.
    Crank {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<CrankAt>,
    },
    /// A valve at a stage; none while it is untouched.
    Valve {
        valve: ValveName,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        stage: Option<Stage>,
    },
    /// What is in a plug hole.
    PlugHole { cylinder: u8, with: PlugHole },
    /// The cover of a bank, off or on.
    Cover { bank: u8, off: bool },
    /// So many pieces of kit on or in a bank.
    Aboard { bank: u8, item: Item, count: u32 },
    /// So many of an item laid out at a place.
    LaidOut {
        item: Item,
        place: Place,
        count: u32,
    },
    /// So many are still missing of those that one report told; the report's event.
    Missing { dropped: Uuid, count: u32 },
    /// Nothing at the engine hangs on it: both sides were read.
    Read {},
}

impl Sight {
    /// Whether both are of the same thing, whatever there was to see.
    pub fn is_of_the_same(&self, other: &Sight) -> bool {
        match (self, other) {
            (Sight::Air { cylinder: a, .. }, Sight::Air { cylinder: b, .. })
            | (Sight::Hold { cylinder: a, .. }, Sight::Hold { cylinder: b, .. })
            | (Sight::PlugHole { cylinder: a, .. }, Sight::PlugHole { cylinder: b, .. }) => a == b,
            (Sight::Wrench { .. }, Sight::Wrench { .. })
            | (Sight::Crank { .. }, Sight::Crank { .. })
            | (Sight::Read {}, Sight::Read {}) => true,
            (Sight::Valve { valve: a, .. }, Sight::Valve { valve: b, .. }) => a == b,
            (Sight::Cover { bank: a, .. }, Sight::Cover { bank: b, .. }) => a == b,
            (
                Sight::Aboard { bank, item, .. },
                Sight::Aboard {
                    bank: b, item: i, ..
                },
            ) => (bank, item) == (b, i),
            (
                Sight::LaidOut { item, place, .. },
                Sight::LaidOut {
                    item: i, place: p, ..
                },
            ) => (item, place) == (i, p),
            (Sight::Missing { dropped: a, .. }, Sight::Missing { dropped: b, .. }) => a == b,
            _ => false,
        }
    }
}

impl JobState {
    /// What a person has to look at for an event that cannot stand, each as the state has
    /// it now. Never empty.
    pub fn sights_of(&self, id: Uuid, event: &Event) -> Vec<Sight> {
        let (id, event) = self.event_in_question(id, event);
        let Some(layout) = self.layout() else {
            return vec![Sight::Read {}];
        };
        let postings = self.postings(id, event);
        let mut sights: Vec<Sight> = Vec::new();
        let mut add = |sight: Option<Sight>| {
            if let Some(sight) = sight.filter(|s| !sights.contains(s)) {
                sights.push(sight);
            }
        };
        for change in &postings {
            add(self.sight_of(layout, change));
        }
        // Where nothing at the engine is named, it is the heaps on the bench that tell.
        let at_the_engine = sights.iter().any(|s| !matches!(s, Sight::Missing { .. }));
        if !at_the_engine {
            let heaps = postings.iter().flat_map(heaps_of);
            for (item, place) in heaps.filter(|(_, place)| is_laid_out(*place)) {
                let count = self.ledger.at(item, place);
                let item = item.clone();
                let heap = Sight::LaidOut { item, place, count };
                if !sights.contains(&heap) {
                    sights.push(heap);
                }
            }
        }
        if sights.is_empty() {
            sights.push(Sight::Read {});
        }
        sights
    }

    /// The event that a taking back or a resolution is about in the end.
    pub(super) fn event_in_question<'a>(&'a self, id: Uuid, event: &'a Event) -> (Uuid, &'a Event) {
        let (mut id, mut event) = (id, event);
        // A resolution of a resolution of a resolution says no more than its first.
        for _ in 0..8 {
            let named = match event {
                Event::Withdrawn { event, .. } => *event,
                Event::ConflictResolved { conflict, .. } => *conflict,
                _ => break,
            };
            let conflict = self.conflicts.iter().find(|c| c.entry.id == named);
            let Some(found) = conflict
                .map(|c| &c.entry.event)
                .or_else(|| self.event_of(named))
            else {
                break;
            };
            (id, event) = (named, found);
        }
        (id, event)
    }

    /// What the thing that a change writes looks like now; none for what cannot be seen.
    fn sight_of(&self, layout: &Layout, change: &Change) -> Option<Sight> {
        let number = |index: usize| layout.cylinders().nth(index);
        Some(match change {
            Change::Stage { valve, .. } => {
                let valve = layout.valves().nth(*valve)?;
                let stage = self.valve(valve)?.stage();
                Sight::Valve { valve, stage }
            }
            Change::PlugOut { cylinder, .. }
            | Change::VentedCover { cylinder, .. }
            | Change::Hose { cylinder, .. } => Sight::PlugHole {
                cylinder: number(*cylinder)?,
                with: self.cylinders[*cylinder].plug_hole(),
            },
            Change::Air { cylinder, .. } => Sight::Air {
                cylinder: number(*cylinder)?,
                bar: self.cylinders[*cylinder].air_bar,
            },
            Change::HoldBy { cylinder, .. } => Sight::Hold {
                cylinder: number(*cylinder)?,
                hold: self.cylinders[*cylinder].hold,
            },
            Change::Wrench { .. } => Sight::Wrench { on: self.wrench_on },
            Change::Crank { .. } => Sight::Crank { at: self.crank },
            Change::CoverOff { bank, .. } => Sight::Cover {
                bank: *bank as u8,
                off: self.banks.get(*bank)?.cover_off,
            },
            Change::Aboard { bank, item, .. } => {
                let aboard = &self.banks.get(*bank)?.aboard;
                Sight::Aboard {
                    bank: *bank as u8,
                    item: item.clone(),
                    count: aboard.get(item).copied().unwrap_or_default(),
                }
            }
            Change::DropOpened { dropped }
            | Change::DropTakenBack { dropped }
            | Change::Dropped { dropped, .. } => {
                let drop = self.drop_of(*dropped);
                let missing = drop.filter(|d| d.status == DropStatus::Adrift);
                Sight::Missing {
                    dropped: *dropped,
                    count: missing.map_or(0, |d| d.count),
                }
            }
            Change::Move { .. }
            | Change::CountIn { .. }
            | Change::CountOut { .. }
            | Change::Issue { .. }
            | Change::GiveBack { .. }
            | Change::PutOff { .. }
            | Change::AirLost { .. }
            | Change::SwapOpened { .. }
            | Change::SwapTakenBack { .. }
            | Change::SwapMended { .. } => return None,
        })
    }
}

/// The heaps that a change takes from or adds to.
fn heaps_of(change: &Change) -> Vec<(&Item, Place)> {
    match change {
        Change::Move { item, from, to, .. } => vec![(item, *from), (item, *to)],
        Change::CountIn { item, place, .. } | Change::CountOut { item, place, .. } => {
            vec![(item, *place)]
        }
        Change::Issue { item, .. } | Change::GiveBack { item, .. } => vec![(item, Place::Stock)],
        _ => Vec::new(),
    }
}

fn is_laid_out(place: Place) -> bool {
    super::gate::LAID_OUT.contains(&place)
}
