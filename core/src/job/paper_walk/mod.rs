//! The way from where a job stands to what a sheet of paper says: the events that lead there
//! in the order of the hands, by the same rules as taps. What the rules do not reach is
//! refused, with the box that it hangs on.

mod fell;

use uuid::Uuid;

use super::order::{FIRST_LEAK, HANDS_ORDER, OrderRow, PLUGS_AGAIN, Plan, SECOND_LEAK};
use super::{
    CrankAt, Entry, Event, JobState, NextStep, PAPER_LINES_MAX, PaperBox, PaperDrop, PaperLeak,
    PaperRefusal, PaperSheet, PaperWait, PaperWalk, PaperWhy, Person, Reading, Refusal, Stage,
    Step,
};
use crate::engine::{Layout, ValveName};

/// What became of a step that is next.
enum BoxTaken {
    /// Its events are taken.
    Done,
    /// It is not on the paper; what should be there.
    Missing(PaperBox),
    /// People have to sign first.
    Waits(PaperWait),
}

/// A walk under way.
struct Walker<'a, F> {
    state: JobState,
    sheet: &'a PaperSheet,
    order: &'a [(CrankAt, Vec<String>)],
    new_id: F,
    lines: Vec<(Uuid, Event)>,
    leaks: Vec<&'a PaperLeak>,
    drops: Vec<(usize, &'a PaperDrop)>,
    seals: Option<u32>,
    /// Cylinders whose reading or hold was used.
    used: Vec<u8>,
    /// What the rules said last to a box that was tried.
    refused: Option<(PaperBox, Refusal)>,
}

impl JobState {
    /// The events that lead from this state to what a sheet says. `order` is the working
    /// order with the tool ends of each stop; `new_id` gives identities for the lines.
    ///
    /// # Errors
    /// [`PaperRefusal`] for a box that the rules do not reach.
    pub fn walk_paper(
        &self,
        sheet: &PaperSheet,
        order: &[(CrankAt, Vec<String>)],
        new_id: impl FnMut() -> Uuid,
    ) -> Result<PaperWalk, PaperRefusal> {
        let Some(layout) = self.layout_arc() else {
            return Err(at_all(PaperWhy::Refused(Refusal::NotOpened)));
        };
        let mut walker = Walker {
            state: self.clone(),
            sheet,
            order,
            new_id,
            lines: Vec::new(),
            leaks: sheet.leaks.iter().filter(|l| !self.has_leak(l)).collect(),
            drops: sheet.drops.iter().enumerate().collect(),
            seals: sheet.seals,
            used: Vec::new(),
            refused: None,
        };
        walker.look_over(&layout)?;
        walker.take_finds()?;
        let waits = walker.go(&layout)?;
        if waits.is_none() {
            walker.take_rest()?;
        }
        if walker.lines.is_empty() && waits.is_none() {
            return Err(at_all(PaperWhy::Stands));
        }
        Ok(PaperWalk {
            lines: walker.lines,
            waits,
        })
    }

    /// Whether the very reading stands.
    fn has_leak(&self, leak: &PaperLeak) -> bool {
        self.leak(leak.cylinder, leak.when).is_some_and(|read| {
            (read.supply_bar, read.cylinder_bar) == (leak.supply_bar, leak.cylinder_bar)
        })
    }
}

fn at_all(why: PaperWhy) -> PaperRefusal {
    PaperRefusal { at: None, why }
}

fn refuse<T>(at: PaperBox, why: PaperWhy) -> Result<T, PaperRefusal> {
    Err(PaperRefusal { at: Some(at), why })
}

