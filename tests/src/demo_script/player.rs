//! Plays one job of the depot as its script says, with the depot's own clock.

use std::collections::BTreeMap;

use trayzero_core::engine::ValveName;
use trayzero_core::job::{
    Event, JobPhase, JobState, NextStep, Opening, Person, SearchPlace, Stage, ValveState,
};
use trayzero_core::parts::{Item, Place};
use uuid::Uuid;

use super::depot::{BayScript, DemoFinding, End};
use super::job_status::{is_being_read, is_calm, seals_fitted, to_cylinder, uncleared_bank};
use super::pace::WorkPace;
use super::rehearsal::Rehearsal;
use super::technician::{ScriptedLeak, Technician, next_stop};
use super::{ScriptError, layout_of, local_ms};

/// More taps than any job of the depot takes.
const TAPS_MAX: usize = 5_000;

/// Minutes to the store and back.
const STORE_MINUTES: f64 = 4.0;

/// Plays one job.
pub struct Player<'a> {
    script: &'a BayScript,
    technician: Technician,
    pace: WorkPace,
    /// The depot's local time, milliseconds.
    local_ms: i64,
    is_taken_in: bool,
    rests_taken: usize,
    gate_tried: bool,
}

impl<'a> Player<'a> {
    /// A player at the time of the script's first entry.
    ///
    /// # Errors
    /// [`ScriptError::Time`] if that is no time.
    pub fn new(
        script: &'a BayScript,
        foreman: &Person,
        entering: Box<dyn FnMut() -> Uuid>,
    ) -> Result<Self, ScriptError> {
        let second = match &script.state {
            End::Closed { second } => second.clone(),
            _ => foreman.clone(),
        };
        let leaks = script.leaks.iter().map(|leak| {
            let reading = ScriptedLeak {
                supply_bar: leak.supply_bar,
                cylinder_bar: leak.cylinder_bar,
                heard: leak.heard.clone(),
            };
            ((leak.when, leak.cylinder), reading)
        });
        Ok(Self {
            technician: Technician {
                name: script.technician.clone(),
                second,
                foreman: foreman.clone(),
                leaks: leaks.collect::<BTreeMap<_, _>>(),
                found_at: SearchPlace::BenchAndFloor,
                entering,
            },
            pace: WorkPace::of(&script.vehicle),
            local_ms: local_ms(&script.began)?,
            script,
            is_taken_in: false,
            rests_taken: 0,
            gate_tried: false,
        })
    }

    /// The job's first entry.
    ///
    /// # Errors
    /// [`ScriptError::Layout`] for an engine that does not come with the program.
    pub fn opening(&self) -> Result<Opening, ScriptError> {
        Ok(Opening {
            order_number: None,
            layout: layout_of(&self.script.layout)?,
            vehicle: self.script.vehicle.clone(),
            bay: self.script.bay.clone(),
            technician: self.script.technician.clone(),
        })
    }

    /// The depot's local time now, milliseconds.
    pub fn local_ms(&self) -> i64 {
        self.local_ms
    }

    /// Plays an opened job to where the script ends.
    ///
    /// # Errors
    /// [`ScriptError`], if the rules refuse a tap or the job comes out otherwise than
    /// described.
    pub fn play(&mut self, bay: &mut Rehearsal) -> Result<(), ScriptError> {
        if !self.is_taken_in {
            self.is_taken_in = true;
            self.take_in(bay)?;
        }
        for _ in 0..TAPS_MAX {
            if self.is_there(bay.state())? {
                return Ok(());
            }
            if self.rest(bay)? {
                continue;
            }
            let step = self.next(bay.state())?;
            if matches!(step, NextStep::FindPart { .. }) && self.is_gate_due(bay.state()) {
                self.try_gate(bay)?;
            }
            self.tap(bay, &step)?;
        }
        Err(self.otherwise("it comes to no end"))
    }

    fn take_in(&mut self, bay: &mut Rehearsal) -> Result<(), ScriptError> {
        let script = self.script;
        let take_in = Event::TakeInNoted(Box::new(script.take_in.clone()));
        self.take(bay, 9.0, &[take_in])?;
        for top_up in &script.top_ups {
            let event = Event::OilToppedUp {
                on: top_up.on.clone(),
                odometer_km: top_up.odometer_km,
                litres: top_up.litres,
            };
            self.take(bay, 0.7, &[event])?;
        }
        Ok(())
    }

