//! The one next step: what a careful technician would do now.

use super::check::stoppers_of;
use super::{CrankAt, Event, JobPhase, JobState, NextStep, Reading, Stage, Step, ValveState};
use crate::engine::Layout;
use crate::parts::{Item, Place};

impl JobState {
    /// What comes next. `stop` is the next stop of the working order, if there is one;
    /// without it the lowest open cylinder of the layout is taken at its first offset.
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
        if let Some(step) = self.cylinder_step(layout, adaptors) {
            return step;
        }
        if let Some(drop) = self.drops_adrift().next() {
            return NextStep::FindPart { dropped: drop.id };
        }
        self.preparation_step(layout)
            .or_else(|| self.next_cylinder_step(layout, stop))
            .unwrap_or_else(|| self.close_up_step(layout))
    }

    /// Inside the cylinder at which the crank stands, while it is open.
    fn cylinder_step(&self, layout: &Layout, adaptors: &[String]) -> Option<NextStep> {
        let at = self.crank?;
        let cylinder = at.cylinder;
        let state = self.cylinder(cylinder)?;
        let bank = layout.bank_of(cylinder)?;
        if self.is_bank_closed(bank) {
            return self.leave_cylinder(cylinder);
        }
        let at_work =
            state.hose_in || state.is_held() || self.valves_of(cylinder).any(|(_, v)| v.is_open());
        let mid_valve = self
            .valves_of(cylinder)
            .find(|(_, v)| v.is_unlocked() || v.is_spring_held());
        if let Some((valve, v)) = mid_valve {
            return v
                .next_stage()
                .map(|stage| NextStep::SeeStage { valve, stage });
        }
        if !at_work || !self.banks[bank].cover_off {
            return None;
        }
        self.valve_round(layout, cylinder, adaptors)
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
        let state = self.cylinder(cylinder)?;
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
            if state.is_held() {
                return Some(NextStep::SeeStage {
                    valve,
                    stage: Stage::SpringHeld,
                });
            }
            return Some(if state.hose_in {
                NextStep::AirOn { cylinder }
            } else {
                NextStep::HoseIn { cylinder }
            });
        }
        let valve = at(Some(Stage::LocksIn))?;
        Some(if state.air_bar.is_some() {
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
        let state = self.cylinder(cylinder)?;
        if state.air_bar.is_some() {
            return Some(NextStep::AirOff { cylinder });
        }
        if state.hold.is_some() {
            return Some(NextStep::ReleaseHold { cylinder });
        }
        state.hose_in.then_some(NextStep::HoseOut { cylinder })
    }

    fn preparation_step(&self, layout: &Layout) -> Option<NextStep> {
        if self.valves.iter().all(ValveState::is_verified) {
            return None;
        }
        let untouched = self.valves.iter().all(|v| v.stages_seen == 0);
        if untouched {
            let step = Step::BEFORE
                .into_iter()
                .find(|s| self.step_seen(*s).is_none());
            if let Some(step) = step {
                return Some(NextStep::See(step));
            }
            if !self.kit_missing().is_empty() {
                return Some(NextStep::CountKit);
            }
        }
        let short = self.seals_short();
        if short > 0 && untouched {
            return Some(NextStep::IssueSeals { count: short });
        }
        (0..layout.banks.len()).find_map(|bank| self.bank_step(layout, bank, untouched))
    }

    fn bank_step(&self, layout: &Layout, bank: usize, untouched: bool) -> Option<NextStep> {
        if self.bank_verified(bank) || self.is_bank_closed(bank) {
            return None;
        }
        let cylinders = &layout.banks[bank].cylinders;
        let gapes = |c: &&u8| {
            self.cylinder(**c)
                .is_some_and(|k| !k.vented_cover_in && !k.hose_in)
        };
        if untouched {
            let unread = cylinders
                .iter()
                .find(|c| self.leak(**c, Reading::Before).is_none());
            if let Some(cylinder) = unread {
                return Some(NextStep::ReadLeak {
                    cylinder: *cylinder,
                    when: Reading::Before,
                });
            }
            // Whether new seals help at all is settled before the first cover is lifted.
            let past = cylinders
                .iter()
                .find(|c| self.foreman_wanted(**c).is_some());
            if let Some(cylinder) = past {
                return Some(NextStep::AskForeman {
                    cylinder: *cylinder,
                });
            }
        }
        if cylinders.iter().any(|c| gapes(&c)) {
            return Some(NextStep::PlugsOut { bank: bank as u8 });
        }
        if !self.banks[bank].cover_off {
            return Some(NextStep::LiftCover { bank: bank as u8 });
        }
        let wanted = stoppers_of(layout, bank);
        let aboard = self.banks[bank]
            .aboard
            .get(&Item::Stopper)
            .copied()
            .unwrap_or_default();
        (aboard < wanted).then(|| NextStep::StoppersIn {
            bank: bank as u8,
            count: wanted - aboard,
        })
    }

    fn next_cylinder_step(&self, layout: &Layout, stop: Option<CrankAt>) -> Option<NextStep> {
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
        if self.foreman_wanted(to.cylinder).is_some() {
            return Some(NextStep::AskForeman {
                cylinder: to.cylinder,
            });
        }
        if self.crank == Some(to) {
            if self.wrench_on {
                return Some(NextStep::WrenchOff);
            }
            return Some(NextStep::HoseIn {
                cylinder: to.cylinder,
            });
        }
        Some(NextStep::Turn {
            to,
            turn_deg: self.turn_to(to),
        })
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

    fn close_up_step(&self, layout: &Layout) -> NextStep {
        if self.wrench_on {
            return NextStep::WrenchOff;
        }
        for bank in 0..layout.banks.len() {
            let plugs_out = layout.banks[bank]
                .cylinders
                .iter()
                .any(|c| self.cylinder(*c).is_some_and(|k| k.plug_out));
            let bank_number = bank as u8;
            if plugs_out || self.aboard_bank(bank).next().is_some() {
                return NextStep::ClearBank { bank: bank_number };
            }
            if !self.is_bank_closed(bank) {
                return NextStep::Gate { bank: bank_number };
            }
        }
        if let Some(step) = Step::AFTER
            .into_iter()
            .find(|s| self.step_seen(*s).is_none())
        {
            let turned = self.step_seen(Step::TurnedTwiceByHand).is_some();
            let unread = layout
                .cylinders()
                .find(|c| self.leak(*c, Reading::After).is_none());
            if let (true, Some(cylinder)) = (turned, unread) {
                return NextStep::ReadLeak {
                    cylinder,
                    when: Reading::After,
                };
            }
            return NextStep::See(step);
        }
        NextStep::CloseJob
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
                strays: 0,
                nicked: 0,
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
            NextStep::FindPart { .. }
            | NextStep::ReadLeak { .. }
            | NextStep::AskForeman { .. }
            | NextStep::AirOn { .. }
            | NextStep::Gate { .. }
            | NextStep::CloseJob
            | NextStep::Nothing => Vec::new(),
        }
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
            from: self.crank,
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
