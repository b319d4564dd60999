//! The state of a job: the fold of its events.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::change::Postings;
use super::{
    Conflict, CountTaken, CrankAt, CylinderState, Drop, Effects, Entry, Event, Fact, Milestone,
    PaperEntered, Person, Refusal, Stage, Swap, ValveState,
};
use crate::engine::{Layout, ValveName};
use crate::parts::{Item, Ledger};

/// How far the job as a whole is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum JobPhase {
    /// Nothing is known yet.
    #[default]
    Unopened,
    /// Under way.
    Open,
    /// Rests.
    Paused,
    /// Finished.
    Closed,
    /// Ended unfinished.
    Stopped,
}

/// What is known of one bank.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BankState {
    /// Its cover is off.
    pub cover_off: bool,
    /// Kit on or in it, besides what sits in plug holes.
    pub aboard: BTreeMap<Item, u32>,
    /// Event that closed it, while it is closed.
    pub closed_in: Option<Uuid>,
}

/// An event that was taken, kept so that it can be taken back.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct HistoryEntry {
    pub(super) id: Uuid,
    pub(super) tablet: Uuid,
    pub(super) event: Event,
    pub(super) withdrawn: bool,
    pub(super) at_ms: i64,
    /// It was done on paper and entered later.
    pub(super) is_from_paper: bool,
    pub(super) who: Person,
}

/// An event with its time, as [`JobState::timeline`] tells it.
#[derive(Clone, Copy, Debug)]
pub struct TimedEvent<'a> {
    /// Wall clock of its tablet, milliseconds since 1970 UTC.
    pub at_ms: i64,
    /// It was done on paper: `at_ms` is when it was entered, not when it happened.
    pub is_from_paper: bool,
    /// Who had the bay.
    pub who: &'a Person,
    /// What happened. The first one, which opens the job, shows as [`Event::Resumed`].
    pub event: &'a Event,
}

/// What a state makes of an event that it takes, worked out beforehand.
#[derive(Clone, Debug)]
pub struct Foreseen {
    id: Uuid,
    /// How many events the state had then.
    event_count: usize,
    /// `None` for an event that is known already.
    postings: Option<Postings>,
}

/// The state of a job. Built by [`JobState::apply`] alone.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct JobState {
    pub(super) layout: Option<Arc<Layout>>,
    pub(super) vehicle: String,
    pub(super) order_number: Option<String>,
    pub(super) bay: String,
    pub(super) technician: Option<Person>,
    pub(super) phase: JobPhase,
    pub(super) cylinders: Vec<CylinderState>,
    pub(super) valves: Vec<ValveState>,
    pub(super) banks: Vec<BankState>,
    /// Where the crank was last turned to by hand.
    pub(super) turned_to: Option<CrankAt>,
    pub(super) wrench_on: bool,
    pub(super) ledger: Ledger,
    /// How many changes moved items or valves so far; blind counts lean on it.
    pub(super) moves: u64,
    pub(super) drops: Vec<Drop>,
    pub(super) swaps: Vec<Swap>,
    pub(super) counts: Vec<CountTaken>,
    /// The counts of the round that is under way, by event.
    pub(super) round: Vec<Uuid>,
    pub(super) facts: Vec<Fact>,
    pub(super) history: Vec<HistoryEntry>,
    /// Identities of all events seen, sorted.
    pub(super) ids: Vec<Uuid>,
    pub(super) enterings: BTreeSet<Uuid>,
    pub(super) conflicts: Vec<Conflict>,
    pub(super) started_ms: i64,
    pub(super) last_ms: i64,
    pub(super) paused_since_ms: Option<i64>,
    pub(super) holder: Option<Uuid>,
    /// What was entered from paper, batch by batch.
    pub(super) papers: Vec<PaperEntered>,
    /// Journals of this job with lines that nobody has vouched for, as far as this tablet
    /// sees; no event says so.
    pub(super) unconfirmed: usize,
}

impl JobState {
    /// The empty state, before the job is opened.
    pub fn new() -> Self {
        Self::default()
    }

