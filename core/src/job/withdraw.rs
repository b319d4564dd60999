//! Taking an event back: its changes the other way round, if the state still allows.

use uuid::Uuid;

use super::change::{Change, Postings};
use super::{
    BankState, CrankAt, CylinderState, Drop, DropStatus, Effects, Event, JobPhase, JobState,
    Refusal, Stage, Swap, ValveState,
};
use crate::engine::ValveName;
use crate::parts::Ledger;

impl JobState {
    /// The event that put a valve where it is, for taking its last stage back.
    pub fn last_stage_event(&self, valve: ValveName) -> Option<Uuid> {
        let known = self.valve(valve)?;
        let stage: Stage = known.stage()?;
        Some(known.stage_events[stage.index()])
    }

    /// The latest event that can be taken back, and what it was: what *undo* offers.
    pub fn undo_offer(&self) -> Option<(Uuid, &Event)> {
        self.history
            .iter()
            .rev()
            .find(|p| {
                !p.withdrawn && !matches!(p.event, Event::Withdrawn { .. } | Event::Sealed(_))
            })
            .filter(|p| self.phase != JobPhase::Paused && self.may_withdraw(p.id).is_ok())
            .map(|p| (p.id, &p.event))
    }

    /// An event that was taken, by its identity.
    pub fn event_of(&self, id: Uuid) -> Option<&Event> {
        self.history_entry(id).map(|p| &p.event)
    }

    /// Whether an event that was taken has been taken back since.
    pub fn is_withdrawn(&self, id: Uuid) -> bool {
        self.history_entry(id).is_some_and(|p| p.withdrawn)
    }

    pub(super) fn history_entry(&self, id: Uuid) -> Option<&super::state::HistoryEntry> {
        self.history.iter().rev().find(|p| p.id == id)
    }

    /// Whether an event may be taken back now.
    ///
    /// # Errors
    /// The [`Refusal`] that stands in the way.
    pub fn may_withdraw(&self, id: Uuid) -> Result<(), Refusal> {
        self.inverse_of(id).map(|_| ())
    }

    /// Checks everything but the invariants of the state that would follow.
    fn inverse_of(&self, id: Uuid) -> Result<Postings, Refusal> {
        let past = self
            .history_entry(id)
            .ok_or(Refusal::NoSuchEvent { event: id })?;
        if past.withdrawn {
            return Err(Refusal::NoSuchEvent { event: id });
        }
        if !is_withdrawable(&past.event) {
            return Err(Refusal::CannotWithdraw { event: id });
        }
        let over = matches!(self.phase, JobPhase::Closed | JobPhase::Stopped);
        if over && !may_be_taken_back_after(&past.event) {
            return Err(Refusal::JobIsOver);
        }
        if self.gate_rests_on(past) {
            return Err(Refusal::NotTheLast { event: id });
        }
        let mut postings = self.postings(id, &past.event);
        if let Event::CylinderWanted { .. } = past.event {
            postings.clear();
        }
        if self.touched_since(id, &postings) || !self.stands_as_left(&postings) {
            return Err(Refusal::NotTheLast { event: id });
        }
        Ok(postings.into_iter().rev().map(Change::inverted).collect())
    }

    /// Whether a bank was closed since, and its gate rested on this event: a count, a
    /// find, or what was done at the bank's own plug holes.
    fn gate_rests_on(&self, past: &super::state::HistoryEntry) -> bool {
        let closed_since = |bank: usize| {
            let closing = self.banks.get(bank).and_then(|b| b.closed_in);
            closing.is_some_and(|closing| {
                self.history
                    .iter()
                    .rev()
                    .take_while(|p| p.id != past.id)
                    .any(|p| p.id == closing)
            })
        };
        match &past.event {
            Event::BlindCount { .. } | Event::PartFound { .. } => {
                (0..self.banks.len()).any(closed_since)
            }
            Event::PlugOut { cylinder }
            | Event::PlugIn { cylinder }
            | Event::VentedCoverIn { cylinder }
            | Event::VentedCoverOut { cylinder }
            | Event::HoseIn { cylinder }
            | Event::HoseOut { cylinder } => self
                .layout()
                .and_then(|l| l.bank_of(*cylinder))
                .is_some_and(closed_since),
            _ => false,
        }
    }

    /// Whether a later event that stands wrote one of the same cells (items aside).
    fn touched_since(&self, id: Uuid, postings: &Postings) -> bool {
        let cells: Vec<_> = postings
            .iter()
            .map(Change::cell)
            .filter(|c| !matches!(c, super::change::Cell::Items(_)))
            .collect();
        !cells.is_empty()
            && self
                .history
                .iter()
                .rev()
                .take_while(|p| p.id != id)
                .filter(|p| !p.withdrawn)
                .any(|p| {
                    let later = self.postings(p.id, &p.event);
                    later.iter().any(|c| cells.contains(&c.cell()))
                })
    }

