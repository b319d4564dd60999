//! Taking an event back: its changes the other way round, if the state still allows.

use uuid::Uuid;

use super::change::{Change, Postings};
use super::state::HistoryEntry;
use super::{
    BankState, CrankAt, CylinderState, Drop, DropStatus, Effects, Event, JobPhase, JobState,
    Refusal, Stage, Swap, ValveState,
};
use crate::engine::ValveName;
use crate::parts::{Ledger, Place};

/// The gates that taking an event back opens.
enum Gates {
    /// Of one bank, by its index.
    Of(usize),
    /// Of every bank, for what is adrift or loose may lie anywhere.
    All,
}

impl Gates {
    /// The gate of a bank; every one where no bank is known.
    fn of(bank: Option<usize>) -> Self {
        bank.map_or(Self::All, Self::Of)
    }
}

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

    pub(super) fn history_entry(&self, id: Uuid) -> Option<&HistoryEntry> {
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
        if self.has_lines_standing(id) {
            return Err(Refusal::NotTheLast { event: id });
        }
        let over = matches!(self.phase, JobPhase::Closed | JobPhase::Stopped);
        if over && !may_be_taken_back_after(&past.event) {
            return Err(Refusal::JobIsOver);
        }
        let postings = self.postings(id, &past.event);
        if self.touched_since(id, &postings) || !self.crank_stands_as_left(&postings) {
            return Err(Refusal::NotTheLast { event: id });
        }
        let inverse: Postings = postings.into_iter().rev().map(Change::inverted).collect();
        let closed = self.closed_over(past, &inverse);
        ensure_none(closed.into_iter().flatten().next(), id)?;
        Ok(inverse)
    }

    /// The banks that were closed since, and whose gate would have been shut if the event
    /// had been taken back before; none at all where taking it back opens nothing. One
    /// rule for all events.
    fn closed_over(&self, past: &HistoryEntry, inverse: &Postings) -> Option<Vec<usize>> {
        let opens = self.what_opens(past, inverse)?;
        let later = || self.history.iter().rev().take_while(|p| p.id != past.id);
        let closed = (0..self.banks.len()).filter(|bank| {
            let closing = self.banks[*bank].closed_in;
            closing.is_some_and(|closing| later().any(|p| p.id == closing))
        });
        Some(
            closed
                .filter(|bank| match opens {
                    Gates::Of(one) => one == *bank,
                    Gates::All => true,
                })
                .collect(),
        )
    }

    /// The gates that taking back opens; none where it opens nothing.
    fn what_opens(&self, past: &HistoryEntry, inverse: &Postings) -> Option<Gates> {
        let layout = self.layout()?;
        if matches!(past.event, Event::BlindCount { .. }) {
            return Some(Gates::All);
        }
        let of_cylinder = |index: usize| {
            let number = layout.cylinders().nth(index)?;
            layout.bank_of(number)
        };
        let at_a_valve = inverse.iter().find_map(|change| match change {
            Change::Stage { valve, .. } => layout.valves().nth(*valve),
            _ => None,
        });
        if let Some(valve) = at_a_valve {
            return Some(Gates::of(layout.bank_of(valve.cylinder)));
        }
        inverse.iter().find_map(|change| match change {
            Change::Aboard {
                bank, add: true, ..
            } => Some(Gates::Of(*bank)),
            Change::PlugOut { cylinder, .. }
            | Change::VentedCover { cylinder, .. }
            | Change::Hose { cylinder, .. } => Some(Gates::of(of_cylinder(*cylinder))),
            Change::Dropped {
                to: DropStatus::Adrift,
                ..
            }
            | Change::Move {
                to: Place::Adrift | Place::Tray,
                ..
            } => Some(Gates::All),
            _ => None,
        })
    }

    /// The banks that have to be opened again before an event can be taken back, where
    /// taking it back tells of a loss, a loose part or kit aboard.
    pub(super) fn what_taking_back_opens(&self, id: Uuid) -> Option<Vec<usize>> {
        let past = self.history_entry(id)?;
        let postings = self.postings(id, &past.event);
        let inverse: Postings = postings.into_iter().rev().map(Change::inverted).collect();
        self.closed_over(past, &inverse)
    }

    /// How many people have to sign when an event is taken back: as many as signed it, and
    /// two for a report of a loss, as for a search that ends one.
    pub fn signatures_to_take_back(&self, id: Uuid) -> usize {
        let Some(past) = self.history_entry(id) else {
            return 0;
        };
        let carried = past.event.signatures().count();
        if past.event.tells_drop() {
            carried.max(2)
        } else {
            carried
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

    /// Whether the crank stands where the changes left it. An answer to a dispute puts it where
    /// it was seen, and no event tells of that turn.
    fn crank_stands_as_left(&self, postings: &Postings) -> bool {
        postings.iter().all(|change| match change {
            Change::Crank { to, .. } => self.turned_to == *to,
            _ => true,
        })
    }

    /// Takes an event back and marks it so.
    pub(super) fn take_back(&mut self, id: Uuid) -> Result<Effects, Refusal> {
        let inverse = self.inverse_of(id)?;
        self.check_inverse_looked_at(&inverse)?;
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
            turned_to: self.turned_to,
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
        self.turned_to = before.turned_to;
        self.wrench_on = before.wrench_on;
        self.moves = before.moves;
    }

    pub(super) fn forget(&mut self, id: Uuid) {
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

fn ensure_none(closed: Option<usize>, event: Uuid) -> Result<(), Refusal> {
    match closed {
        Some(_) => Err(Refusal::NotTheLast { event }),
        None => Ok(()),
    }
}

struct Physical {
    ledger: Ledger,
    valves: Vec<ValveState>,
    cylinders: Vec<CylinderState>,
    banks: Vec<BankState>,
    drops: Vec<Drop>,
    swaps: Vec<Swap>,
    turned_to: Option<CrankAt>,
    wrench_on: bool,
    moves: u64,
}

/// What may still be taken back when the job is over: its end, words, pictures and what was
/// seen since.
fn may_be_taken_back_after(event: &Event) -> bool {
    matches!(
        event,
        Event::JobClosed { .. }
            | Event::JobStopped { .. }
            | Event::Noted { .. }
            | Event::FollowedUp { .. }
            | Event::PictureAdded(_)
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
