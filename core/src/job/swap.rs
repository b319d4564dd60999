//! Followers and shims that belong to one valve, and lie with another.

use std::collections::BTreeMap;

use uuid::Uuid;

use super::{Entry, Event, JobState, Swap, ValveState};
use crate::engine::{Follower, Layout, ValveName};
use crate::parts::Item;

/// The parts of one valve that its compartment of the tray holds.
pub type Compartment = (ValveName, Vec<(Item, u32)>);

impl JobState {
    /// Swaps that nobody has mended yet.
    pub fn open_swaps(&self) -> impl Iterator<Item = &Swap> {
        self.swaps.iter().filter(|s| !s.is_mended)
    }

    pub(super) fn open_swap(&mut self, id: Uuid, entry: &Entry) {
        if let Event::PartsSwapped { item, valve, own } = &entry.event {
            self.swaps.push(Swap {
                id,
                item: item.clone(),
                valve: *valve,
                own: *own,
                is_mended: false,
            });
        }
    }

    /// The tray's compartments, one for each open valve with bucket followers: what of it
    /// lies there and goes back to this valve alone. What fell is not there.
    pub fn tray_by_valve(&self) -> Vec<Compartment> {
        let Some(layout) = self.layout() else {
            return Vec::new();
        };
        if layout.follower != Follower::Bucket {
            return Vec::new();
        }
        self.valves()
            .filter(|(_, state)| state.is_open())
            .map(|(valve, _)| (valve, self.compartment(layout, valve)))
            .collect()
    }

    fn compartment(&self, layout: &Layout, valve: ValveName) -> Vec<(Item, u32)> {
        let mut fallen: BTreeMap<&Item, u32> = BTreeMap::new();
        for drop in self.drops_adrift().filter(|d| d.valve == Some(valve)) {
            *fallen.entry(&drop.item).or_default() += drop.count;
        }
        let parts = [
            (Item::Follower, layout.followers()),
            (Item::Shim, layout.shims()),
        ];
        parts
            .into_iter()
            .map(|(item, count)| {
                let gone = fallen.get(&item).copied().unwrap_or_default();
                (item, u32::from(count).saturating_sub(gone))
            })
            .filter(|(_, count)| *count > 0)
            .collect()
    }

    /// The cylinder whose air has fallen away while a valve of it is pressed or unlocked and
    /// nothing holds it.
    pub fn air_lost(&self) -> Option<u8> {
        let layout = self.layout()?;
        layout.cylinders().find(|number| {
            let told = self
                .cylinder(*number)
                .is_some_and(|c| c.air_lost && !c.is_held());
            let hangs = |v: &ValveState| v.is_unlocked() || v.is_spring_held();
            told && self.valves_of(*number).any(|(_, v)| hangs(v))
        })
    }
}
