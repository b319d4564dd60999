//! Whether an event may be taken now. Every rule is one short function.

mod engine;
mod notes;
mod parts;
mod valve;

use super::change::Postings;
use super::state::signatures;
use super::{Entry, Event, JobPhase, JobState, Opening, Refusal, TEXT_CHARS_MAX};
use crate::engine::{Layout, ValveName};

pub(super) use parts::is_laid_aside;
pub(super) use valve::stoppers_of;

/// The most of one item that one event moves.
const COUNT_MAX: u32 = 9_999;

type Verdict = Result<(), Refusal>;

fn demand(condition: bool, refusal: impl FnOnce() -> Refusal) -> Verdict {
    if condition { Ok(()) } else { refuse(refusal) }
}

/// Out of the way of what is taken, so that this lies close together.
#[cold]
#[inline(never)]
fn refuse(refusal: impl FnOnce() -> Refusal) -> Verdict {
    Err(refusal())
}

impl JobState {
    /// The postings that the event comes to, if nothing stands in its way.
    pub(super) fn check(&self, entry: &Entry) -> Result<Postings, Refusal> {
        let event = &entry.event;
        self.check_phase(event)?;
        check_texts(event)?;
        self.check_signatures(event)?;
        if let Event::JobOpened(opening) = event {
            check_opening(opening)?;
            // What is posted rests on the engine, which is not there yet.
            return Ok(Postings::new());
        }
        let Some(layout) = self.layout() else {
            return Err(Refusal::NotOpened);
        };
        check_names(layout, event)?;
        self.check_rules(layout, event)?;
        self.check_balances(entry)
    }

    // Long because it is a table: every event and the rules that it has to keep. A tap runs
    // through those of its event alone, which are functions of their own for that.
    fn check_rules(&self, layout: &Layout, event: &Event) -> Verdict {
        match event {
            Event::StageSeen { .. } => self.check_stage(layout, event),
            Event::CoverOff { .. }
            | Event::PlugOut { .. }
            | Event::PlugIn { .. }
            | Event::VentedCoverIn { .. }
            | Event::VentedCoverOut { .. }
            | Event::HoseIn { .. }
            | Event::HoseOut { .. }
            | Event::WrenchOn {}
            | Event::WrenchOff {}
            | Event::CrankTurned { .. }
            | Event::AirOn { .. }
            | Event::AirOff { .. }
            | Event::HoldDeclared { .. }
            | Event::HoldReleased { .. }
            | Event::CylinderPutOff { .. }
            | Event::CylinderWanted { .. } => self.check_engine(layout, event),
            Event::KitCounted { .. }
            | Event::StockIssued { .. }
            | Event::StockReturned { .. }
            | Event::TakenFromStock { .. }
            | Event::PutAway { .. }
            | Event::PutAboard { .. }
            | Event::TakenOff { .. }
            | Event::PartUsed { .. }
            | Event::PartReplaced { .. }
            | Event::PartDropped { .. }
            | Event::PartFound { .. }
            | Event::SearchSigned { .. } => self.check_parts(layout, event),
            Event::TakeInNoted(_)
            | Event::OilToppedUp { .. }
            | Event::LeakRead { .. }
            | Event::ForemanAgreed { .. }
            | Event::BreakawayMeasured { .. }
            | Event::FindingNoted(_)
            | Event::BlindCount { .. }
            | Event::ConflictResolved { .. }
            | Event::Sealed(_) => self.check_notes(event),
            Event::BankClosed { .. } | Event::JobClosed { .. } | Event::JobStopped { .. } => {
                self.check_ends(event)
            }
            Event::JobOpened(_)
            | Event::TakenOver { .. }
            | Event::Paused { .. }
            | Event::Resumed {}
            | Event::Noted { .. }
            | Event::HandedOver { .. }
            | Event::Withdrawn { .. }
            | Event::StepSeen { .. }
            | Event::CautionSeen { .. } => Ok(()),
        }
    }

    fn check_phase(&self, event: &Event) -> Verdict {
        let opening = matches!(event, Event::JobOpened(_));
        match self.phase {
            JobPhase::Unopened => demand(opening, || Refusal::NotOpened),
            _ if opening => Err(Refusal::AlreadyOpened),
            JobPhase::Open => demand(!matches!(event, Event::Resumed {}), || Refusal::NotPaused),
            JobPhase::Paused => demand(may_happen_paused(event), || Refusal::JobIsPaused),
            JobPhase::Closed | JobPhase::Stopped => {
                demand(may_happen_after(event), || Refusal::JobIsOver)
            }
        }
    }

