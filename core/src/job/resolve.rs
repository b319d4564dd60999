//! Resolving a conflict: a step of its own that names what was seen at the engine. After
//! it the state shows exactly that: as it was shown, without the loss that was booked, as
//! the other tablet told it, or the crank at neither of two places.

use std::borrow::Cow;

use uuid::Uuid;

use super::change::Change;
use super::check::may_stand_at;
use super::{Conflict, CrankAt, Entry, Event, JobState, Refusal, Sight, SignOff};

/// How many people it takes to resolve a conflict about a loss or a closed bank.
const TWO_PEOPLE: usize = 2;

impl JobState {
    /// Whether two people have to resolve a conflict: it tells of a loss, or it is about a
    /// bank that is closed or was.
    pub fn resolution_needs_two(&self, conflict: &Conflict) -> bool {
        let (_, event) = self.event_in_question(conflict.entry.id, &conflict.entry.event);
        let bank = event.bank(self.layout());
        conflict.tells_loss()
            || !conflict.told.reopened.is_empty()
            || bank.is_some_and(|bank| self.is_bank_closed(bank))
            || matches!(event, Event::BankClosed { .. } | Event::SearchSigned { .. })
            || event.tells_drop()
    }

    /// The answers to a conflict that can be given now, each with all that was seen: first
    /// what the state shows, then what it would show without a loss that was booked, then
    /// what the other tablet has told, then the crank at neither place. What else is neither
    /// is entered by the usual steps first.
    pub fn answers(&self, conflict: &Conflict) -> Vec<Vec<Sight>> {
        let mut answers: Vec<Vec<Sight>> = Vec::new();
        for state in self.outcomes(conflict) {
            let sights = state.sights_of(conflict.entry.id, &conflict.entry.event);
            if !answers.contains(&sights) {
                answers.push(sights);
            }
        }
        answers
    }

