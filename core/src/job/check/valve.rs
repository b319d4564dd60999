//! What may happen at a valve: its stages in turn, held, over holes that are shut.

use super::{Allowed, ensure};
use crate::engine::{Layout, ValveName};
use crate::job::{JobState, Refusal, Stage};
use crate::parts::Item;

impl JobState {
    pub(super) fn check_stage(
        &self,
        layout: &Layout,
        valve: ValveName,
        stage: Stage,
        (locks_dropped, seals_spoiled): (u8, u8),
    ) -> Allowed {
        let next = self.existing_valve(layout, valve)?.next_stage();
        ensure(next == Some(stage), || Refusal::OutOfTurn {
            valve,
            asked: stage,
            next,
        })?;
        let most = if stage == Stage::LocksOut {
            layout.locks_per_valve
        } else {
            0
        };
        ensure(locks_dropped <= most, || Refusal::TooManyLocksDropped {
            locks_dropped,
            most,
        })?;
        let spoiled_most = if stage == Stage::SealFitted { 9 } else { 0 };
        ensure(seals_spoiled <= spoiled_most, || Refusal::BadCount {
            count: u32::from(seals_spoiled),
        })?;
        let bank = layout.bank_of(valve.cylinder).unwrap_or_default();
        ensure(self.banks[bank].cover_off, || Refusal::CoverStillOn {
            bank: bank as u8,
        })?;
        self.check_crank_works(layout, valve.cylinder)?;
        self.check_stage_hold(layout, valve, stage, bank)
    }

    fn check_stage_hold(
        &self,
        layout: &Layout,
        valve: ValveName,
        stage: Stage,
        bank: usize,
    ) -> Allowed {
        let cylinder = self.existing_cylinder(layout, valve.cylinder)?;
        match stage {
            Stage::Positioned => self.check_foreman(valve.cylinder),
            Stage::SpringHeld | Stage::SealFitted | Stage::LocksIn => {
                ensure(cylinder.is_held(), || Refusal::NothingHolds { valve })
            }
            Stage::LocksOut => {
                ensure(cylinder.is_held(), || Refusal::NothingHolds { valve })?;
                self.check_holes_shut(layout, bank)?;
                self.check_stoppers(layout, bank)
            }
            Stage::Verified => {
                ensure(cylinder.air_bar.is_none(), || Refusal::AirStillOn {
                    cylinder: valve.cylinder,
                })?;
                self.check_not_swapped(valve)
            }
        }
    }

    /// No plug hole of the bank gapes while locks come out.
    pub(super) fn check_holes_shut(&self, layout: &Layout, bank: usize) -> Allowed {
        for number in &layout.banks[bank].cylinders {
            let cylinder = self.existing_cylinder(layout, *number)?;
            let open = cylinder.plug_out && !cylinder.vented_cover_in && !cylinder.hose_in;
            ensure(!open, || Refusal::HoleOpen { cylinder: *number })?;
        }
        Ok(())
    }

    /// The stoppers that the layout lists for the bank are in.
    pub(super) fn check_stoppers(&self, layout: &Layout, bank: usize) -> Allowed {
        let wanted = stoppers_of(layout, bank);
        let aboard = self.banks[bank]
            .aboard
            .get(&Item::Stopper)
            .copied()
            .unwrap_or_default();
        ensure(aboard >= wanted, || Refusal::StopperMissing {
            bank: bank as u8,
            wanted,
            aboard,
        })
    }
}

/// How many stoppers the layout wants in a bank: those listed for it, and where the
/// list names no bank, all of them on a one-bank engine.
pub(in crate::job) fn stoppers_of(layout: &Layout, bank: usize) -> u32 {
    let name = &layout.banks[bank].name;
    layout
        .kit
        .iter()
        .filter(|k| k.item == Item::Stopper)
        .filter(|k| match &k.bank {
            Some(b) => b == name,
            None => layout.banks.len() == 1,
        })
        .map(|k| k.count)
        .sum()
}