    /// Whether the job stands where the script ends.
    fn is_there(&self, state: &JobState) -> Result<bool, ScriptError> {
        Ok(match &self.script.state {
            End::TakeInOnly {} => {
                let mut leaks = self.script.leaks.iter();
                leaks.all(|l| state.leak(l.cylinder, l.when).is_some())
            }
            End::MidValveAirOn(middle) | End::LockAdrift(middle) => {
                let mut all = true;
                for target in &middle.valves {
                    let name = ValveName::parse(middle.cylinder, &target.valve)?;
                    all &= state.valve(name).and_then(ValveState::stage) == Some(target.stage);
                }
                all
            }
            End::ReadyForCounts {} => {
                state.valves().all(|(_, v)| v.is_verified()) && uncleared_bank(state).is_none()
            }
            End::Closed { .. } => state.phase() == JobPhase::Closed,
        })
    }

    /// Rests if that is due: nothing is open, and so many valves are verified.
    fn rest(&mut self, bay: &mut Rehearsal) -> Result<bool, ScriptError> {
        let Some(rest) = self.script.rests.get(self.rests_taken) else {
            return Ok(false);
        };
        if bay.state().verified_count() < rest.verified || !is_calm(bay.state()) {
            return Ok(false);
        }
        // The first rest waits for seals: all that comes before them is done.
        let waits_for_seals = matches!(self.next(bay.state())?, NextStep::IssueSeals { .. });
        if rest.verified == 0 && !waits_for_seals {
            return Ok(false);
        }
        self.rests_taken += 1;
        let why = rest.why.clone();
        self.take(bay, 1.0, &[Event::Paused { why }])?;
        let until = local_ms(&rest.until)?;
        if until <= self.local_ms {
            return Err(self.otherwise(&format!("the rest until {} is over before", rest.until)));
        }
        self.local_ms = until;
        self.take(bay, 0.0, &[Event::Resumed {}])?;
        Ok(true)
    }

    /// The next step, as the state proposes it unless the script wants another.
    fn next(&self, state: &JobState) -> Result<NextStep, ScriptError> {
        let step = state.next_step(next_stop(state)?);
        let all_verified = state.valves().all(|(_, v)| v.is_verified());
        let at_close_up = matches!(step, NextStep::FindPart { .. } | NextStep::Gate { .. });
        if let (true, true, Some(bank)) = (all_verified, at_close_up, uncleared_bank(state)) {
            return Ok(NextStep::ClearBank { bank });
        }
        let Some(middle) = self.script.state.middle() else {
            return Ok(step);
        };
        if is_being_read(state) {
            return Ok(step);
        }
        match step {
            NextStep::SeeStage { valve, stage } if valve.cylinder == middle.cylinder => {
                if stage != Stage::SpringHeld {
                    return Ok(step);
                }
                for target in &middle.valves {
                    let valve = ValveName::parse(middle.cylinder, &target.valve)?;
                    if state.valve(valve).and_then(ValveState::next_stage) == Some(stage) {
                        return Ok(NextStep::SeeStage { valve, stage });
                    }
                }
                Err(self.otherwise("the valves listed do not end in its middle"))
            }
            NextStep::Turn { .. } | NextStep::HoseIn { .. } => {
                // The script says which cylinder comes next, wherever the crank was left.
                let mut listed = middle.cylinders_done.iter().copied();
                let open = listed.find(|c| !state.cylinder_verified(*c));
                let cylinder = open.unwrap_or(middle.cylinder);
                Ok(to_cylinder(state, cylinder).unwrap_or(step))
            }
            _ => Ok(step),
        }
    }

    /// One tap on a step, and what goes on besides.
    fn tap(&mut self, bay: &mut Rehearsal, step: &NextStep) -> Result<(), ScriptError> {
        if matches!(step, NextStep::Turn { .. }) {
            self.measure_breakaway(bay)?;
        }
        let mut events = self.technician.answer(bay.state(), step);
        let stage = match events.first_mut() {
            None => return Err(self.otherwise(&format!("{step:?} has no answer"))),
            Some(Event::StageSeen {
                valve,
                stage,
                locks_dropped,
                seals_spoiled,
            }) => {
                *locks_dropped = self.locks_dropped(*valve, *stage)?;
                *seals_spoiled = self.seals_spoiled(*valve, *stage);
                self.fetch_seals(bay, u32::from(*seals_spoiled))?;
                Some((*valve, *stage))
            }
            Some(_) => None,
        };
        self.local_ms += match aside_minutes(step, &events) {
            Some(minutes) => self.pace.take_ms(minutes),
            None => self.pace.step_ms(step, seals_fitted(bay.state())),
        };
        self.take(bay, 0.0, &events)?;
        match stage {
            Some((valve, stage)) => self.go_on_with(bay, valve, stage),
            None => Ok(()),
        }
    }

    /// Before the first turn, plugs out.
    fn measure_breakaway(&mut self, bay: &mut Rehearsal) -> Result<(), ScriptError> {
        let is_measured = bay.state().breakaway_nm().is_some_and(|(_, known)| known);
        match self.script.breakaway_nm {
            Some(torque_nm) if !is_measured => {
                self.take(bay, 4.0, &[Event::BreakawayMeasured { torque_nm }])
            }
            _ => Ok(()),
        }
    }

