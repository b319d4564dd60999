//! The one next step: what a careful technician would do now.

use super::order::{HANDS_ORDER, Plan};
use super::{CrankAt, Event, JobPhase, JobState, NextStep, Stage};
use crate::engine::Layout;
use crate::parts::{Item, Place};

impl JobState {
    /// What comes next: the first row of [`HANDS_ORDER`] that asks for something. `stop` is
    /// the next stop of the working order, if there is one; without it the lowest open
    /// cylinder of the layout is taken at its first offset.
    pub fn next_step(&self, stop: Option<CrankAt>) -> NextStep {
        self.next_step_with(stop, &[])
    }

    /// The same with the adaptors of that stop in the order planned, so that the tool is
    /// changed as often as planned and no more.
    pub fn next_step_with(&self, stop: Option<CrankAt>, adaptors: &[String]) -> NextStep {
        let Some(layout) = self.layout() else {
            return NextStep::Nothing;
        };
        match self.phase {
            JobPhase::Paused => return NextStep::Resume,
            JobPhase::Open => {}
            _ => return NextStep::Nothing,
        }
        let plan = Plan { stop, adaptors };
        HANDS_ORDER
            .iter()
            .find_map(|row| (row.ask)(self, layout, plan))
            .unwrap_or(NextStep::Nothing)
    }

    /// Degrees to turn to a working position; backwards (negative) only where the
    /// layout allows it and that way is shorter. From an unknown position the figure
    /// counts from cylinder 1's top.
    pub fn turn_to(&self, to: CrankAt) -> f64 {
        let Some(layout) = self.layout() else {
            return 0.0;
        };
        let from = self.crank_deg().unwrap_or(0.0);
        let to_deg = layout
            .working_deg(to.cylinder, to.offset_deg)
            .unwrap_or(from);
        let forward = crate::engine::wrap_720(to_deg - from);
        if layout.may_turn_back && forward > 360.0 {
            forward - 720.0
        } else {
            forward
        }
    }

    /// Kit of the layout's list that is not counted in yet, with the list's figure.
    pub fn kit_missing(&self) -> Vec<(Item, u32)> {
        let mut listed: std::collections::BTreeMap<Item, u32> = std::collections::BTreeMap::new();
        for line in self.layout().map(Layout::kit_list).unwrap_or_default() {
            *listed.entry(line.item).or_default() += line.count;
        }
        listed
            .into_iter()
            .filter(|(item, _)| self.ledger.account(item).counted_in == 0)
            .collect()
    }

    /// How many new seals are short for the valves that still need one.
    pub fn seals_short(&self) -> u32 {
        let needed = self
            .valves
            .iter()
            .filter(|v| usize::from(v.stages_seen) <= Stage::SealFitted.index())
            .count() as u32;
        needed.saturating_sub(self.ledger.at(&Item::NewSeal, Place::Stock))
    }

