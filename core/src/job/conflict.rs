//! Events of two tablets that cannot both be true.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::change::{Cell, Change};
use super::told::Told;
use super::{Entry, Event, JobState, Refusal, Sight, SignOff, Stage};
use crate::engine::ValveName;

/// An event that was accepted on its own tablet and cannot stand in the merged order.
#[derive(Clone, Debug, PartialEq)]
pub struct Conflict {
    /// The event that does not stand.
    pub entry: Entry,
    /// Why it does not.
    pub refusal: Refusal,
    /// The standing event on the other side, where one can be named.
    pub against: Option<Uuid>,
    /// Who has resolved it, once somebody has.
    pub resolved_by: Option<SignOff>,
    /// The second person, where it took two.
    pub resolved_by_second: Option<SignOff>,
    /// Event of that resolution.
    pub resolved_in: Option<Uuid>,
    /// What they saw.
    pub seen: Vec<Sight>,
    pub(super) told: Told,
}

impl Conflict {
    /// Whether nobody has resolved it yet.
    pub fn is_open(&self) -> bool {
        self.resolved_by.is_none()
    }

    /// Banks, by index, whose closing was taken back because of what the event tells.
    pub fn reopened(&self) -> &[u8] {
        &self.told.reopened
    }

    /// Whether a loss is booked for it.
    pub fn tells_loss(&self) -> bool {
        !self.told.loss.is_empty() || self.told.taken_back
    }
}

/// What may hurt somebody while two tablets disagree about it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // The names of the fields say what they are.
pub enum Danger {
    /// Air may be on in a cylinder.
    Air { cylinder: u8 },
    /// A mechanical hold may be in a cylinder, or gone.
    Hold { cylinder: u8 },
    /// The wrench may be on the crank.
    Wrench,
    /// The crank may stand elsewhere.
    Crank,
    /// A spring may be pressed, or a valve unlocked.
    Valve { valve: ValveName },
}

impl Danger {
    /// The cylinder, where it is about air.
    pub fn air_cylinder(self) -> Option<u8> {
        match self {
            Danger::Air { cylinder } => Some(cylinder),
            _ => None,
        }
    }
}

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
}
