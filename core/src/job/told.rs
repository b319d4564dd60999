//! What an event that cannot stand has told all the same: a loss is booked, and what was
//! closed over it is open again. Merging adds losses and never takes one away (invariant
//! *told*).

use uuid::Uuid;

use super::change::{Change, Postings};
use super::check::{goes_aboard, is_room_for};
use super::conflict::Told;
use super::{DropStatus, Entry, Event, FindingKind, JobPhase, JobState, Stage};
use crate::engine::Layout;
use crate::parts::{Item, Place};

impl JobState {
    /// Books what an event tells that cannot stand.
    #[cold]
    pub(super) fn book_told(&mut self, entry: &Entry) -> Told {
        let Some(layout) = self.layout.clone() else {
            return Told::default();
        };
        let mut told = Told::default();
        if let Event::Withdrawn { event, .. } = &entry.event {
            self.book_taking_back(*event, &mut told);
            return told;
        }
        if let Event::BankClosed { bank, .. } = &entry.event
            && self.adrift() > 0
        {
            // The cover was off there after all, and what is adrift may lie under it.
            self.reopen_job();
            self.reopen(usize::from(*bank), &mut told);
        }
        if !tells_of_danger(&entry.event) {
            return told;
        }
        self.reopen_job();
        if works_under_the_cover(&entry.event)
            && let Some(bank) = entry.event.bank(Some(&layout))
        {
            self.reopen(bank, &mut told);
        }
        told.loss = self.loss_told(&layout, entry);
        if let Event::PutAboard { bank, .. } = &entry.event
            && !told.loss.is_empty()
        {
            self.lift_cover(usize::from(*bank));
        }
        self.book_loss(&mut told, entry);
        told
    }

    fn book_loss(&mut self, told: &mut Told, entry: &Entry) {
        let booked = self.commit(&told.loss, Some(entry));
        debug_assert!(booked.is_ok(), "only what is there was moved: {booked:?}");
        if booked.is_err() {
            told.loss.clear();
        }
    }

    /// The loss that an event tells, as far as it can be taken from where it says; the
    /// rest is counted in, for it may be the same part told twice.
    fn loss_told(&self, layout: &Layout, entry: &Entry) -> Postings {
        match &entry.event {
            Event::PartDropped {
                item,
                count,
                from,
                bank,
                ..
            } => {
                let there = match (from, bank) {
                    (Place::Aboard, Some(bank)) => self.aboard_of(usize::from(*bank), item),
                    (Place::Home | Place::Aboard | Place::Adrift | Place::Unfound, _) => 0,
                    _ => self.ledger.at(item, *from),
                };
                let mut changes = self.gone(item, *count, (*from, there), Place::Adrift);
                let moved = (*count).min(there);
                if let (Place::Aboard, Some(bank)) = (from, bank)
                    && moved > 0
                {
                    changes.push(Change::Aboard {
                        bank: usize::from(*bank),
                        item: item.clone(),
                        add: false,
                        count: moved,
                    });
                }
                adrift(changes, entry.id)
            }
            Event::StageSeen {
                valve,
                stage: Stage::LocksOut,
                locks_dropped,
                ..
            } if *locks_dropped <= layout.locks_per_valve => {
                // Where the locks are out already, the tray lacks those that flew off.
                let out = self.valve(*valve).filter(|valve| valve.is_unlocked());
                let there = out.map_or(0, |_| self.ledger.at(&Item::Lock, Place::Tray));
                let count = u32::from(*locks_dropped);
                let changes = self.gone(&Item::Lock, count, (Place::Tray, there), Place::Adrift);
                adrift(changes, entry.id)
            }
            Event::FindingNoted(finding) => match finding.kind {
                FindingKind::SealTorn { missing } => {
                    let nowhere = (Place::Home, 0);
                    let changes = self.gone(&Item::SealPiece, missing, nowhere, Place::Adrift);
                    adrift(changes, entry.id)
                }
                _ => Postings::new(),
            },
            Event::PutAboard { item, bank, count }
                if usize::from(*bank) < self.banks.len() && goes_aboard(item) =>
            {
                let there = self.ledger.at(item, Place::Kit);
                let mut changes = self.gone(item, *count, (Place::Kit, there), Place::Aboard);
                if !changes.is_empty() {
                    changes.push(Change::Aboard {
                        bank: usize::from(*bank),
                        item: item.clone(),
                        add: true,
                        count: *count,
                    });
                }
                changes
            }
            _ => Postings::new(),
        }
    }