    /// The states that a resolution may lead to; the one that stands is only borrowed.
    fn outcomes(&self, conflict: &Conflict) -> Vec<Cow<'_, JobState>> {
        let mut outcomes = vec![Cow::Borrowed(self)];
        if !conflict.is_open() {
            return outcomes;
        }
        let without = self.without_loss(conflict);
        let as_told = match (&without, conflict.told.loss.is_empty()) {
            (Some(without), _) => without.as_told(conflict),
            (None, true) => self.as_told(conflict),
            (None, false) => None,
        };
        outcomes.extend(without.map(Cow::Owned));
        outcomes.extend(as_told.map(Cow::Owned));
        outcomes.extend(self.with_the_crank_seen(conflict).map(Cow::Owned));
        outcomes
    }

    /// A turn leads on from where the crank stood, so that another tablet's turn can hardly
    /// be taken after all. Yet the crank may stand where that one led, or at neither place:
    /// then at no position that is known, and it is turned from there.
    fn with_the_crank_seen(&self, conflict: &Conflict) -> impl Iterator<Item = JobState> {
        let entry = &conflict.entry;
        let (_, event) = self.event_in_question(entry.id, &entry.event);
        let told = match (&entry.event, event) {
            (Event::Withdrawn { .. }, Event::CrankTurned { from, .. }) => Some(*from),
            (_, Event::CrankTurned { to, .. }) => Some(Some(*to)),
            _ => None,
        };
        let seen = told.into_iter().flat_map(|told| [told, None]);
        seen.filter_map(|at| self.with_the_crank_at(at))
    }

    fn with_the_crank_at(&self, at: Option<CrankAt>) -> Option<JobState> {
        let layout = self.layout()?;
        if at.is_some_and(|at| !may_stand_at(layout, at)) {
            return None;
        }
        let mut state = self.clone();
        let turned = Change::Crank {
            from: self.turned_to,
            to: at,
        };
        state.commit(&vec![turned], None).ok()?;
        (state.broken_invariant().is_none()).then_some(state)
    }

    /// The state without the loss that was booked for a conflict.
    fn without_loss(&self, conflict: &Conflict) -> Option<JobState> {
        let loss = &conflict.told.loss;
        if loss.is_empty() {
            return None;
        }
        let mut state = self.clone();
        let back = loss.iter().rev().cloned().map(Change::inverted).collect();
        state.commit(&back, None).ok()?;
        (state.broken_invariant().is_none()).then_some(state)
    }

    /// The state with the event of a conflict taken after all, as it would be now.
    fn as_told(&self, conflict: &Conflict) -> Option<JobState> {
        let entry = &conflict.entry;
        // An end is tapped again at its own gate.
        let is_end = matches!(
            entry.event,
            Event::JobOpened(_)
                | Event::JobClosed { .. }
                | Event::JobStopped { .. }
                | Event::BankClosed { .. }
                | Event::BlindCount { .. }
                | Event::ConflictResolved { .. }
        );
        if is_end {
            return None;
        }
        let mut state = self.clone();
        // What is looked at now does not wait for what is still to be looked at.
        let conflicts = std::mem::take(&mut state.conflicts);
        let taken = state.take_without_phase(entry);
        state.conflicts = conflicts;
        taken.ok()?;
        (state.broken_invariant().is_none()).then_some(state)
    }

    fn take_without_phase(&mut self, entry: &Entry) -> Result<(), Refusal> {
        let postings = self.check_apart_from_phase(entry)?;
        match &entry.event {
            Event::Withdrawn { event, .. } => self.take_back(*event)?,
            _ => self.book(entry, postings)?,
        };
        self.remember(entry);
        Ok(())
    }

    /// Whether a resolution may be taken.
    pub(super) fn check_resolution(
        &self,
        conflict: Uuid,
        by: (&SignOff, Option<&SignOff>),
        seen: &[Sight],
    ) -> Result<(), Refusal> {
        if !self.knows(conflict) {
            return Err(Refusal::NoSuchConflict { conflict });
        }
        if seen.is_empty() {
            return Err(Refusal::NothingSeen);
        }
        if let Some(found) = self.conflict_of(conflict)
            && found.is_open()
            && by.1.is_none()
            && self.resolution_needs_two(found)
        {
            return Err(Refusal::SignaturesShort {
                needed: TWO_PEOPLE,
                signed: 1,
            });
        }
        match self.outcome_seen(conflict, seen) {
            Some(_) => Ok(()),
            None => Err(Refusal::NotAsSeen),
        }
    }

    /// What a resolution leads to, if what was seen is what the state would show then.
    fn outcome_seen(&self, conflict: Uuid, seen: &[Sight]) -> Option<Cow<'_, JobState>> {
        let is_seen = |sights: &[Sight]| {
            sights.len() == seen.len() && sights.iter().all(|sight| seen.contains(sight))
        };
        let Some(found) = self.conflict_of(conflict) else {
            // Lines that arrived late let the event stand after all.
            let event = self.event_of(conflict)?;
            return is_seen(&self.sights_of(conflict, event)).then_some(Cow::Borrowed(self));
        };
        self.outcomes(found)
            .into_iter()
            .find(|state| is_seen(&state.sights_of(conflict, &found.entry.event)))
    }

    /// A conflict by the event that does not stand.
    pub fn conflict_of(&self, event: Uuid) -> Option<&Conflict> {
        self.conflicts.iter().find(|c| c.entry.id == event)
    }

    /// Brings the state to what was seen, closes the conflict and voids all counts.
    #[cold]
    pub(super) fn resolve(&mut self, entry: &Entry) {
        let Event::ConflictResolved {
            conflict,
            by,
            seen,
            second,
            ..
        } = &entry.event
        else {
            return;
        };
        if let Some(Cow::Owned(state)) = self.outcome_seen(*conflict, seen) {
            *self = state;
        }
        self.moves += 1;
        for open in self.conflicts.iter_mut().filter(|c| c.is_open()) {
            // A resolution that could not stand is answered by one that can.
            let is_about_it = matches!(
                &open.entry.event,
                Event::ConflictResolved { conflict: of, .. } if of == conflict
            );
            if open.entry.id == *conflict || is_about_it {
                open.resolved_by = Some(by.clone());
                open.resolved_by_second.clone_from(second);
                open.resolved_in = Some(entry.id);
                open.seen.clone_from(seen);
            }
        }
    }
}
