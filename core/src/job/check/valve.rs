//! What may happen at a valve: its stages in turn, held, over holes that are shut.

use super::{Verdict, demand};
use crate::engine::{Layout, ValveName};
use crate::job::{Event, JobState, Refusal, Stage, ValveState};
use crate::parts::Item;

impl JobState {
    pub(super) fn check_stage(&self, layout: &Layout, event: &Event) -> Verdict {
        let Event::StageSeen {
            valve,
            stage,
            strays,
            nicked,
        } = event
        else {
            return Ok(());
        };
        let (valve, stage) = (*valve, *stage);
        let next = self.valve(valve).and_then(ValveState::next_stage);
        demand(next == Some(stage), || Refusal::OutOfTurn {
            valve,
            asked: stage,
            next,
        })?;
        let most = if stage == Stage::LocksOut {
            layout.locks_per_valve
        } else {
            0
        };
        demand(*strays <= most, || Refusal::TooManyStrays {
            strays: *strays,
            most,
        })?;
        let nicked_most = if stage == Stage::SealFitted { 9 } else { 0 };
        demand(*nicked <= nicked_most, || Refusal::BadCount {
            count: u32::from(*nicked),
        })?;
        let bank = layout.bank_of(valve.cylinder).unwrap_or_default();
        demand(self.banks[bank].cover_off, || Refusal::CoverStillOn {
            bank: bank as u8,
        })?;
        self.check_crank_here(valve.cylinder)?;
        self.check_stage_hold(layout, valve, stage, bank)
    }

    fn check_stage_hold(
        &self,
        layout: &Layout,
        valve: ValveName,
        stage: Stage,
        bank: usize,
    ) -> Verdict {
        let known = self.known(valve.cylinder);
        match stage {
            Stage::Positioned => self.check_foreman(valve.cylinder),
            Stage::SpringHeld | Stage::SealFitted | Stage::LocksIn => {
                demand(known.is_held(), || Refusal::NothingHolds { valve })
            }
            Stage::LocksOut => {
                demand(known.is_held(), || Refusal::NothingHolds { valve })?;
                self.check_holes_shut(layout, bank)?;
                self.check_stoppers(layout, bank)
            }
            Stage::Verified => demand(known.air_bar.is_none(), || Refusal::AirStillOn {
                cylinder: valve.cylinder,
            }),
        }
    }

    /// No plug hole of the bank gapes while locks come out.
    pub(super) fn check_holes_shut(&self, layout: &Layout, bank: usize) -> Verdict {
        for cylinder in &layout.banks[bank].cylinders {
            let known = self.known(*cylinder);
            let open = known.plug_out && !known.vented_cover_in && !known.hose_in;
            demand(!open, || Refusal::HoleOpen {
                cylinder: *cylinder,
            })?;
        }
        Ok(())
    }

    /// The stoppers that the layout lists for the bank are in.
    pub(super) fn check_stoppers(&self, layout: &Layout, bank: usize) -> Verdict {
        let wanted = stoppers_of(layout, bank);
        let aboard = self.banks[bank]
            .aboard
            .get(&Item::Stopper)
            .copied()
            .unwrap_or_default();
        demand(aboard >= wanted, || Refusal::StopperMissing {
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
