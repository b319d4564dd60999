//! Whether an event may be taken now. Every rule is one short function.

mod engine;
mod lost_air;
mod notes;
mod own_place;
mod paper;
mod parts;
mod valve;

use uuid::Uuid;

use super::change::{Change, Postings};
use super::state::signatures;
use super::{
    BankState, CylinderState, Danger, Entry, Event, JobPhase, JobState, Opening, Refusal, SignOff,
    TEXT_CHARS_MAX, ValveState,
};
use crate::engine::{Layout, ValveName};

pub(super) use engine::may_stand_at;
pub use parts::found_places;
pub(super) use parts::{goes_aboard, is_laid_aside, is_room_for};
pub(super) use valve::stoppers_of;

/// The most of one item that one event moves.
const COUNT_MAX: u32 = 9_999;

type Allowed = Result<(), Refusal>;

fn ensure(condition: bool, refusal: impl FnOnce() -> Refusal) -> Allowed {
    if condition { Ok(()) } else { refuse(refusal) }
}

/// Out of the way of what is taken, so that this lies close together.
#[cold]
#[inline(never)]
fn refuse(refusal: impl FnOnce() -> Refusal) -> Allowed {
    Err(refusal())
}

impl JobState {
    /// The postings that the event comes to, if nothing stands in its way.
    pub(super) fn check(&self, entry: &Entry) -> Result<Postings, Refusal> {
        let event = &entry.event;
        self.check_phase(event)?;
        self.check_signatures(event)?;
        self.check_apart_from_phase(entry)
    }

    /// The same for an event that is looked at again later.
    pub(super) fn check_apart_from_phase(&self, entry: &Entry) -> Result<Postings, Refusal> {
        let event = &entry.event;
        if let Event::JobOpened(opening) = event {
            check_opening(opening)?;
            // What is posted rests on the engine, which is not there yet.
            return Ok(Postings::new());
        }
        let Some(layout) = self.layout() else {
            return Err(Refusal::NotOpened);
        };
        if entry.paper.is_some() || matches!(event, Event::EnteredFromPaper(_)) {
            self.check_paper(entry)?;
        }
        self.check_rules(layout, event)?;
        self.check_balances(entry)
    }