    /// Takes an event or refuses it. A refused event leaves the state as it was; an
    /// event that was taken before changes nothing.
    ///
    /// # Errors
    /// The [`Refusal`] that stands in the way.
    pub fn apply(&mut self, entry: &Entry) -> Result<Effects, Refusal> {
        if self.knows(entry.id) {
            return self.apply_again(entry);
        }
        let postings = self.check(entry)?;
        self.apply_checked(entry, postings)
    }

    fn apply_checked(&mut self, entry: &Entry, postings: Postings) -> Result<Effects, Refusal> {
        let effects = match &entry.event {
            Event::Withdrawn { event, .. } => self.take_back(*event)?,
            _ => self.book(entry, postings)?,
        };
        self.remember(entry);
        debug_assert_eq!(self.broken_invariant(), None, "after {:?}", entry.event);
        Ok(effects)
    }

    /// Whether [`JobState::apply`] would take the event, without taking it. What was found
    /// spares [`JobState::apply_foreseen`] the same work.
    ///
    /// # Errors
    /// The [`Refusal`] that stands in the way.
    pub fn would_take(&self, entry: &Entry) -> Result<Foreseen, Refusal> {
        let postings = if self.knows(entry.id) {
            self.apply_again(entry)?;
            None
        } else {
            Some(self.check(entry)?)
        };
        if let (Some(_), Event::Withdrawn { event, .. }) = (&postings, &entry.event) {
            self.would_take_back(*event)?;
        }
        Ok(Foreseen {
            id: entry.id,
            event_count: self.ids.len(),
            postings,
        })
    }

    #[cold]
    fn would_take_back(&self, event: Uuid) -> Result<(), Refusal> {
        self.clone().take_back(event).map(drop)
    }

    /// [`JobState::apply`] for an entry that [`JobState::would_take`] has looked at. Where
    /// another one has come between, it is looked at again.
    ///
    /// # Errors
    /// The [`Refusal`] that stands in the way.
    pub fn apply_foreseen(
        &mut self,
        entry: &Entry,
        foreseen: Foreseen,
    ) -> Result<Effects, Refusal> {
        let is_fresh = (foreseen.id, foreseen.event_count) == (entry.id, self.ids.len());
        match foreseen.postings {
            Some(postings) if is_fresh => self.apply_checked(entry, postings),
            _ => self.apply(entry),
        }
    }

    /// Takes an event that another tablet has accepted already. What cannot stand
    /// becomes a conflict instead of being lost.
    pub fn fold(&mut self, entry: &Entry) -> Option<Effects> {
        // What this tablet waits for holds up nobody who has closed a cover elsewhere.
        let unconfirmed = std::mem::take(&mut self.unconfirmed);
        let applied = self.apply(entry);
        self.unconfirmed = unconfirmed;
        match applied {
            Ok(effects) => Some(effects),
            Err(refusal) => {
                self.note_conflict(entry, refusal);
                None
            }
        }
    }

    /// Whether an event was seen before, as taken or as a conflict.
    pub fn knows(&self, id: Uuid) -> bool {
        match self.ids.last() {
            None => false,
            Some(last) if *last < id => false,
            Some(_) => self.ids.binary_search(&id).is_ok(),
        }
    }

    pub(super) fn learn(&mut self, id: Uuid) {
        match self.ids.last() {
            Some(last) if *last >= id => {
                if let Err(place) = self.ids.binary_search(&id) {
                    self.ids.insert(place, id);
                }
            }
            _ => self.ids.push(id),
        }
    }

    pub(super) fn remember(&mut self, entry: &Entry) {
        self.learn(entry.id);
        self.last_ms = self.last_ms.max(entry.at_ms);
        for sign in signatures(&entry.event) {
            self.enterings.insert(sign.entering);
        }
        self.history.push(HistoryEntry {
            id: entry.id,
            tablet: entry.tablet,
            event: strip(&entry.event),
            withdrawn: false,
            at_ms: entry.at_ms,
            is_from_paper: entry.paper.is_some(),
            who: entry.who.clone(),
        });
        if entry.paper.is_some() {
            self.paper_came(entry);
        }
    }