impl<F: FnMut() -> Uuid> Walker<'_, F> {
    /// What is wrong with the sheet by itself.
    fn look_over(&self, layout: &Layout) -> Result<(), PaperRefusal> {
        for valve in layout.valves() {
            if let Some((ticked, missing)) = self.sheet.gap(&self.state, valve) {
                let missing = PaperBox::Stage(valve, missing);
                return refuse(PaperBox::Stage(valve, ticked), PaperWhy::Before(missing));
            }
        }
        for (at, drop) in &self.drops {
            if drop.loose_from().is_some() && drop.valve.is_none() {
                return refuse(PaperBox::Drop(*at), PaperWhy::FromNoValve);
            }
        }
        Ok(())
    }

    /// Goes on until everything that is ticked stands, or people have to sign.
    fn go(&mut self, layout: &Layout) -> Result<Option<PaperWait>, PaperRefusal> {
        // Every round takes a line at least.
        for _ in 0..=PAPER_LINES_MAX {
            self.take_drops(false)?;
            let Some(open) = self.first_open(layout) else {
                return Ok(None);
            };
            self.refused = None;
            let missing = match self.take_next(layout, &open)? {
                BoxTaken::Done => continue,
                BoxTaken::Waits(wait) => return Ok(Some(wait)),
                BoxTaken::Missing(missing) => missing,
            };
            if self.other_way(layout)? {
                continue;
            }
            let is_stage = matches!(missing, PaperBox::Stage(..));
            if let Some((at, refusal)) = self.refused.take().filter(|_| is_stage) {
                return refuse(at, PaperWhy::Refused(refusal));
            }
            return refuse(open, PaperWhy::Before(missing));
        }
        Err(at_all(PaperWhy::OutOfOrder))
    }

    /// The first box, in the order of the paper, that is ticked or written and does not stand.
    fn first_open(&self, layout: &Layout) -> Option<PaperBox> {
        let step = |steps: &[Step]| {
            let mut steps = steps.iter().filter(|s| self.sheet.steps.contains(s));
            let open = steps.find(|s| self.state.step_seen(**s).is_none());
            open.map(|s| PaperBox::Step(*s))
        };
        let leak = |when: Reading| {
            let read = self.leaks.iter().find(|l| l.when == when);
            read.map(|l| PaperBox::Leak(l.cylinder, when))
        };
        let kit = || self.kit_open().next().map(|(item, _)| PaperBox::Kit(item));
        let valve = || {
            let by_order = self.order.iter().map(|(at, _)| at.cylinder);
            let cylinders = by_order.chain(layout.cylinders());
            let mut valves = cylinders.flat_map(|c| layout.valves_of(c).collect::<Vec<_>>());
            valves.find_map(|v| Some(PaperBox::Stage(v, self.next_ticked(v)?)))
        };
        step(&Step::BEFORE)
            .or_else(kit)
            .or_else(|| leak(Reading::Before))
            .or_else(valve)
            .or_else(|| leak(Reading::After))
            .or_else(|| step(&Step::AFTER))
    }

    /// The stage that a valve waits for, where its box is ticked.
    fn next_ticked(&self, valve: ValveName) -> Option<Stage> {
        let next = self.state.valve(valve)?.next_stage()?;
        self.sheet.stages.contains(&(valve, next)).then_some(next)
    }

    fn kit_open(&self) -> impl Iterator<Item = (crate::parts::Item, u32)> {
        let missing = self.state.kit_missing().into_iter();
        missing.filter(|(item, _)| self.sheet.kit.contains(item))
    }

    /// The next step as the hands do it, but for what no paper tells, and for readings that
    /// nobody has written: they are left open, and nobody turns the crank for them.
    fn next_step(&self, layout: &Layout) -> NextStep {
        let stop = self.stop(layout);
        let plan = Plan {
            stop: stop.as_ref().map(|(at, _)| *at),
            adaptors: stop.as_ref().map_or(&[], |(_, ends)| ends),
        };
        let ask = |row: &OrderRow| {
            let step = (row.ask)(&self.state, layout, plan)?;
            let leak = |when: Reading| {
                let mut of = self.leaks.iter().filter(|l| l.when == when).peekable();
                of.peek()?;
                let of: Vec<u8> = of.map(|l| l.cylinder).collect();
                self.state.leak_step_among(of.into_iter(), when)
            };
            match row.what {
                FIRST_LEAK => leak(Reading::Before),
                SECOND_LEAK => leak(Reading::After),
                PLUGS_AGAIN => leak(Reading::After).map(|_| step),
                _ => (step != NextStep::TakeIn).then_some(step),
            }
        };
        HANDS_ORDER
            .iter()
            .find_map(ask)
            .unwrap_or(NextStep::Nothing)
    }

    /// The stop that comes next: whole cylinders in their order, and last the one that the
    /// paper leaves in the middle.
    fn stop(&self, layout: &Layout) -> Option<(CrankAt, Vec<String>)> {
        let is_open = |c: u8| layout.valves_of(c).any(|v| self.next_ticked(v).is_some());
        let is_whole = |c: u8| {
            let mut valves = layout.valves_of(c);
            valves.all(|v| self.sheet.has_stage(&self.state, v, Stage::Verified))
        };
        let open = || self.order.iter().filter(|(at, _)| is_open(at.cylinder));
        let whole = open().find(|(at, _)| is_whole(at.cylinder));
        whole.or_else(|| open().next()).cloned()
    }

    fn take_next(&mut self, layout: &Layout, open: &PaperBox) -> Result<BoxTaken, PaperRefusal> {
        let step = self.next_step(layout);
        let stuck = |why| refuse(open.clone(), why);
        match &step {
            NextStep::LookFirst { .. } | NextStep::MendSwap { .. } => stuck(PaperWhy::LookFirst),
            NextStep::FindPart { .. } => stuck(PaperWhy::PartAdrift),
            NextStep::Resume => stuck(PaperWhy::Refused(Refusal::JobIsPaused)),
            NextStep::TakeIn | NextStep::Nothing => stuck(PaperWhy::OutOfOrder),
            NextStep::AskForeman { cylinder } => Ok(BoxTaken::Waits(PaperWait::Foreman(*cylinder))),
            NextStep::ClearBank { bank } | NextStep::Gate { bank } => {
                Ok(BoxTaken::Waits(PaperWait::Gate(*bank)))
            }
            NextStep::CloseJob => Ok(BoxTaken::Waits(PaperWait::Close)),
            NextStep::See(seen) => {
                let at = PaperBox::Step(*seen);
                let is_ticked = self.sheet.steps.contains(seen);
                self.ticked(is_ticked, at, self.state.events_of(&step))
            }
            NextStep::CountKit => self.count_kit(),
            NextStep::IssueSeals { .. } => {
                let issued = self.seals.take().map(issued);
                self.ticked(
                    issued.is_some(),
                    PaperBox::Seals,
                    issued.into_iter().collect(),
                )
            }
            NextStep::ReadLeak { cylinder, when } => self.read_leak(*cylinder, *when),
            NextStep::HoseIn { cylinder } | NextStep::AirOn { cylinder } => self.hold(*cylinder),
            NextStep::SeeStage { valve, stage } => {
                let at = PaperBox::Stage(*valve, *stage);
                let is_ticked = self.sheet.stages.contains(&(*valve, *stage));
                if is_ticked && *stage >= Stage::SpringHeld {
                    self.declare(valve.cylinder)?;
                }
                self.ticked(is_ticked, at, self.state.events_of(&step))
            }
            NextStep::PlugsOut { .. }
            | NextStep::LiftCover { .. }
            | NextStep::StoppersIn { .. }
            | NextStep::Turn { .. }
            | NextStep::WrenchOff
            | NextStep::AirOff { .. }
            | NextStep::HoseOut { .. }
            | NextStep::ReleaseHold { .. } => {
                self.ticked(true, open.clone(), self.state.events_of(&step))
            }
        }
    }

    fn ticked(
        &mut self,
        is_ticked: bool,
        at: PaperBox,
        events: Vec<Event>,
    ) -> Result<BoxTaken, PaperRefusal> {
        if !is_ticked {
            return Ok(BoxTaken::Missing(at));
        }
        for event in events {
            self.must(at.clone(), event)?;
        }
        Ok(BoxTaken::Done)
    }

    fn count_kit(&mut self) -> Result<BoxTaken, PaperRefusal> {
        let counted: Vec<_> = self.kit_open().collect();
        if let Some((item, _)) = self.state.kit_missing().into_iter().next()
            && counted.is_empty()
        {
            return Ok(BoxTaken::Missing(PaperBox::Kit(item)));
        }
        for (item, count) in counted {
            let at = PaperBox::Kit(item.clone());
            self.must(at, Event::KitCounted { item, count })?;
        }
        Ok(BoxTaken::Done)
    }

    fn read_leak(&mut self, cylinder: u8, when: Reading) -> Result<BoxTaken, PaperRefusal> {
        let at = PaperBox::Leak(cylinder, when);
        let is_it = |l: &&PaperLeak| (l.cylinder, l.when) == (cylinder, when);
        let Some(place) = self.leaks.iter().position(is_it) else {
            return Ok(BoxTaken::Missing(at));
        };
        let leak = self.leaks.remove(place);
        let read = Event::LeakRead {
            cylinder,
            when,
            supply_bar: leak.supply_bar,
            cylinder_bar: leak.cylinder_bar,
            heard: leak.heard.clone(),
        };
        self.ticked(true, at, vec![read])
    }

    /// Puts on what the paper says that held a cylinder: air, a hold, or both.
    fn hold(&mut self, cylinder: u8) -> Result<BoxTaken, PaperRefusal> {
        let at = PaperBox::Holds(cylinder);
        let Some(bar) = self.sheet.air_bar.get(&cylinder).copied() else {
            return Ok(if self.declare(cylinder)? {
                BoxTaken::Done
            } else {
                BoxTaken::Missing(at)
            });
        };
        let has_hose = self.state.cylinder(cylinder).is_some_and(|c| c.hose_in);
        let events = if has_hose {
            self.used.push(cylinder);
            vec![Event::AirOn { cylinder, bar }]
        } else {
            self.state.events_of(&NextStep::HoseIn { cylinder })
        };
        self.ticked(true, at, events)
    }

    /// Declares the hold of a cylinder, where the paper has one and it is not in.
    fn declare(&mut self, cylinder: u8) -> Result<bool, PaperRefusal> {
        let Some(hold) = self.sheet.holds.get(&cylinder).copied() else {
            return Ok(false);
        };
        if self
            .state
            .cylinder(cylinder)
            .is_none_or(|c| c.hold.is_some())
        {
            return Ok(false);
        }
        self.used.push(cylinder);
        self.must(
            PaperBox::Holds(cylinder),
            Event::HoldDeclared { cylinder, hold },
        )?;
        Ok(true)
    }

    /// What the paper has done in another order that the rules allow as well: a step that was
    /// ticked late, one valve finished before the next is begun.
    fn other_way(&mut self, layout: &Layout) -> Result<bool, PaperRefusal> {
        let is_touched = self.state.valves().any(|(_, v)| v.stages_seen > 0);
        if is_touched {
            let ticked = |s: &Step| self.sheet.steps.contains(s);
            let mut late = Step::BEFORE.into_iter().filter(ticked);
            if let Some(step) = late.find(|s| self.state.step_seen(*s).is_none()) {
                self.must(PaperBox::Step(step), Event::StepSeen { step })?;
                return Ok(true);
            }
            if self.kit_open().next().is_some() {
                self.count_kit()?;
                return Ok(true);
            }
        }
        let Some(at) = self.state.crank() else {
            return Ok(false);
        };
        let valves: Vec<ValveName> = layout.valves_of(at.cylinder).collect();
        for valve in valves {
            if let Some(stage) = self.next_ticked(valve)
                && self.work(valve, stage)?
            {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Tries one stage of a valve, with what it needs of air.
    fn work(&mut self, valve: ValveName, stage: Stage) -> Result<bool, PaperRefusal> {
        let event = Event::StageSeen {
            valve,
            stage,
            locks_dropped: 0,
            seals_spoiled: 0,
        };
        let Err(refusal) = self.take(event) else {
            return Ok(true);
        };
        let cylinder = valve.cylinder;
        match &refusal {
            Refusal::NothingHolds { .. } if matches!(self.hold(cylinder)?, BoxTaken::Done) => {
                return Ok(true);
            }
            Refusal::AirStillOn { .. } => {
                let off = self.state.events_of(&NextStep::AirOff { cylinder });
                if off.into_iter().all(|event| self.take(event).is_ok()) {
                    return Ok(true);
                }
            }
            _ => {}
        }
        self.refused = Some((PaperBox::Stage(valve, stage), refusal));
        Ok(false)
    }

    /// Takes an event that the rules have to take.
    fn must(&mut self, at: PaperBox, event: Event) -> Result<Uuid, PaperRefusal> {
        self.take(event)
            .or_else(|refusal| refuse(at, PaperWhy::Refused(refusal)))
    }

    fn take(&mut self, event: Event) -> Result<Uuid, Refusal> {
        if self.lines.len() >= PAPER_LINES_MAX as usize {
            let count = PAPER_LINES_MAX;
            return Err(Refusal::BadCount { count });
        }
        if let Some(refusal) = self.state.objection(&event) {
            return Err(refusal);
        }
        let id = (self.new_id)();
        let at_ms = self.state.last_ms();
        self.state.apply(&Entry {
            id,
            tablet: Uuid::nil(),
            at_ms,
            offset_min: 0,
            clock: (0, 0),
            after: None,
            paper: None,
            who: Person::new(""),
            event: event.clone(),
        })?;
        self.lines.push((id, event));
        Ok(id)
    }
}

fn issued(count: u32) -> Event {
    Event::StockIssued {
        item: crate::parts::Item::NewSeal,
        count,
    }
}