    /// The events that a plain tap on a step stands for. Empty where the step needs more
    /// than a tap: a figure, a signature, a choice.
    pub fn events_of(&self, step: &NextStep) -> Vec<Event> {
        match step {
            NextStep::Resume => vec![Event::Resumed {}],
            NextStep::See(step) => vec![Event::StepSeen { step: *step }],
            NextStep::CountKit => self
                .kit_missing()
                .into_iter()
                .map(|(item, count)| Event::KitCounted { item, count })
                .collect(),
            NextStep::IssueSeals { count } => vec![Event::StockIssued {
                item: Item::NewSeal,
                count: *count,
            }],
            NextStep::PlugsOut { bank } => self.plugs_out_events(usize::from(*bank)),
            NextStep::LiftCover { bank } => vec![Event::CoverOff { bank: *bank }],
            NextStep::StoppersIn { bank, count } => vec![Event::PutAboard {
                item: Item::Stopper,
                bank: *bank,
                count: *count,
            }],
            NextStep::Turn { to, turn_deg } => self.turn_events(*to, *turn_deg),
            NextStep::WrenchOff => vec![Event::WrenchOff {}],
            NextStep::HoseIn { cylinder } => self.hose_in_events(*cylinder),
            NextStep::SeeStage { valve, stage } => vec![Event::StageSeen {
                valve: *valve,
                stage: *stage,
                locks_dropped: 0,
                seals_spoiled: 0,
            }],
            NextStep::AirOff { cylinder } => self
                .cylinder(*cylinder)
                .and_then(|c| c.air_bar)
                .map(|bar| Event::AirOff {
                    cylinder: *cylinder,
                    bar,
                })
                .into_iter()
                .collect(),
            NextStep::HoseOut { cylinder } => vec![
                Event::HoseOut {
                    cylinder: *cylinder,
                },
                Event::VentedCoverIn {
                    cylinder: *cylinder,
                },
            ],
            NextStep::ReleaseHold { cylinder } => self
                .cylinder(*cylinder)
                .and_then(|c| c.hold)
                .map(|hold| Event::HoldReleased {
                    cylinder: *cylinder,
                    hold,
                })
                .into_iter()
                .collect(),
            NextStep::ClearBank { bank } => self.clear_bank_events(usize::from(*bank)),
            NextStep::MendSwap { swapped } => self.mend_events(*swapped),
            NextStep::LookFirst { .. }
            | NextStep::FindPart { .. }
            | NextStep::TakeIn
            | NextStep::ReadLeak { .. }
            | NextStep::AskForeman { .. }
            | NextStep::AirOn { .. }
            | NextStep::Gate { .. }
            | NextStep::CloseJob
            | NextStep::Nothing => Vec::new(),
        }
    }

    /// A part that is on a valve already comes off it again before both are laid right.
    fn mend_events(&self, swapped: uuid::Uuid) -> Vec<Event> {
        let Some(swap) = self.open_swaps().find(|s| s.id == swapped) else {
            return Vec::new();
        };
        let fitted = [swap.valve, swap.own].into_iter().filter(|valve| {
            self.valve(*valve)
                .is_some_and(super::ValveState::is_verified)
        });
        let mut events: Vec<Event> = fitted
            .filter_map(|valve| self.last_stage_event(valve))
            .map(Event::taken_back)
            .collect();
        events.push(Event::SwapMended { swapped });
        events
    }

    fn bank_cylinders(&self, bank: usize) -> Vec<u8> {
        self.layout()
            .and_then(|l| l.banks.get(bank))
            .map(|b| b.cylinders.clone())
            .unwrap_or_default()
    }

    fn plugs_out_events(&self, bank: usize) -> Vec<Event> {
        let mut events = Vec::new();
        for cylinder in self.bank_cylinders(bank) {
            let Some(state) = self.cylinder(cylinder) else {
                continue;
            };
            if !state.plug_out {
                events.push(Event::PlugOut { cylinder });
            }
            if !state.vented_cover_in && !state.hose_in {
                events.push(Event::VentedCoverIn { cylinder });
            }
        }
        events
    }

    fn turn_events(&self, to: CrankAt, turn_deg: f64) -> Vec<Event> {
        let mut events = Vec::new();
        if !self.wrench_on {
            events.push(Event::WrenchOn {});
        }
        events.push(Event::CrankTurned {
            from: self.crank(),
            to,
            turn_deg,
        });
        events.push(Event::WrenchOff {});
        events
    }

    fn hose_in_events(&self, cylinder: u8) -> Vec<Event> {
        let mut events = Vec::new();
        if self.cylinder(cylinder).is_some_and(|c| c.vented_cover_in) {
            events.push(Event::VentedCoverOut { cylinder });
        }
        events.push(Event::HoseIn { cylinder });
        events
    }

    fn clear_bank_events(&self, bank: usize) -> Vec<Event> {
        let mut events = Vec::new();
        for cylinder in self.bank_cylinders(bank) {
            let Some(state) = self.cylinder(cylinder) else {
                continue;
            };
            if state.vented_cover_in {
                events.push(Event::VentedCoverOut { cylinder });
            }
            if state.hose_in {
                events.push(Event::HoseOut { cylinder });
            }
            if state.plug_out {
                events.push(Event::PlugIn { cylinder });
            }
        }
        let aboard = self.banks.get(bank).map(|b| b.aboard.clone());
        for (item, count) in aboard.unwrap_or_default() {
            events.push(Event::TakenOff {
                item,
                bank: bank as u8,
                count,
            });
        }
        events
    }
}