    pub(super) fn book(
        &mut self,
        entry: &Entry,
        mut postings: Postings,
    ) -> Result<Effects, Refusal> {
        if let Event::JobOpened(opening) = &entry.event {
            self.open(opening, entry.at_ms);
            postings = self.postings(entry.id, &entry.event);
        }
        self.commit(&postings, Some(entry))
            .map_err(|shortfall| Refusal::Short { shortfall })?;
        self.note(entry);
        Ok(Effects {
            milestone: self.milestone_of(&entry.event),
            ..Effects::default()
        })
    }

    #[cold] // Once a job.
    fn open(&mut self, opening: &super::Opening, at_ms: i64) {
        let layout = Arc::new(opening.layout.clone());
        self.cylinders = vec![CylinderState::default(); layout.cylinder_count()];
        self.valves = vec![ValveState::default(); layout.valve_count()];
        self.banks = vec![BankState::default(); layout.banks.len()];
        // About what a job comes to; growing step by step would move all of it each time.
        let expected = layout.valve_count() * 12;
        self.history.reserve(expected);
        self.ids.reserve(expected);
        self.layout = Some(layout);
        self.vehicle.clone_from(&opening.vehicle);
        self.order_number.clone_from(&opening.order_number);
        self.bay.clone_from(&opening.bay);
        self.technician = Some(opening.technician.clone());
        self.phase = JobPhase::Open;
        self.started_ms = at_ms;
    }

    /// Does what an event notes besides its postings.
    fn note(&mut self, entry: &Entry) {
        match &entry.event {
            Event::TakenOver { by } => {
                self.technician = Some(by.person.clone());
                // A job that was handed to a tablet is where a person takes it over.
                self.holder = self.holder.map(|_| entry.tablet);
            }
            Event::HandedOver { to_tablet } => self.holder = Some(*to_tablet),
            Event::Paused { .. } => {
                self.phase = JobPhase::Paused;
                self.paused_since_ms = Some(entry.at_ms);
            }
            Event::Resumed {} => {
                self.phase = JobPhase::Open;
                self.paused_since_ms = None;
            }
            Event::JobClosed { .. } => self.phase = JobPhase::Closed,
            Event::JobStopped { .. } => self.phase = JobPhase::Stopped,
            Event::BankClosed { bank, .. } => {
                self.banks[usize::from(*bank)].closed_in = Some(entry.id);
            }
            Event::CoverOff { bank } => self.banks[usize::from(*bank)].closed_in = None,
            Event::BlindCount { .. } => self.take_count(entry),
            Event::ConflictResolved { .. } => self.resolve(entry),
            Event::EnteredFromPaper(batch) => self.papers.push(PaperEntered::of(entry, batch)),
            _ => {}
        }
        if is_fact(&entry.event) {
            self.facts.push(Fact {
                id: entry.id,
                at_ms: entry.at_ms,
                offset_min: entry.offset_min,
                is_from_paper: entry.paper.is_some(),
                who: entry.who.clone(),
                event: entry.event.clone(),
            });
        }
    }

    fn milestone_of(&self, event: &Event) -> Option<Milestone> {
        match event {
            Event::StageSeen { valve, stage, .. } if *stage == Stage::Verified => {
                Some(self.verified_milestone(*valve))
            }
            Event::BankClosed { bank, .. } => Some(Milestone::BankClosed(*bank)),
            Event::JobClosed { .. } => Some(Milestone::JobClosed),
            _ => None,
        }
    }

    fn verified_milestone(&self, valve: ValveName) -> Milestone {
        let bank = self.layout.as_ref().and_then(|l| l.bank_of(valve.cylinder));
        match bank {
            Some(bank) if self.bank_verified(bank) => Milestone::BankVerified(bank as u8),
            _ if self.cylinder_verified(valve.cylinder) => {
                Milestone::CylinderVerified(valve.cylinder)
            }
            _ => Milestone::ValveVerified(valve),
        }
    }
}