    /// New seals for those that are spoilt in fitting.
    fn fetch_seals(&mut self, bay: &mut Rehearsal, count: u32) -> Result<(), ScriptError> {
        if count == 0 {
            return Ok(());
        }
        let item = Item::NewSeal;
        let fetched = [Event::StockIssued { item, count }];
        self.take(bay, STORE_MINUTES, &fetched)
    }

    /// What the script has besides, once a stage is seen.
    fn go_on_with(
        &mut self,
        bay: &mut Rehearsal,
        valve: ValveName,
        stage: Stage,
    ) -> Result<(), ScriptError> {
        let script = self.script;
        let here = |v: ValveName, s: Stage| v == valve && s == stage;
        for incident in script.incidents.iter().filter(|i| here(i.valve, i.stage)) {
            let (minutes, events) = match &incident.what {
                DemoFinding::Dropped { found_at } => {
                    self.technician.found_at = *found_at;
                    (0.5, vec![lock_dropped(valve)])
                }
                DemoFinding::Replaced => (STORE_MINUTES, lock_replaced(valve)),
                DemoFinding::Noted(text) => (1.0, vec![Event::Noted { text: text.clone() }]),
                DemoFinding::SealSpoiled => continue,
            };
            self.take(bay, minutes, &events)?;
        }
        if stage == Stage::SealFitted {
            for finding in script.findings.iter().filter(|f| f.valve == Some(valve)) {
                let event = Event::FindingNoted(Box::new(finding.clone()));
                self.take(bay, 1.5, &[event])?;
            }
        }
        Ok(())
    }

    fn locks_dropped(&self, valve: ValveName, stage: Stage) -> Result<u8, ScriptError> {
        let middle = self.script.state.middle();
        let Some(middle) = middle.filter(|m| m.cylinder == valve.cylinder) else {
            return Ok(0);
        };
        for target in &middle.valves {
            if stage == Stage::LocksOut
                && ValveName::parse(middle.cylinder, &target.valve)? == valve
            {
                return Ok(target.locks_dropped);
            }
        }
        Ok(0)
    }

    fn seals_spoiled(&self, valve: ValveName, stage: Stage) -> u8 {
        let incidents = self.script.incidents.iter();
        incidents
            .filter(|i| i.valve == valve && i.stage == stage && i.what == DemoFinding::SealSpoiled)
            .count() as u8
    }

    fn is_gate_due(&self, state: &JobState) -> bool {
        !self.gate_tried && state.valves().all(|(_, v)| v.is_verified())
    }

    /// Tries to close a bank while a part is adrift; it must be refused.
    fn try_gate(&mut self, bay: &mut Rehearsal) -> Result<(), ScriptError> {
        self.gate_tried = true;
        let name = self.technician.name.clone();
        let by = self.technician.sign_as(&name);
        self.local_ms += self.pace.take_ms(1.0);
        match bay.take(self.local_ms, &name, &[Event::BankClosed { bank: 0, by }]) {
            Err(ScriptError::Refused(_)) => Ok(()),
            Err(other) => Err(other),
            Ok(()) => Err(self.otherwise("the gate opened with a part adrift")),
        }
    }

    /// Lets some minutes pass, then takes events.
    fn take(
        &mut self,
        bay: &mut Rehearsal,
        minutes: f64,
        events: &[Event],
    ) -> Result<(), ScriptError> {
        self.local_ms += self.pace.take_ms(minutes);
        bay.take(self.local_ms, &self.technician.name, events)?;
        Ok(())
    }

    fn otherwise(&self, why: &str) -> ScriptError {
        ScriptError::Other(format!("depot.json: {}: {why}", self.script.vehicle))
    }
}

/// Minutes of a tap that comes before the step itself: a caution, parts from the store.
fn aside_minutes(step: &NextStep, events: &[Event]) -> Option<f64> {
    match (events.first(), step) {
        (Some(Event::CautionSeen { .. }), _) => Some(0.4),
        (Some(Event::StockIssued { .. }), NextStep::SeeStage { .. }) => Some(STORE_MINUTES),
        _ => None,
    }
}

fn lock_dropped(valve: ValveName) -> Event {
    Event::PartDropped {
        item: Item::Lock,
        count: 1,
        from: Place::Tray,
        bank: None,
        valve: Some(valve),
    }
}

fn lock_replaced(valve: ValveName) -> Vec<Event> {
    let (item, count) = (Item::Lock, 1);
    vec![
        Event::StockIssued {
            item: item.clone(),
            count,
        },
        Event::PartReplaced { valve, item, count },
    ]
}