    /// Whether what the changes wrote still stands as they left it.
    fn stands_as_left(&self, postings: &Postings) -> bool {
        postings.iter().all(|change| match change {
            Change::Stage { valve, to, .. } => self.valves[*valve].stages_seen == *to,
            Change::Air { cylinder, to, .. } => self.cylinders[*cylinder].air_bar == *to,
            Change::HoldBy { cylinder, to, .. } => self.cylinders[*cylinder].hold == *to,
            Change::Crank { to, .. } => self.crank == *to,
            Change::Wrench { to } => self.wrench_on == *to,
            Change::CoverOff { bank, to } => self.banks[*bank].cover_off == *to,
            Change::SwapMended { swapped, to } => self
                .swaps
                .iter()
                .any(|s| s.id == *swapped && s.is_mended == *to),
            Change::SwapOpened { swapped } => {
                self.swaps.iter().any(|s| s.id == *swapped && !s.is_mended)
            }
            Change::DropOpened { dropped } => self
                .drop_of(*dropped)
                .is_some_and(|d| d.status == DropStatus::Adrift),
            _ => true,
        })
    }

    /// Takes an event back and marks it so.
    pub(super) fn take_back(&mut self, id: Uuid) -> Result<Effects, Refusal> {
        let inverse = self.inverse_of(id)?;
        if let Some(refusal) = self.crank_in_the_way(&inverse) {
            return Err(refusal);
        }
        let way_down_before = self.open_way_down();
        let before = self.physical();
        let committed = self
            .commit(&inverse, None)
            .map_err(|shortfall| Refusal::Short { shortfall });
        let refusal = committed.err().or_else(|| {
            let broken = self.broken_invariant();
            let breaks = broken.map(|rule| Refusal::WithdrawalBreaks { rule });
            breaks.or_else(|| self.open_way_down().filter(|_| way_down_before.is_none()))
        });
        if let Some(refusal) = refusal {
            self.restore(before);
            return Err(refusal);
        }
        self.forget(id);
        Ok(Effects::default())
    }

    /// Taking back a turn is a turn: the same rule holds (invariant *still*).
    fn crank_in_the_way(&self, inverse: &Postings) -> Option<Refusal> {
        let turns = inverse.iter().any(|c| matches!(c, Change::Crank { .. }));
        if turns {
            self.what_stops_the_crank()
        } else {
            None
        }
    }

    /// What a withdrawal may touch, kept so that a refused one leaves no trace.
    fn physical(&self) -> Physical {
        Physical {
            ledger: self.ledger.clone(),
            valves: self.valves.clone(),
            cylinders: self.cylinders.clone(),
            banks: self.banks.clone(),
            drops: self.drops.clone(),
            swaps: self.swaps.clone(),
            crank: self.crank,
            wrench_on: self.wrench_on,
            moves: self.moves,
        }
    }

    fn restore(&mut self, before: Physical) {
        self.ledger = before.ledger;
        self.valves = before.valves;
        self.cylinders = before.cylinders;
        self.banks = before.banks;
        self.drops = before.drops;
        self.swaps = before.swaps;
        self.crank = before.crank;
        self.wrench_on = before.wrench_on;
        self.moves = before.moves;
    }

    fn forget(&mut self, id: Uuid) {
        let Some(past) = self.history.iter_mut().rev().find(|p| p.id == id) else {
            return;
        };
        past.withdrawn = true;
        match &past.event {
            Event::JobClosed { .. } | Event::JobStopped { .. } => self.phase = JobPhase::Open,
            Event::BankClosed { bank, .. } => self.banks[usize::from(*bank)].closed_in = None,
            _ => {}
        }
        self.facts.retain(|f| f.id != id);
        self.counts.retain(|c| c.id != id);
        self.round.retain(|c| *c != id);
    }
}

struct Physical {
    ledger: Ledger,
    valves: Vec<ValveState>,
    cylinders: Vec<CylinderState>,
    banks: Vec<BankState>,
    drops: Vec<Drop>,
    swaps: Vec<Swap>,
    crank: Option<CrankAt>,
    wrench_on: bool,
    moves: u64,
}

/// What may still be taken back when the job is over: its end, and words.
fn may_be_taken_back_after(event: &Event) -> bool {
    matches!(
        event,
        Event::JobClosed { .. } | Event::JobStopped { .. } | Event::Noted { .. }
    )
}

fn is_withdrawable(event: &Event) -> bool {
    !matches!(
        event,
        Event::JobOpened(_)
            | Event::TakenOver { .. }
            | Event::Paused { .. }
            | Event::Resumed {}
            | Event::HandedOver { .. }
            | Event::ConflictResolved { .. }
            | Event::Sealed(_)
            | Event::Withdrawn { .. }
            | Event::ForemanAgreed { .. }
    )
}
