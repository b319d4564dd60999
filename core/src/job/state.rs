//! The state of a job: the fold of its events.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use uuid::Uuid;

use super::postings::{Change, Postings};
use super::{
    Conflict, CountTaken, CrankAt, CylinderState, Drop, DropStatus, Effects, Entry, Event, Fact,
    FindingKind, Invariant, Milestone, Moved, Person, Refusal, Stage, ValveState,
};
use crate::engine::{Layout, ValveName};
use crate::parts::{Item, Ledger, Place, Shortfall};

/// How far the job as a whole is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
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
pub(super) struct Past {
    pub(super) id: Uuid,
    pub(super) tablet: Uuid,
    pub(super) event: Event,
    pub(super) withdrawn: bool,
}

/// The state of a job. Built by [`JobState::apply`] alone.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct JobState {
    pub(super) layout: Option<Arc<Layout>>,
    pub(super) vehicle: String,
    pub(super) bay: String,
    pub(super) technician: Option<Person>,
    pub(super) phase: JobPhase,
    pub(super) cylinders: Vec<CylinderState>,
    pub(super) valves: Vec<ValveState>,
    pub(super) banks: Vec<BankState>,
    pub(super) crank: Option<CrankAt>,
    pub(super) wrench_on: bool,
    pub(super) ledger: Ledger,
    /// How many changes moved items or valves so far; blind counts lean on it.
    pub(super) moves: u64,
    pub(super) drops: Vec<Drop>,
    pub(super) counts: Vec<CountTaken>,
    /// The counts of the round that is under way, by event.
    pub(super) round: Vec<Uuid>,
    pub(super) facts: Vec<Fact>,
    pub(super) history: Vec<Past>,
    /// Identities of all events seen, sorted.
    pub(super) ids: Vec<Uuid>,
    pub(super) enterings: BTreeSet<Uuid>,
    pub(super) conflicts: Vec<Conflict>,
    pub(super) started_ms: i64,
    pub(super) last_ms: i64,
    pub(super) paused_since_ms: Option<i64>,
    pub(super) paused_total_ms: i64,
    pub(super) holder: Option<Uuid>,
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
            return Ok(Effects {
                repeated: true,
                ..Effects::default()
            });
        }
        self.check(entry)?;
        let effects = match &entry.event {
            Event::Withdrawn { event } => self.take_back(*event)?,
            _ => self.take_in(entry)?,
        };
        self.remember(entry);
        debug_assert_eq!(self.broken_invariant(), None, "after {:?}", entry.event);
        Ok(effects)
    }

    /// Whether [`JobState::apply`] would take the event, without taking it.
    ///
    /// # Errors
    /// The [`Refusal`] that stands in the way.
    pub fn would_take(&self, entry: &Entry) -> Result<(), Refusal> {
        if self.knows(entry.id) {
            return Ok(());
        }
        self.check(entry)?;
        if let Event::Withdrawn { event } = &entry.event {
            self.clone().take_back(*event)?;
        }
        Ok(())
    }

    /// Takes an event that another tablet has accepted already. What cannot stand
    /// becomes a conflict instead of being lost.
    pub fn fold(&mut self, entry: &Entry) -> Option<Effects> {
        match self.apply(entry) {
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

    fn remember(&mut self, entry: &Entry) {
        self.learn(entry.id);
        self.last_ms = self.last_ms.max(entry.at_ms);
        for sign in signatures(&entry.event) {
            self.enterings.insert(sign.entering);
        }
        self.history.push(Past {
            id: entry.id,
            tablet: entry.tablet,
            event: strip(&entry.event),
            withdrawn: false,
        });
    }

    fn take_in(&mut self, entry: &Entry) -> Result<Effects, Refusal> {
        if let Event::JobOpened(opening) = &entry.event {
            self.open(opening, entry.at_ms);
        }
        let postings = self.postings(entry.id, &entry.event);
        self.commit(&postings, Some(entry))
            .map_err(|shortfall| Refusal::Short { shortfall })?;
        self.note(entry);
        let mut effects = effects_of(&postings);
        effects.milestone = self.milestone_of(&entry.event);
        Ok(effects)
    }

    fn open(&mut self, opening: &super::Opening, at_ms: i64) {
        let layout = Arc::new(opening.layout.clone());
        self.cylinders = vec![CylinderState::default(); layout.cylinder_count()];
        self.valves = vec![ValveState::default(); layout.valve_count()];
        self.banks = vec![BankState::default(); layout.banks.len()];
        self.layout = Some(layout);
        self.vehicle.clone_from(&opening.vehicle);
        self.bay.clone_from(&opening.bay);
        self.technician = Some(opening.technician.clone());
        self.phase = JobPhase::Open;
        self.started_ms = at_ms;
    }

    /// Does what an event notes besides its postings.
    fn note(&mut self, entry: &Entry) {
        match &entry.event {
            Event::TakenOver { by } => self.technician = Some(by.person.clone()),
            Event::HandedOver { to_tablet } => self.holder = Some(*to_tablet),
            Event::Paused { .. } => {
                self.phase = JobPhase::Paused;
                self.paused_since_ms = Some(entry.at_ms);
            }
            Event::Resumed {} => {
                self.phase = JobPhase::Open;
                if let Some(since) = self.paused_since_ms.take() {
                    let rested = entry.at_ms.saturating_sub(since).max(0);
                    self.paused_total_ms = self.paused_total_ms.saturating_add(rested);
                }
            }
            Event::JobClosed { .. } => self.phase = JobPhase::Closed,
            Event::JobStopped { .. } => self.phase = JobPhase::Stopped,
            Event::BankClosed { bank, .. } => {
                self.banks[usize::from(*bank)].closed_in = Some(entry.id);
            }
            Event::CoverOff { bank } => self.banks[usize::from(*bank)].closed_in = None,
            Event::BlindCount { .. } => self.take_count(entry),
            Event::ConflictResolved { conflict, by, .. } => {
                if let Some(open) = self
                    .conflicts
                    .iter_mut()
                    .find(|c| c.entry.id == *conflict && c.resolved_by.is_none())
                {
                    open.resolved_by = Some(by.clone());
                    open.resolved_in = Some(entry.id);
                }
            }
            _ => {}
        }
        if is_fact(&entry.event) {
            self.facts.push(Fact {
                id: entry.id,
                at_ms: entry.at_ms,
                offset_min: entry.offset_min,
                who: entry.who.clone(),
                event: entry.event.clone(),
            });
        }
    }

    /// Makes all changes, or none where a place holds too few.
    pub(super) fn commit(
        &mut self,
        postings: &Postings,
        entry: Option<&Entry>,
    ) -> Result<(), Shortfall> {
        if let Some(shortfall) = self.shortfall_of(postings) {
            return Err(shortfall);
        }
        for change in postings {
            self.commit_one(change, entry)?;
        }
        Ok(())
    }

    /// The first move of a list that finds too few, the earlier ones counted.
    pub(super) fn shortfall_of(&self, postings: &Postings) -> Option<Shortfall> {
        postings.iter().enumerate().find_map(|(index, change)| {
            let (item, place, count) = leaves(change)?;
            let before: i64 = postings[..index]
                .iter()
                .map(|earlier| net(earlier, item, place))
                .sum();
            let mut there = i64::from(self.ledger.at(item, place)) + before;
            if matches!(change, Change::GiveBack { .. }) {
                // Used parts that were put to stock are not the store's.
                there = there.min(i64::from(self.ledger.account(item).issued));
            }
            (there < i64::from(count)).then(|| Shortfall {
                item: item.clone(),
                place,
                wanted: count,
                there: there.max(0) as u32,
            })
        })
    }

    fn commit_one(&mut self, change: &Change, entry: Option<&Entry>) -> Result<(), Shortfall> {
        match change {
            Change::Move {
                item,
                from,
                to,
                count,
            } => {
                self.ledger.move_items(item, *from, *to, *count)?;
                self.moves += u64::from(*item != Item::Cover);
            }
            Change::CountIn { item, place, count } => {
                self.ledger.count_in(item, *place, *count);
                self.moves += 1;
            }
            Change::CountOut { item, place, count } => {
                self.ledger.count_out(item, *place, *count)?;
                self.moves += 1;
            }
            Change::Issue { item, count } => {
                self.ledger.issue(item, Place::Stock, *count);
                self.moves += 1;
            }
            Change::GiveBack { item, count } => {
                self.ledger.give_back(item, Place::Stock, *count)?;
                self.moves += 1;
            }
            Change::Stage { valve, to, .. } => self.commit_stage(*valve, *to, entry),
            Change::PlugOut { cylinder, to } => self.cylinders[*cylinder].plug_out = *to,
            Change::VentedCover { cylinder, to } => {
                self.cylinders[*cylinder].vented_cover_in = *to;
            }
            Change::Hose { cylinder, to } => self.cylinders[*cylinder].hose_in = *to,
            Change::Air { cylinder, to, .. } => {
                let known = &mut self.cylinders[*cylinder];
                known.air_bar = *to;
                // Taking air off keeps the time, so that taking that back brings it back.
                if let (Some(_), Some(entry)) = (to, entry) {
                    known.air_since_ms = Some(entry.at_ms);
                }
            }
            Change::HoldBy { cylinder, to, .. } => self.cylinders[*cylinder].hold = *to,
            Change::PutOff { cylinder, to } => self.cylinders[*cylinder].put_off = *to,
            Change::Wrench { to } => self.wrench_on = *to,
            Change::Crank { to, .. } => self.crank = *to,
            Change::CoverOff { bank, to } => self.banks[*bank].cover_off = *to,
            Change::Aboard {
                bank,
                item,
                add,
                count,
            } => self.commit_aboard(*bank, item, *add, *count)?,
            Change::DropOpened { dropped } => {
                if let Some(entry) = entry {
                    self.open_drop(*dropped, entry);
                }
            }
            Change::DropTakenBack { dropped } => self.drops.retain(|d| d.id != *dropped),
            Change::Dropped { dropped, to, .. } => {
                if let Some(drop) = self.drops.iter_mut().find(|d| d.id == *dropped) {
                    drop.status = *to;
                }
            }
        }
        Ok(())
    }

    fn commit_stage(&mut self, valve: usize, to: u8, entry: Option<&Entry>) {
        self.moves += 1;
        let work_ms = entry.map_or(0, |e| self.work_ms_at(e.at_ms));
        let known = &mut self.valves[valve];
        if let (Some(entry), true) = (entry, to > known.stages_seen) {
            let place = usize::from(to - 1);
            known.stage_events[place] = entry.id;
            known.stage_work_ms[place] = work_ms;
            known.stage_at_ms[place] = entry.at_ms;
        } else {
            let place = usize::from(to);
            known.stage_events[place] = Uuid::nil();
            known.stage_work_ms[place] = 0;
            known.stage_at_ms[place] = 0;
        }
        known.stages_seen = to;
    }

    fn commit_aboard(
        &mut self,
        bank: usize,
        item: &Item,
        add: bool,
        count: u32,
    ) -> Result<(), Shortfall> {
        let aboard = &mut self.banks[bank].aboard;
        let there = aboard.get(item).copied().unwrap_or_default();
        if add {
            aboard.insert(item.clone(), there + count);
        } else if there < count {
            return Err(Shortfall {
                item: item.clone(),
                place: Place::Aboard,
                wanted: count,
                there,
            });
        } else if there == count {
            aboard.remove(item);
        } else {
            aboard.insert(item.clone(), there - count);
        }
        Ok(())
    }

    fn open_drop(&mut self, dropped: Uuid, entry: &Entry) {
        let (item, count, from, valve) = match &entry.event {
            Event::PartDropped {
                item,
                count,
                from,
                valve,
                ..
            } => (item.clone(), *count, *from, *valve),
            Event::StageSeen { valve, strays, .. } => {
                (Item::Lock, u32::from(*strays), Place::Home, Some(*valve))
            }
            Event::FindingNoted(finding) => match finding.kind {
                FindingKind::SealTorn { missing } => {
                    (Item::SealPiece, missing, Place::Home, finding.valve)
                }
                _ => return,
            },
            _ => return,
        };
        self.drops.push(Drop {
            id: dropped,
            item,
            count,
            from,
            valve,
            at_ms: entry.at_ms,
            who: entry.who.clone(),
            status: DropStatus::Adrift,
        });
    }

    /// Working time of the job in milliseconds at a wall clock, pauses left out.
    pub fn work_ms_at(&self, at_ms: i64) -> i64 {
        let until = self.paused_since_ms.unwrap_or(at_ms).min(at_ms);
        until
            .saturating_sub(self.started_ms)
            .saturating_sub(self.paused_total_ms)
            .max(0)
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

    /// The invariant that the state breaks, if any. A sound fold never shows one.
    pub fn broken_invariant(&self) -> Option<Invariant> {
        let layout = self.layout.as_ref()?;
        if !self.ledger.is_conserved() {
            return Some(Invariant::Conserved);
        }
        if self.wrench_on && self.cylinders.iter().any(|c| c.air_bar.is_some()) {
            return Some(Invariant::WrenchOff);
        }
        let per_cylinder = layout.valves_per_cylinder();
        for (index, cylinder) in layout.cylinders().enumerate() {
            let known = &self.cylinders[index];
            let valves = &self.valves[index * per_cylinder..(index + 1) * per_cylinder];
            let pressed = valves.iter().any(|v| v.is_unlocked() || v.is_spring_held());
            // Air without a hose holds nothing.
            let real = known.air_bar.is_none() || known.hose_in;
            if (pressed && !known.is_held()) || !real {
                return Some(Invariant::Held);
            }
            let fixed = pressed || known.is_held();
            let here = self.crank.is_some_and(|c| c.cylinder == cylinder);
            if fixed && !here {
                return Some(Invariant::Still);
            }
        }
        let covered_wrongly = (0..self.banks.len())
            .any(|bank| !self.banks[bank].cover_off && !self.may_be_covered(layout, bank));
        covered_wrongly.then_some(Invariant::Gate)
    }

    /// Whether a bank may stand with its cover on: closed through the gate with every
    /// valve verified and no hold in a cylinder, or never touched; nothing under the
    /// cover either way. Plug holes lie outside: the last leak-down is read through them.
    fn may_be_covered(&self, layout: &Layout, bank: usize) -> bool {
        let clear = self.banks[bank].aboard.is_empty();
        let mut cylinders = layout.banks[bank].cylinders.iter().copied();
        clear
            && if self.is_bank_closed(bank) {
                self.bank_verified(bank) && self.hold_in_bank(bank).is_none()
            } else {
                cylinders.all(|c| self.valves_of(c).all(|(_, v)| v.stages_seen == 0))
            }
    }
}

/// The place that a change takes items from, with how many.
fn leaves(change: &Change) -> Option<(&Item, Place, u32)> {
    match change {
        Change::Move {
            item, from, count, ..
        } => Some((item, *from, *count)),
        Change::CountOut { item, place, count } => Some((item, *place, *count)),
        Change::GiveBack { item, count } => Some((item, Place::Stock, *count)),
        _ => None,
    }
}

/// By how much a change raises the balance of an item at a place.
fn net(change: &Change, item: &Item, place: Place) -> i64 {
    let arrives = match change {
        Change::Move {
            item: moved,
            to,
            count,
            ..
        } if moved == item && *to == place => i64::from(*count),
        Change::CountIn {
            item: moved,
            place: to,
            count,
        } if moved == item && *to == place => i64::from(*count),
        Change::Issue { item: moved, count } if moved == item && place == Place::Stock => {
            i64::from(*count)
        }
        _ => 0,
    };
    let left = match leaves(change) {
        Some((moved, from, count)) if moved == item && from == place => i64::from(count),
        _ => 0,
    };
    arrives - left
}

/// Moves as the screen shows them.
fn effects_of(postings: &Postings) -> Effects {
    let mut effects = Effects::default();
    for change in postings {
        let (item, from, to, count) = match change {
            Change::Move {
                item,
                from,
                to,
                count,
            } => (item, Some(*from), Some(*to), *count),
            Change::CountIn { item, place, count } => (item, None, Some(*place), *count),
            Change::Issue { item, count } => (item, None, Some(Place::Stock), *count),
            Change::GiveBack { item, count } => (item, Some(Place::Stock), None, *count),
            _ => continue,
        };
        effects.moves.push(Moved {
            item: item.clone(),
            from,
            to,
            count,
        });
    }
    effects
}

impl Effects {
    pub(super) fn of_postings(postings: &Postings) -> Self {
        effects_of(postings)
    }
}

/// Signatures that an event carries.
pub(super) fn signatures(event: &Event) -> impl Iterator<Item = &super::SignOff> {
    let pair = match event {
        Event::TakenOver { by }
        | Event::ConflictResolved { by, .. }
        | Event::JobClosed { by }
        | Event::JobStopped { by, .. }
        | Event::ForemanAgreed { by, .. }
        | Event::BlindCount { by, .. }
        | Event::BankClosed { by, .. } => [Some(by), None],
        Event::SearchSigned { first, second, .. } => [Some(first), Some(second)],
        _ => [None, None],
    };
    pair.into_iter().flatten()
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
            | Event::PartReplaced { .. }
            | Event::SearchSigned { .. }
            | Event::PartFound { .. }
            | Event::CylinderWanted { .. }
            | Event::BankClosed { .. }
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
