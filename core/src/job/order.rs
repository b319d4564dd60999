//! The order in which hands can do the work, as one table: what is asked, and why it stands
//! where it does. The first row that has something to ask is the one next step.

use super::check::stoppers_of;
use super::{CrankAt, JobState, NextStep, Reading, Stage, Step, ValveState};
use crate::engine::Layout;
use crate::parts::Item;

/// One row of the order.
pub struct OrderRow {
    /// What is asked there, in a few words.
    pub what: &'static str,
    /// Why it stands at this place.
    pub why: &'static str,
    pub(super) ask: StepFinder,
}

/// What is planned for the next stop.
#[derive(Clone, Copy)]
pub(super) struct Plan<'a> {
    /// The next stop of the working order, if one is known.
    pub(super) stop: Option<CrankAt>,
    /// The adaptors of that stop, in the order planned.
    pub(super) adaptors: &'a [String],
}

/// What a row asks of a job now, if anything.
type StepFinder = fn(&JobState, &Layout, Plan<'_>) -> Option<NextStep>;

const fn row(what: &'static str, why: &'static str, ask: StepFinder) -> OrderRow {
    OrderRow { what, why, ask }
}

/// What two rows ask that need a figure, and the one that makes room for the second.
pub(super) const FIRST_LEAK: &str = "the first leak-down";
pub(super) const SECOND_LEAK: &str = "the second leak-down";
pub(super) const PLUGS_AGAIN: &str = "plugs out again";

/// The order, first to last. What is begun stands before what is to be begun.
pub const HANDS_ORDER: [OrderRow; 31] = [
    row(
        "what two tablets disagree about",
        "Whether air is on or a valve is open is seen at the engine before a hand goes near it.",
        |job, _, _| {
            let (danger, _) = job.dangers().next()?;
            Some(NextStep::LookFirst { danger })
        },
    ),
    row(
        "air that fell away",
        "A valve that nothing holds drops at the next knock: air or a hold comes before all else.",
        |job, _, _| {
            let cylinder = job.air_lost()?;
            Some(NextStep::AirOn { cylinder })
        },
    ),
    row(
        "the valve in hand",
        "A pressed spring or an unlocked valve hangs on air: it is finished before anything else.",
        |job, _, _| job.valve_in_hand(),
    ),
    row(
        "a swapped part",
        "It is laid right while both parts lie loose, before one of them is fitted.",
        JobState::swap_step,
    ),
    row(
        "the cylinder in hand",
        "Hose, air and crank stand ready there; leaving in between costs all of it twice.",
        JobState::cylinder_in_hand,
    ),
    row(
        "a lost part",
        "Nothing else is opened while a part is adrift: every open place is one more to search.",
        |job, _, _| {
            let drop = job.drops_adrift().next()?;
            Some(NextStep::FindPart { dropped: drop.id })
        },
    ),
    row(
        "the take-in",
        "Complaint, smoke and codes are asked while the vehicle still runs as it came.",
        |job, _, _| {
            let due = job.is_untouched() && job.take_in_note().is_none();
            due.then_some(NextStep::TakeIn)
        },
    ),
    row(
        "engine cold",
        "Hot parts burn and fuel ignites; waiting comes before touching.",
        |job, _, _| job.step_before(Step::EngineCold),
    ),
    row(
        "battery off",
        "A connector that is pulled live may spark, and a starter may turn the crank.",
        |job, _, _| job.step_before(Step::BatteryOff),
    ),
    row(
        "connectors off",
        "Coils sit over the plugs, and their connectors come off before they do.",
        |job, _, _| job.step_before(Step::ConnectorsOff),
    ),
    row(
        "tubes off",
        "They lie over the covers and the plugs.",
        |job, _, _| job.step_before(Step::TubesOff),
    ),
    row(
        "the kit counted in",
        "What goes into the engine from now on was counted while all of it lay on the bench.",
        |job, _, _| {
            (job.is_untouched() && !job.kit_missing().is_empty()).then_some(NextStep::CountKit)
        },
    ),
    row(
        "plugs out, vented covers in",
        "Without the plugs the crank turns freely; a vented cover lets nothing fall in meanwhile.",
        JobState::plugs_step,
    ),
    row(
        FIRST_LEAK,
        "It needs the plugs out, the crank at each compression top and the wrench off, and every \
         spring still as it came.",
        |job, layout, _| {
            let due = job.is_untouched();
            due.then(|| job.leak_step(layout, Reading::Before))?
        },
    ),
    row(
        "the foreman looks",
        "Whether new seals help at all is settled before the first cover is lifted.",
        JobState::foreman_step,
    ),
    row(
        "new seals issued",
        "Once it is settled that they help, and before the first cover: an open valve waits for nothing.",
        |job, _, _| {
            let count = job.seals_short();
            (job.is_untouched() && count > 0).then_some(NextStep::IssueSeals { count })
        },
    ),
    row(
        "the cover lifted, its stoppers in",
        "An oil return under an open cover is a way down: its stoppers follow the cover at once.",
        JobState::cover_step,
    ),
    row(
        "the crank turned to a cylinder",
        "No spring is held yet and no air is on: only now may the crank move.",
        JobState::turn_step,
    ),
    row(
        "the wrench off the crank",
        "Air may turn the crank, and a wrench on it then strikes.",
        |job, _, _| job.wrench_on.then_some(NextStep::WrenchOff),
    ),
    row(
        "the hose in",
        "The hole is open for as long as this takes, so it is the last thing before the valves.",
        |job, _, plan| {
            let cylinder = job.work_stop(plan.stop)?.cylinder;
            Some(NextStep::HoseIn { cylinder })
        },
    ),
    row(
        "the bank cleared, counted and covered",
        "What went in comes out and is counted while the bank is open to the eye.",
        JobState::gate_step,
    ),
    row(
        "the crank turned twice by hand",
        "Whatever is in the way is felt by hand before the starter meets it.",
        |job, _, _| job.step_after(Step::TurnedTwiceByHand),
    ),
    row(
        PLUGS_AGAIN,
        "The second leak-down goes through the same holes as the first.",
        JobState::plugs_again_step,
    ),
    row(
        SECOND_LEAK,
        "Every spring is home and the crank is free: what changed is what the work has done.",
        |job, layout, _| job.leak_step(layout, Reading::After),
    ),
    row(
        "connectors on",
        "They go on while the battery is still off.",
        |job, _, _| job.step_after(Step::ConnectorsOn),
    ),
    row(
        "battery on",
        "Nothing is left to be connected.",
        |job, _, _| job.step_after(Step::BatteryOn),
    ),
    row(
        "oil filled",
        "Before the first start, for the first seconds run on what is in it.",
        |job, _, _| job.step_after(Step::OilFilled),
    ),
    row(
        "first start",
        "All is closed, counted and filled.",
        |job, _, _| job.step_after(Step::FirstStart),
    ),
    row(
        "the exhaust watched",
        "Smoke shows while the engine runs.",
        |job, _, _| job.step_after(Step::SmokeWatched),
    ),
    row(
        "codes cleared",
        "Codes of the work itself are cleared last, so that a new one is a true one.",
        |job, _, _| job.step_after(Step::CodesCleared),
    ),
    row(
        "the job closed",
        "Every bank is closed and every step seen.",
        |_, _, _| Some(NextStep::CloseJob),
    ),
];

impl JobState {
    /// The stage that a pressed or unlocked valve waits for.
    fn valve_in_hand(&self) -> Option<NextStep> {
        let cylinder = self.crank()?.cylinder;
        let (valve, known) = self
            .valves_of(cylinder)
            .find(|(_, v)| v.is_unlocked() || v.is_spring_held())?;
        let stage = known.next_stage()?;
        Some(NextStep::SeeStage { valve, stage })
    }

    /// Inside the cylinder at which the crank stands, while it is open.
    fn cylinder_in_hand(&self, layout: &Layout, plan: Plan<'_>) -> Option<NextStep> {
        let cylinder = self.crank()?.cylinder;
        let known = self.cylinder(cylinder)?;
        let bank = layout.bank_of(cylinder)?;
        if self.is_bank_closed(bank) {
            return self.leave_cylinder(cylinder);
        }
        let at_work =
            known.hose_in || known.is_held() || self.valves_of(cylinder).any(|(_, v)| v.is_open());
        if !at_work || !self.banks[bank].cover_off {
            return None;
        }
        self.valve_round(layout, cylinder, plan.adaptors)
            .or_else(|| self.leave_cylinder(cylinder))
    }

    /// All followers out, air on, spring by spring, air off, valve by valve verified.
    fn valve_round(&self, layout: &Layout, cylinder: u8, adaptors: &[String]) -> Option<NextStep> {
        if self.wrench_on {
            return Some(NextStep::WrenchOff);
        }
        if self.foreman_wanted(cylinder).is_some() {
            return Some(NextStep::AskForeman { cylinder });
        }
        let known = self.cylinder(cylinder)?;
        let at = |stage: Option<Stage>| {
            self.valves_of(cylinder)
                .find(|(_, v)| v.stage() == stage)
                .map(|(name, _)| name)
        };
        if let Some(valve) = at(None) {
            return Some(NextStep::SeeStage {
                valve,
                stage: Stage::Positioned,
            });
        }
        if let Some(valve) = self.next_to_press(layout, cylinder, adaptors) {
            if known.is_held() {
                return Some(NextStep::SeeStage {
                    valve,
                    stage: Stage::SpringHeld,
                });
            }
            return Some(if known.hose_in {
                NextStep::AirOn { cylinder }
            } else {
                NextStep::HoseIn { cylinder }
            });
        }
        let valve = at(Some(Stage::LocksIn))?;
        Some(if known.air_bar.is_some() {
            NextStep::AirOff { cylinder }
        } else {
            NextStep::SeeStage {
                valve,
                stage: Stage::Verified,
            }
        })
    }

    /// Everything out of a verified cylinder before the crank moves on.
    fn leave_cylinder(&self, cylinder: u8) -> Option<NextStep> {
        let known = self.cylinder(cylinder)?;
        if known.air_bar.is_some() {
            return Some(NextStep::AirOff { cylinder });
        }
        if known.hold.is_some() {
            return Some(NextStep::ReleaseHold { cylinder });
        }
        known.hose_in.then_some(NextStep::HoseOut { cylinder })
    }

    /// Under a closed cover nothing is laid right: it comes off first.
    fn swap_step(&self, layout: &Layout, _: Plan<'_>) -> Option<NextStep> {
        let swap = self.open_swaps().next()?;
        let mut banks = [swap.valve, swap.own]
            .into_iter()
            .filter_map(|v| layout.bank_of(v.cylinder));
        let covered = banks.find(|b| !self.banks[*b].cover_off);
        Some(
            covered.map_or(NextStep::MendSwap { swapped: swap.id }, |bank| {
                NextStep::LiftCover { bank: bank as u8 }
            }),
        )
    }

    /// Whether no valve of the engine has been touched.
    fn is_untouched(&self) -> bool {
        self.valves.iter().all(|v| v.stages_seen == 0)
    }

    fn step_before(&self, step: Step) -> Option<NextStep> {
        let due = self.is_untouched() && self.step_seen(step).is_none();
        due.then_some(NextStep::See(step))
    }

    fn step_after(&self, step: Step) -> Option<NextStep> {
        self.step_seen(step)
            .is_none()
            .then_some(NextStep::See(step))
    }

    /// Banks that are neither verified nor closed.
    fn banks_to_work(&self, layout: &Layout) -> impl Iterator<Item = usize> {
        (0..layout.banks.len()).filter(|b| !self.bank_verified(*b) && !self.is_bank_closed(*b))
    }

    fn has_gaping_hole(&self, layout: &Layout, bank: usize) -> bool {
        let mut cylinders = layout.banks[bank].cylinders.iter();
        cylinders.any(|c| {
            self.cylinder(*c)
                .is_some_and(|k| !k.vented_cover_in && !k.hose_in)
        })
    }

    fn plugs_step(&self, layout: &Layout, _: Plan<'_>) -> Option<NextStep> {
        let mut banks = self.banks_to_work(layout);
        let bank = banks.find(|b| self.has_gaping_hole(layout, *b))?;
        Some(NextStep::PlugsOut { bank: bank as u8 })
    }

    fn foreman_step(&self, _: &Layout, _: Plan<'_>) -> Option<NextStep> {
        if !self.is_untouched() {
            return None;
        }
        let (cylinder, _) = self.foreman_waited_for().next()?;
        Some(NextStep::AskForeman { cylinder })
    }

    fn cover_step(&self, layout: &Layout, _: Plan<'_>) -> Option<NextStep> {
        self.banks_to_work(layout).find_map(|bank| {
            let number = bank as u8;
            if !self.banks[bank].cover_off {
                return Some(NextStep::LiftCover { bank: number });
            }
            let wanted = stoppers_of(layout, bank);
            let aboard = self.banks[bank].aboard.get(&Item::Stopper);
            let aboard = aboard.copied().unwrap_or_default();
            (aboard < wanted).then(|| NextStep::StoppersIn {
                bank: number,
                count: wanted - aboard,
            })
        })
    }

    /// The stop to be worked at next; `None` once all are verified.
    fn work_stop(&self, stop: Option<CrankAt>) -> Option<CrankAt> {
        let layout = self.layout()?;
        if self.valves.iter().all(ValveState::is_verified) {
            return None;
        }
        let to = stop.or_else(|| {
            let cylinder = layout.cylinders().find(|c| !self.cylinder_verified(*c))?;
            let offset_deg = *layout.offsets_deg(cylinder).first()?;
            Some(CrankAt {
                cylinder,
                offset_deg,
            })
        })?;
        if self.cylinder_verified(to.cylinder) {
            return None;
        }
        // The crank may stand at the top of a cylinder that is worked off it: its leak was
        // read there.
        let offsets = layout.offsets_deg(to.cylinder);
        let off = |deg: &f64| (deg - to.offset_deg).abs();
        let nearest = offsets.iter().min_by(|a, b| off(a).total_cmp(&off(b)));
        Some(CrankAt {
            offset_deg: *nearest?,
            ..to
        })
    }

    fn turn_step(&self, _: &Layout, plan: Plan<'_>) -> Option<NextStep> {
        let to = self.work_stop(plan.stop)?;
        let cylinder = to.cylinder;
        if self.foreman_wanted(cylinder).is_some() {
            return Some(NextStep::AskForeman { cylinder });
        }
        (self.crank() != Some(to)).then(|| self.turn_there(to))
    }

    fn turn_there(&self, to: CrankAt) -> NextStep {
        NextStep::Turn {
            to,
            turn_deg: self.turn_to(to),
        }
    }

    /// The next reading of a round: at the unread cylinder whose compression top is nearest
    /// in the running direction.
    fn leak_step(&self, layout: &Layout, when: Reading) -> Option<NextStep> {
        let unread = layout.cylinders().filter(|c| self.leak(*c, when).is_none());
        self.leak_step_among(unread, when)
    }

    /// The same among these cylinders.
    pub(super) fn leak_step_among(
        &self,
        cylinders: impl Iterator<Item = u8>,
        when: Reading,
    ) -> Option<NextStep> {
        let top = |cylinder| CrankAt {
            cylinder,
            offset_deg: 0.0,
        };
        let to = cylinders
            .map(top)
            .min_by(|a, b| self.turn_to(*a).abs().total_cmp(&self.turn_to(*b).abs()))?;
        Some(if self.crank() != Some(to) {
            self.turn_there(to)
        } else if self.wrench_on {
            NextStep::WrenchOff
        } else {
            NextStep::ReadLeak {
                cylinder: to.cylinder,
                when,
            }
        })
    }

    /// Whether the second leak-down is under way: every bank closed, the crank turned by
    /// hand, a cylinder still unread.
    fn is_second_leak_due(&self, layout: &Layout) -> bool {
        let mut cylinders = layout.cylinders();
        (0..layout.banks.len()).all(|b| self.is_bank_closed(b))
            && self.step_seen(Step::TurnedTwiceByHand).is_some()
            && cylinders.any(|c| self.leak(c, Reading::After).is_none())
    }

    fn plugs_again_step(&self, layout: &Layout, _: Plan<'_>) -> Option<NextStep> {
        if !self.is_second_leak_due(layout) {
            return None;
        }
        let mut banks = 0..layout.banks.len();
        let bank = banks.find(|b| self.has_gaping_hole(layout, *b))?;
        Some(NextStep::PlugsOut { bank: bank as u8 })
    }

    /// Bank by bank: everything off it, then its gate. Plugs that are out for the second
    /// leak-down wait until it is read.
    fn gate_step(&self, layout: &Layout, _: Plan<'_>) -> Option<NextStep> {
        if self.is_second_leak_due(layout) {
            return None;
        }
        (0..layout.banks.len()).find_map(|bank| {
            let mut cylinders = layout.banks[bank].cylinders.iter();
            let plugs_out = cylinders.any(|c| self.cylinder(*c).is_some_and(|k| k.plug_out));
            let number = bank as u8;
            if plugs_out || self.aboard_bank(bank).next().is_some() {
                return Some(NextStep::ClearBank { bank: number });
            }
            (!self.is_bank_closed(bank)).then_some(NextStep::Gate { bank: number })
        })
    }
}