    #[expect(clippy::too_many_lines, reason = "a table: the rules of each event")]
    fn check_rules(&self, layout: &Layout, event: &Event) -> Allowed {
        match event {
            Event::StageSeen {
                valve,
                stage,
                locks_dropped,
                seals_spoiled,
            } => self.check_stage(layout, *valve, *stage, (*locks_dropped, *seals_spoiled)),

            // The job as a whole.
            Event::JobOpened(_) => Err(Refusal::AlreadyOpened),
            Event::TakenOver { .. }
            | Event::Resumed {}
            | Event::HandedOver { .. }
            | Event::StepSeen { .. }
            | Event::CautionSeen { .. } => Ok(()),
            // Whether it may be taken back now is looked at where it is.
            Event::Withdrawn { event, by } => self.check_taking_back_signed(*event, by),
            Event::Paused { why } => ensure_short([why]),
            Event::Noted { text } => ensure_short([text]),
            Event::ConflictResolved {
                conflict,
                by,
                note,
                seen,
                second,
            } => {
                ensure_short([note])?;
                second.iter().try_for_each(|s| check_two_people(by, s))?;
                self.check_resolution(*conflict, (by, second.as_ref()), seen)
            }
            Event::Sealed(seal) => notes::check_seal(seal),
            Event::JobClosed { .. } => first_of(self.job_gate()),
            Event::JobStopped { why, .. } => self.check_stop(why),

            // Before the first valve, and what is found.
            Event::TakeInNoted(take_in) => notes::check_take_in(take_in),
            Event::OilToppedUp {
                on,
                odometer_km,
                litres,
            } => notes::check_oil(on, *odometer_km, *litres),
            Event::LeakRead {
                cylinder,
                supply_bar,
                cylinder_bar,
                ..
            } => {
                self.existing_cylinder(layout, *cylinder)?;
                notes::check_leak(*supply_bar, *cylinder_bar)
            }
            Event::ForemanAgreed { cylinder, .. } => self.check_agreed(layout, *cylinder),
            Event::BreakawayMeasured { torque_nm } => notes::check_torque(*torque_nm),
            Event::FindingNoted(finding) => self.check_finding(layout, finding),
            Event::PictureAdded(picture) => self.check_picture(layout, picture),
            Event::FollowedUp { seen, .. } => notes::check_follow_up(seen),
            Event::EnteredFromPaper(batch) => paper::check_batch(batch),

            // Parts and kit.
            Event::KitCounted { item, count } => self.check_kit(item, *count),
            Event::StockIssued { item, count } => self.check_issued(item, *count),
            Event::StockReturned { item, count } => parts::check_returned(item, *count),
            Event::TakenFromStock { item, count } => parts::check_from_stock(item, *count),
            Event::PutAway { item, count, to } => parts::check_put_away(item, *count, *to),
            Event::PutAboard { item, bank, count } => self.check_put_aboard(item, *bank, *count),
            Event::TakenOff { item, bank, count } => {
                self.check_taken_off(layout, item, *bank, *count)
            }
            Event::PartUsed { item, count } => parts::check_used(item, *count),
            Event::PartReplaced { valve, item, count } => {
                self.check_replaced(layout, *valve, item, *count)
            }
            Event::PartDropped {
                item,
                count,
                from,
                bank,
                valve,
            } => {
                valve.map_or(Ok(()), |v| self.existing_valve(layout, v).map(drop))?;
                bank.map_or(Ok(()), |b| self.existing_bank(b).map(drop))?;
                parts::check_drop(item, *count, *from, *bank)
            }
            Event::PartsSwapped { item, valve, own } => {
                self.check_swapped(layout, item, *valve, *own)
            }
            Event::SwapMended { swapped } => self.check_swap_mended(layout, *swapped),
            Event::PartFound { dropped, to, .. } => self.check_found(*dropped, *to),
            Event::SearchSigned {
                dropped,
                first,
                second,
                places,
            } => self.check_search(*dropped, first, second, places),
            Event::BlindCount { by, lines } => self.check_count(by, lines),

            // The engine.
            Event::CoverOff { bank } => {
                let bank_state = self.existing_bank(*bank)?;
                ensure(!bank_state.cover_off, || Refusal::CoverAlreadyOff {
                    bank: *bank,
                })
            }
            Event::BankClosed { bank, .. } => {
                self.existing_bank(*bank)?;
                first_of(self.gate(usize::from(*bank)))
            }
            Event::PlugOut { cylinder } => self.check_plug_out(layout, *cylinder),
            Event::PlugIn { cylinder } => self.check_plug_in(layout, *cylinder),
            Event::VentedCoverIn { cylinder } | Event::HoseIn { cylinder } => {
                self.check_hole_free(layout, *cylinder)
            }
            Event::VentedCoverOut { cylinder } => self.check_vented_cover_out(layout, *cylinder),
            Event::HoseOut { cylinder } => self.check_hose_out(layout, *cylinder),
            Event::WrenchOn {} => {
                ensure(!self.wrench_on, || Refusal::WrenchStillOn)?;
                self.check_no_air()?;
                self.check_looked_at(|_| true)
            }
            Event::WrenchOff {} => ensure(self.wrench_on, || Refusal::WrenchNotOn),
            Event::CrankTurned { from, to, turn_deg } => {
                self.check_turn(layout, *from, *to, *turn_deg)
            }
            Event::AirOn { cylinder, bar } => self.check_air_on(layout, *cylinder, *bar),
            Event::AirOff { cylinder, bar } => self.check_air_off(layout, *cylinder, *bar),
            Event::AirReadAnew {
                cylinder,
                was_bar,
                bar,
            } => self.check_air_anew(layout, *cylinder, *was_bar, *bar),
            Event::AirLost { cylinder, .. } => self.check_air_lost(layout, *cylinder),
            Event::HoldDeclared { cylinder, hold } => self.check_hold(layout, *cylinder, *hold),
            Event::HoldReleased { cylinder, hold } => self.check_release(layout, *cylinder, *hold),
            Event::CylinderPutOff { cylinder } | Event::CylinderWanted { cylinder } => {
                self.existing_cylinder(layout, *cylinder)?;
                ensure(!self.cylinder_verified(*cylinder), || {
                    Refusal::AlreadyVerified {
                        cylinder: *cylinder,
                    }
                })
            }
        }
    }