/// Signatures that an event carries.
pub(super) fn signatures(event: &Event) -> impl Iterator<Item = &super::SignOff> {
    let pair = match event {
        Event::Withdrawn { by, .. } => return listed([None, None], by),
        Event::ConflictResolved { by, second, .. } => [Some(by), second.as_ref()],
        Event::TakenOver { by }
        | Event::JobClosed { by }
        | Event::JobStopped { by, .. }
        | Event::ForemanAgreed { by, .. }
        | Event::BlindCount { by, .. }
        | Event::FollowedUp { by, .. }
        | Event::BankClosed { by, .. } => [Some(by), None],
        Event::EnteredFromPaper(batch) => [Some(&batch.by), None],
        Event::SearchSigned { first, second, .. } => [Some(first), Some(second)],
        Event::JobOpened(_)
        | Event::Paused { .. }
        | Event::Resumed {}
        | Event::Noted { .. }
        | Event::HandedOver { .. }
        | Event::Sealed(_)
        | Event::TakeInNoted(_)
        | Event::OilToppedUp { .. }
        | Event::LeakRead { .. }
        | Event::BreakawayMeasured { .. }
        | Event::StepSeen { .. }
        | Event::CautionSeen { .. }
        | Event::FindingNoted(_)
        | Event::PictureAdded(_)
        | Event::KitCounted { .. }
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
        | Event::CoverOff { .. }
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
        | Event::StageSeen { .. }
        | Event::CylinderPutOff { .. }
        | Event::CylinderWanted { .. }
        | Event::AirReadAnew { .. }
        | Event::AirLost { .. }
        | Event::PartsSwapped { .. }
        | Event::SwapMended { .. } => [None, None],
    };
    listed(pair, &[])
}

fn listed<'a>(
    pair: [Option<&'a super::SignOff>; 2],
    more: &'a [super::SignOff],
) -> impl Iterator<Item = &'a super::SignOff> {
    pair.into_iter().flatten().chain(more)
}

impl Event {
    /// The signatures by code that the event carries.
    pub fn signatures(&self) -> impl Iterator<Item = &super::SignOff> {
        signatures(self)
    }
}

/// Whether an event is kept as a fact for lists and the record.
fn is_fact(event: &Event) -> bool {
    matches!(
        event,
        Event::TakenOver { .. }
            | Event::Paused { .. }
            | Event::Resumed {}
            | Event::Noted { .. }
            | Event::HandedOver { .. }
            | Event::JobClosed { .. }
            | Event::JobStopped { .. }
            | Event::TakeInNoted(_)
            | Event::OilToppedUp { .. }
            | Event::LeakRead { .. }
            | Event::ForemanAgreed { .. }
            | Event::BreakawayMeasured { .. }
            | Event::StepSeen { .. }
            | Event::CautionSeen { .. }
            | Event::FindingNoted(_)
            | Event::PictureAdded(_)
            | Event::FollowedUp { .. }
            | Event::PartReplaced { .. }
            | Event::PartsSwapped { .. }
            | Event::AirReadAnew { .. }
            | Event::AirLost { .. }
            | Event::SearchSigned { .. }
            | Event::PartFound { .. }
            | Event::CylinderPutOff { .. }
            | Event::CylinderWanted { .. }
            | Event::BankClosed { .. }
            | Event::CoverOff { .. }
            | Event::VentedCoverIn { .. }
            | Event::PutAboard { .. }
    )
}

/// A copy of an event for the history, without the heavy parts that are kept elsewhere.
fn strip(event: &Event) -> Event {
    match event {
        // Their names are enough to say what was taken back.
        Event::Noted { .. } => Event::Noted {
            text: String::new(),
        },
        Event::TakeInNoted(_) => Event::TakeInNoted(Box::default()),
        Event::Sealed(_) => Event::Sealed(Box::new(super::Seal {
            key: String::new(),
            signature: String::new(),
        })),
        // Always the first, kept whole in the state, and never taken back.
        Event::JobOpened(_) => Event::Resumed {},
        Event::BlindCount { by, .. } => Event::BlindCount {
            by: by.clone(),
            lines: Vec::new(),
        },
        _ => event.clone(),
    }
}