    fn check_signatures(&self, event: &Event) -> Verdict {
        for sign in signatures(event) {
            demand(!self.enterings.contains(&sign.entering), || {
                Refusal::SignatureUsed {
                    person: sign.person.clone(),
                }
            })?;
        }
        Ok(())
    }

    #[inline(never)]
    fn check_ends(&self, event: &Event) -> Verdict {
        match event {
            Event::BankClosed { bank, .. } => {
                match self.gate(usize::from(*bank)).into_iter().next() {
                    Some(refusal) => Err(refusal),
                    None => Ok(()),
                }
            }
            Event::JobClosed { .. } => match self.job_gate().into_iter().next() {
                Some(refusal) => Err(refusal),
                None => Ok(()),
            },
            Event::JobStopped { .. } => {
                for (valve, known) in self.valves() {
                    demand(!known.is_unlocked(), || Refusal::ValveUnlocked { valve })?;
                    demand(!known.is_spring_held(), || Refusal::SpringHeldNow { valve })?;
                }
                self.check_no_air()
            }
            _ => Ok(()),
        }
    }
}

fn may_happen_paused(event: &Event) -> bool {
    matches!(
        event,
        Event::Resumed {}
            | Event::Noted { .. }
            | Event::TakenOver { .. }
            | Event::HandedOver { .. }
            | Event::Sealed(_)
            | Event::ConflictResolved { .. }
            | Event::PartFound { .. }
    )
}

fn may_happen_after(event: &Event) -> bool {
    matches!(
        event,
        Event::Noted { .. } | Event::Sealed(_) | Event::HandedOver { .. } | Event::Withdrawn { .. }
    )
}

#[cold] // Once a job.
fn check_opening(opening: &Opening) -> Verdict {
    let faults = opening.layout.faults("layout");
    match faults.first() {
        Some(first) => Err(Refusal::BadLayout {
            faults: faults.len(),
            first: first.to_string(),
        }),
        None => Ok(()),
    }
}

fn check_texts(event: &Event) -> Verdict {
    let chars = match event {
        Event::JobOpened(o) => {
            let names = [o.vehicle.as_str(), o.bay.as_str(), &o.technician.0];
            names.iter().map(|t| t.chars().count()).max().unwrap_or(0)
        }
        Event::Paused { why } | Event::JobStopped { why, .. } => why.chars().count(),
        Event::Noted { text } => text.chars().count(),
        Event::ConflictResolved { note, .. } => note.chars().count(),
        Event::TakeInNoted(t) => {
            let codes = t.codes.iter().map(|c| c.chars().count()).sum::<usize>();
            t.complaint
                .chars()
                .count()
                .max(t.seen.chars().count())
                .max(codes)
        }
        Event::OilToppedUp { on, .. } => on.chars().count(),
        Event::FindingNoted(f) => f.text.chars().count(),
        _ => 0,
    };
    demand(chars <= TEXT_CHARS_MAX, || Refusal::TextTooLong { chars })
}

/// Cylinders, valves and banks that an event names exist.
fn check_names(layout: &Layout, event: &Event) -> Verdict {
    let has_cylinder = |cylinder: u8| {
        demand(layout.cylinder_index(cylinder).is_some(), || {
            Refusal::NoSuchCylinder { cylinder }
        })
    };
    let has_valve = |valve: ValveName| {
        demand(layout.valve_index(valve).is_some(), || {
            Refusal::NoSuchValve { valve }
        })
    };
    let has_bank = |bank: u8| {
        demand(usize::from(bank) < layout.banks.len(), || {
            Refusal::NoSuchBank { bank }
        })
    };
    match event {
        Event::StageSeen { valve, .. } | Event::PartReplaced { valve, .. } => has_valve(*valve),
        Event::PartDropped { valve, bank, .. } => {
            valve.map_or(Ok(()), has_valve)?;
            bank.map_or(Ok(()), has_bank)
        }
        Event::FindingNoted(finding) => {
            has_cylinder(finding.cylinder)?;
            finding.valve.map_or(Ok(()), has_valve)
        }
        Event::CoverOff { bank }
        | Event::BankClosed { bank, .. }
        | Event::PutAboard { bank, .. }
        | Event::TakenOff { bank, .. } => has_bank(*bank),
        _ => event.cylinder().map_or(Ok(()), has_cylinder),
    }
}