    /// So many of an item have gone to a place, from where there were that many of them.
    fn gone(&self, item: &Item, count: u32, (from, there): (Place, u32), to: Place) -> Postings {
        let mut changes = Postings::new();
        if !is_room_for(&self.ledger, item, count) {
            return changes;
        }
        let moved = count.min(there);
        if moved > 0 {
            changes.push(Change::Move {
                item: item.clone(),
                from,
                to,
                count: moved,
            });
        }
        if moved < count {
            changes.push(Change::CountIn {
                item: item.clone(),
                place: to,
                count: count - moved,
            });
        }
        changes
    }

    fn aboard_of(&self, bank: usize, item: &Item) -> u32 {
        let aboard = self.banks.get(bank).map(|b| &b.aboard);
        aboard.and_then(|a| a.get(item)).copied().unwrap_or(0)
    }

    /// Another tablet takes something back that this order does not let go. What it tells
    /// by that stands: the cover is off, the part is missing, the kit is aboard.
    fn book_taking_back(&mut self, id: Uuid, told: &mut Told) {
        let standing = self.history_entry(id).filter(|p| !p.withdrawn);
        let contested = self.conflict_of(id).map(|c| &c.entry.event);
        let Some(event) = standing.map(|p| &p.event).or(contested).cloned() else {
            return;
        };
        match event {
            Event::JobClosed { .. } | Event::JobStopped { .. } => self.reopen_job(),
            // Whoever takes a closing back has the cover off, whichever closing stands.
            Event::BankClosed { bank, .. } => {
                self.reopen_job();
                self.reopen(usize::from(bank), told);
            }
            _ => {
                let danger = !self.dangers_of(id, &event).is_empty();
                let Some(opens) = self.what_taking_back_opens(id) else {
                    if danger {
                        self.reopen_job();
                    }
                    return;
                };
                self.reopen_job();
                for bank in opens {
                    self.reopen(bank, told);
                }
                if self.take_back(id).is_ok() {
                    told.taken_back = true;
                } else {
                    self.lose_again(id);
                }
            }
        }
    }

    /// A find or a search that is said not to be so, where what was found has moved on.
    fn lose_again(&mut self, id: Uuid) {
        let ended = [DropStatus::Found(id), DropStatus::Unfound(id)];
        let Some(drop) = self.drops.iter().find(|d| ended.contains(&d.status)) else {
            return;
        };
        let (dropped, item, count, from) = (drop.id, drop.item.clone(), drop.count, drop.status);
        let lies_at = match self.event_of(id) {
            Some(Event::PartFound { to, .. }) => *to,
            _ => Place::Unfound,
        };
        let there = self.ledger.at(&item, lies_at);
        let mut changes = self.gone(&item, count, (lies_at, there), Place::Adrift);
        if changes.is_empty() {
            return;
        }
        changes.push(Change::Dropped {
            dropped,
            from,
            to: DropStatus::Adrift,
        });
        if self.commit(&changes, None).is_ok() {
            self.forget(id);
        }
    }

    /// The job goes on: something was told after it had ended.
    fn reopen_job(&mut self) {
        if !matches!(self.phase, JobPhase::Closed | JobPhase::Stopped) {
            return;
        }
        if let Some(id) = self.ending().map(|p| p.id) {
            self.forget(id);
        }
        self.phase = JobPhase::Open;
    }

