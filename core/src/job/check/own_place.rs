//! Parts that belong to one valve: a swap may be told at any time, and is mended while
//! both lie loose.

use uuid::Uuid;

use super::{Allowed, ensure};
use crate::engine::{Follower, Layout, ValveName};
use crate::job::{JobState, Refusal};
use crate::parts::Item;

impl JobState {
    pub(super) fn check_swapped(
        &self,
        layout: &Layout,
        item: &Item,
        valve: ValveName,
        own: ValveName,
    ) -> Allowed {
        self.existing_valve(layout, valve)?;
        self.existing_valve(layout, own)?;
        let belongs = match item {
            Item::Follower => layout.follower == Follower::Bucket,
            Item::Shim => layout.shims() > 0,
            _ => false,
        };
        ensure(belongs && valve != own, || Refusal::NotOfOneValve {
            item: item.clone(),
        })
    }

    pub(super) fn check_swap_mended(&self, layout: &Layout, swapped: Uuid) -> Allowed {
        let swap = self.swaps.iter().find(|s| s.id == swapped && !s.is_mended);
        let swap = swap.ok_or(Refusal::NoSuchSwap { swapped })?;
        for valve in [swap.valve, swap.own] {
            let state = self.existing_valve(layout, valve)?;
            ensure(!state.is_verified(), || Refusal::PartIsHome {
                item: swap.item.clone(),
                valve,
            })?;
        }
        Ok(())
    }

    /// Neither the valve's own follower nor its shim lies with another valve.
    pub(super) fn check_not_swapped(&self, valve: ValveName) -> Allowed {
        let mut open = self.open_swaps();
        match open.find(|s| s.valve == valve || s.own == valve) {
            Some(swap) => Err(swap.refusal()),
            None => Ok(()),
        }
    }
}