    fn check_phase(&self, event: &Event) -> Allowed {
        let opening = matches!(event, Event::JobOpened(_));
        match self.phase {
            JobPhase::Unopened => ensure(opening, || Refusal::NotOpened),
            _ if opening => Err(Refusal::AlreadyOpened),
            phase if matches!(event, Event::FollowedUp { .. }) => {
                ensure(phase == JobPhase::Closed, || Refusal::NotLeftYet)
            }
            JobPhase::Open => ensure(!matches!(event, Event::Resumed {}), || Refusal::NotPaused),
            JobPhase::Paused => ensure(may_happen_paused(event), || Refusal::JobIsPaused),
            JobPhase::Closed | JobPhase::Stopped => {
                ensure(may_happen_after(event), || Refusal::JobIsOver)
            }
        }
    }

    fn check_signatures(&self, event: &Event) -> Allowed {
        for sign in signatures(event) {
            ensure(!self.enterings.contains(&sign.entering), || {
                Refusal::SignatureUsed {
                    person: sign.person.clone(),
                }
            })?;
        }
        Ok(())
    }

    #[cold] // Once a job.
    pub(super) fn check_stop(&self, why: &str) -> Allowed {
        ensure_short([why])?;
        for (valve, state) in self.valves() {
            // With the head on nobody gets a valve back that fell in: the job ends there.
            let may_hang = !state.is_unlocked() || self.valve_fell(valve);
            ensure(may_hang, || Refusal::StopOverOpenValve { valve })?;
            ensure(!state.is_spring_held(), || Refusal::SpringHeldNow { valve })?;
        }
        self.check_no_air()?;
        self.check_looked_at(|_| true)
    }

    /// Nobody has to look at the engine first because two tablets disagree about it.
    fn check_looked_at(&self, concerns: impl Fn(Danger) -> bool) -> Allowed {
        if self.conflicts.is_empty() {
            return Ok(());
        }
        match self.dangers().find(|(danger, _)| concerns(*danger)) {
            Some((danger, _)) => Err(Refusal::LookFirst { danger }),
            None => Ok(()),
        }
    }

    /// The valves of a cylinder may hang on what holds it, for all that is known.
    fn check_valves_looked_at(&self, cylinder: u8) -> Allowed {
        let of_it = |d: Danger| matches!(d, Danger::Valve { valve } if valve.cylinder == cylinder);
        self.check_looked_at(of_it)
    }

    /// What a withdrawal does to the engine waits for a look as the step itself would.
    pub(super) fn check_inverse_looked_at(&self, inverse: &Postings) -> Allowed {
        for change in inverse {
            match change {
                Change::Crank { .. }
                | Change::Wrench { to: true }
                | Change::Air { to: Some(_), .. } => self.check_looked_at(|_| true)?,
                Change::Air { cylinder, .. }
                | Change::HoldBy {
                    cylinder, to: None, ..
                } => {
                    let number = self.layout().and_then(|l| l.cylinders().nth(*cylinder));
                    number.map_or(Ok(()), |c| self.check_valves_looked_at(c))?;
                }
                _ => {}
            }
        }
        Ok(())
    }