    /// A closed bank is open again: its closing is taken back.
    pub(super) fn reopen(&mut self, bank: usize, told: &mut Told) {
        let Some(closing) = self.banks.get(bank).and_then(|b| b.closed_in) else {
            return;
        };
        self.lift_cover(bank);
        self.forget(closing);
        told.reopened.push(bank as u8);
    }

    fn lift_cover(&mut self, bank: usize) {
        if self.banks.get(bank).is_none_or(|b| b.cover_off) {
            return;
        }
        let lifted = [
            Change::Move {
                item: Item::Cover,
                from: Place::Home,
                to: Place::Aside,
                count: 1,
            },
            Change::CoverOff { bank, to: true },
        ];
        let lifted = self.commit(&lifted.into(), None);
        debug_assert!(lifted.is_ok(), "a cover that is on is home: {lifted:?}");
    }
}

fn adrift(mut changes: Postings, dropped: Uuid) -> Postings {
    if !changes.is_empty() {
        changes.push(Change::DropOpened { dropped });
    }
    changes
}

/// Whether an event tells of something where the cover has to be off for it.
fn works_under_the_cover(event: &Event) -> bool {
    let at_a_valve = matches!(event, Event::StageSeen { .. } | Event::PutAboard { .. });
    at_a_valve || event.tells_drop()
}

/// Whether an event says that something is adrift, aboard, open, under air or pressed.
fn tells_of_danger(event: &Event) -> bool {
    match event {
        Event::PartDropped { .. }
        | Event::PutAboard { .. }
        | Event::VentedCoverIn { .. }
        | Event::HoseIn { .. }
        | Event::WrenchOn {}
        | Event::CrankTurned { .. }
        | Event::AirOn { .. }
        | Event::HoldDeclared { .. }
        | Event::PlugOut { .. }
        | Event::CoverOff { .. }
        | Event::AirReadAnew { .. }
        | Event::AirLost { .. }
        | Event::PartsSwapped { .. } => true,
        Event::StageSeen { stage, .. } => *stage != Stage::Verified,
        Event::FindingNoted(finding) => {
            matches!(finding.kind, FindingKind::SealTorn { missing } if missing > 0)
        }
        Event::JobOpened(_)
        | Event::TakenOver { .. }
        | Event::Paused { .. }
        | Event::Resumed {}
        | Event::Noted { .. }
        | Event::HandedOver { .. }
        | Event::ConflictResolved { .. }
        | Event::Sealed(_)
        | Event::Withdrawn { .. }
        | Event::JobClosed { .. }
        | Event::JobStopped { .. }
        | Event::TakeInNoted(_)
        | Event::OilToppedUp { .. }
        | Event::LeakRead { .. }
        | Event::ForemanAgreed { .. }
        | Event::BreakawayMeasured { .. }
        | Event::StepSeen { .. }
        | Event::CautionSeen { .. }
        | Event::PictureAdded(_)
        | Event::FollowedUp { .. }
        | Event::EnteredFromPaper(_)
        | Event::KitCounted { .. }
        | Event::StockIssued { .. }
        | Event::StockReturned { .. }
        | Event::TakenFromStock { .. }
        | Event::PutAway { .. }
        | Event::TakenOff { .. }
        | Event::PartUsed { .. }
        | Event::PartReplaced { .. }
        | Event::PartFound { .. }
        | Event::SwapMended { .. }
        | Event::SearchSigned { .. }
        | Event::BlindCount { .. }
        | Event::BankClosed { .. }
        | Event::PlugIn { .. }
        | Event::VentedCoverOut { .. }
        | Event::HoseOut { .. }
        | Event::WrenchOff {}
        | Event::AirOff { .. }
        | Event::HoldReleased { .. }
        | Event::CylinderPutOff { .. }
        | Event::CylinderWanted { .. } => false,
    }
}
