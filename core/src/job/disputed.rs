//! An event that cannot stand beside what another tablet says: what a person has to look at
//! for it, and what it may be dangerous about.

use uuid::Uuid;

use super::change::{Cell, Change};
use super::conflict::Conflict;
use super::{Danger, DropStatus, Entry, Event, JobState, Refusal, Sight, Stage};
use crate::engine::Layout;
use crate::parts::{Item, Place};

impl JobState {
    /// Keeps an event that cannot stand, with the one it stands against. What it tells of
    /// a loss is booked all the same, and counts taken so far are void.
    #[cold]
    pub(super) fn note_conflict(&mut self, entry: &Entry, refusal: Refusal) {
        let against = match refusal {
            Refusal::SameIdentity { event } => Some(event),
            _ => self.other_side(entry),
        };
        self.learn(entry.id);
        if entry.paper.is_some() {
            self.paper_came(entry);
        }
        self.last_ms = self.last_ms.max(entry.at_ms);
        self.moves += 1;
        let told = self.book_told(entry);
        self.conflicts.push(Conflict {
            entry: entry.clone(),
            refusal,
            against,
            resolved_by: None,
            resolved_by_second: None,
            resolved_in: None,
            seen: Vec::new(),
            told,
        });
        debug_assert_eq!(self.broken_invariant(), None, "told by {:?}", entry.event);
    }

    /// What an open conflict may be dangerous about, each with its conflict: to be looked
    /// at before the crank, the wrench or air.
    pub fn dangers(&self) -> impl Iterator<Item = (Danger, &Conflict)> {
        self.open_conflicts().flat_map(|conflict| {
            let dangers = self.dangers_of(conflict.entry.id, &conflict.entry.event);
            dangers.into_iter().map(move |danger| (danger, conflict))
        })
    }

    /// What an event, or the one that it takes back, is dangerous about.
    pub(super) fn dangers_of(&self, id: Uuid, event: &Event) -> Vec<Danger> {
        let (id, event) = self.event_in_question(id, event);
        let Some(layout) = self.layout() else {
            return Vec::new();
        };
        let number = |index: usize| layout.cylinders().nth(index);
        let danger = |change: &Change| match change {
            Change::Air { cylinder, .. } => number(*cylinder).map(|c| Danger::Air { cylinder: c }),
            Change::HoldBy { cylinder, .. } => {
                number(*cylinder).map(|c| Danger::Hold { cylinder: c })
            }
            Change::Wrench { .. } => Some(Danger::Wrench),
            Change::Crank { .. } => Some(Danger::Crank),
            Change::Stage { valve, .. } => {
                let valve = layout.valves().nth(*valve)?;
                let pressed = matches!(
                    event,
                    Event::StageSeen {
                        stage: Stage::SpringHeld
                            | Stage::LocksOut
                            | Stage::SealFitted
                            | Stage::LocksIn,
                        ..
                    }
                );
                pressed.then_some(Danger::Valve { valve })
            }
            _ => None,
        };
        self.postings(id, event).iter().filter_map(danger).collect()
    }

    /// The latest standing event of another tablet that touches the same thing: the same
    /// valve, plug hole, cover or drop before the same kind of part, of which an engine
    /// has many. Failing both the latest event of another tablet.
    fn other_side(&self, entry: &Entry) -> Option<Uuid> {
        let (kinds, things): (Vec<Cell>, Vec<Cell>) = self
            .postings(entry.id, &entry.event)
            .iter()
            .map(Change::cell)
            .partition(|cell| matches!(cell, Cell::Items(_)));
        let others = || {
            self.history
                .iter()
                .rev()
                .filter(|p| p.tablet != entry.tablet && !matches!(p.event, Event::Sealed(_)))
        };
        let touching = |wanted: &[Cell]| {
            others().find(|p| {
                let theirs = self.postings(p.id, &p.event);
                theirs.iter().any(|c| wanted.contains(&c.cell()))
            })
        };
        touching(&things)
            .or_else(|| touching(&kinds))
            .or_else(|| others().next())
            .map(|p| p.id)
    }

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
            Change::Crank { .. } => Sight::Crank { at: self.crank() },
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