    /// Taking back takes at least the signatures that the event carries, and what ends a
    /// loss takes two.
    fn check_taking_back_signed(&self, event: Uuid, by: &[SignOff]) -> Allowed {
        let needed = self.signatures_to_take_back(event);
        ensure(by.len() >= needed, || Refusal::SignaturesShort {
            needed,
            signed: by.len(),
        })?;
        for (at, sign) in by.iter().enumerate() {
            by[..at]
                .iter()
                .try_for_each(|s| check_two_people(s, sign))?;
        }
        Ok(())
    }

    /// What is known of a cylinder that an event names.
    fn existing_cylinder(&self, layout: &Layout, cylinder: u8) -> Result<&CylinderState, Refusal> {
        let index = layout.cylinder_index(cylinder);
        index
            .and_then(|i| self.cylinders.get(i))
            .ok_or(Refusal::NoSuchCylinder { cylinder })
    }

    /// What is known of a valve that an event names.
    fn existing_valve(&self, layout: &Layout, valve: ValveName) -> Result<&ValveState, Refusal> {
        let index = layout.valve_index(valve);
        index
            .and_then(|i| self.valves.get(i))
            .ok_or(Refusal::NoSuchValve { valve })
    }

    /// What is known of a bank that an event names.
    fn existing_bank(&self, bank: u8) -> Result<&BankState, Refusal> {
        self.banks
            .get(usize::from(bank))
            .ok_or(Refusal::NoSuchBank { bank })
    }
}

/// The first of what stands in the way.
fn first_of(holds: Vec<Refusal>) -> Allowed {
    match holds.into_iter().next() {
        Some(refusal) => Err(refusal),
        None => Ok(()),
    }
}

fn may_happen_paused(event: &Event) -> bool {
    matches!(
        event,
        Event::Resumed {}
            | Event::Noted { .. }
            | Event::PictureAdded(_)
            | Event::TakenOver { .. }
            | Event::HandedOver { .. }
            | Event::Sealed(_)
            | Event::ConflictResolved { .. }
            | Event::PartFound { .. }
            | Event::PartDropped { .. }
            | Event::AirLost { .. }
            | Event::PartsSwapped { .. }
    )
}

fn may_happen_after(event: &Event) -> bool {
    matches!(
        event,
        Event::Noted { .. }
            | Event::PictureAdded(_)
            | Event::Sealed(_)
            | Event::HandedOver { .. }
            | Event::Withdrawn { .. }
            | Event::ConflictResolved { .. }
    )
}

#[cold] // Once a job.
fn check_opening(opening: &Opening) -> Allowed {
    let number = opening.order_number.as_deref().unwrap_or_default();
    let technician = &*opening.technician.0;
    ensure_short([&*opening.vehicle, number, &opening.bay, technician])?;
    let faults = opening.layout.faults("layout");
    match faults.first() {
        Some(first) => Err(Refusal::BadLayout {
            faults: faults.len(),
            first: Box::new(first.clone()),
        }),
        None => Ok(()),
    }
}

/// Free texts stay within [`TEXT_CHARS_MAX`], each by itself.
fn ensure_short<const N: usize>(texts: [&str; N]) -> Allowed {
    let chars = texts.map(|text| text.chars().count());
    let chars = chars.into_iter().max().unwrap_or(0);
    ensure(chars <= TEXT_CHARS_MAX, || Refusal::TextTooLong { chars })
}

/// Two signatures are by two people, each by an entering of its own.
fn check_two_people(first: &SignOff, second: &SignOff) -> Allowed {
    ensure(first.person != second.person, || Refusal::SamePerson {
        person: first.person.clone(),
    })?;
    ensure(first.entering != second.entering, || {
        Refusal::SignatureUsed {
            person: second.person.clone(),
        }
    })
}
