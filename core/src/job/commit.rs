//! Making changes: all of a list, or none where a place holds too few.

use uuid::Uuid;

use super::change::{Change, Postings};
use super::{Drop, DropStatus, Entry, Event, FindingKind, JobState};
use crate::parts::{Item, Place, Shortfall};

impl JobState {
    /// Makes all changes, or none where a place holds too few.
    pub(super) fn commit(
        &mut self,
        postings: &Postings,
        entry: Option<&Entry>,
    ) -> Result<(), Shortfall> {
        if let Some(shortfall) = self.shortfall_of(postings) {
            return Err(shortfall);
        }
        self.commit_checked(postings, entry)
    }

    /// The same for postings that were found to leave nothing short.
    pub(super) fn commit_checked(
        &mut self,
        postings: &Postings,
        entry: Option<&Entry>,
    ) -> Result<(), Shortfall> {
        for change in postings {
            self.commit_one(change, entry)?;
        }
        Ok(())
    }

    /// The first move of a list that finds too few, the earlier ones counted.
    pub(super) fn shortfall_of(&self, postings: &Postings) -> Option<Shortfall> {
        postings.iter().enumerate().find_map(|(index, change)| {
            if let Change::Aboard {
                bank,
                item,
                add: false,
                count,
            } = change
            {
                return self.short_aboard(*bank, item, *count);
            }
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

    /// Kit that a bank has too few of.
    fn short_aboard(&self, bank: usize, item: &Item, wanted: u32) -> Option<Shortfall> {
        let aboard = self.banks.get(bank).map(|b| &b.aboard)?;
        let there = aboard.get(item).copied().unwrap_or_default();
        (there < wanted).then(|| Shortfall {
            item: item.clone(),
            place: Place::Aboard,
            wanted,
            there,
        })
    }

    #[expect(clippy::too_many_lines, reason = "a table: one arm a change")]
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
                let state = &mut self.cylinders[*cylinder];
                state.air_bar = *to;
                state.air_lost &= to.is_none();
                // Taking air off keeps the time, so that taking that back brings it back.
                if let (Some(_), Some(entry)) = (to, entry) {
                    state.air_since_ms = Some(entry.at_ms);
                }
            }
            Change::AirLost { cylinder, to } => self.cylinders[*cylinder].air_lost = *to,
            Change::HoldBy { cylinder, to, .. } => {
                let state = &mut self.cylinders[*cylinder];
                state.hold = *to;
                state.air_lost &= to.is_none();
            }
            Change::PutOff { cylinder, to } => self.cylinders[*cylinder].put_off = *to,
            Change::Wrench { to } => self.wrench_on = *to,
            Change::Crank { to, .. } => self.turned_to = *to,
            Change::CoverOff { bank, to } => self.banks[*bank].cover_off = *to,
            Change::Aboard {
                bank,
                item,
                add,
                count,
            } => self.commit_aboard(*bank, item, *add, *count),
            Change::DropOpened { dropped } => {
                if let Some(entry) = entry {
                    self.open_drop(*dropped, entry);
                }
            }
            Change::DropTakenBack { dropped } => self.drops.retain(|d| d.id != *dropped),
            Change::SwapOpened { swapped } => {
                if let Some(entry) = entry {
                    self.open_swap(*swapped, entry);
                }
            }
            Change::SwapTakenBack { swapped } => self.swaps.retain(|s| s.id != *swapped),
            Change::SwapMended { swapped, to } => {
                if let Some(swap) = self.swaps.iter_mut().find(|s| s.id == *swapped) {
                    swap.is_mended = *to;
                }
            }
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
        let state = &mut self.valves[valve];
        if let (Some(entry), true) = (entry, to > state.stages_seen) {
            let place = usize::from(to - 1);
            state.stage_events[place] = entry.id;
            state.stage_at_ms[place] = entry.at_ms;
        } else {
            let place = usize::from(to);
            state.stage_events[place] = Uuid::nil();
            state.stage_at_ms[place] = 0;
        }
        state.stages_seen = to;
    }

    /// As many as are taken off are there: the list was looked at before.
    fn commit_aboard(&mut self, bank: usize, item: &Item, add: bool, count: u32) {
        let aboard = &mut self.banks[bank].aboard;
        let there = aboard.remove(item).unwrap_or_default();
        let left = if add {
            there + count
        } else {
            there.saturating_sub(count)
        };
        if left > 0 {
            aboard.insert(item.clone(), left);
        }
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
            Event::StageSeen {
                valve,
                locks_dropped,
                ..
            } => (
                Item::Lock,
                u32::from(*locks_dropped),
                Place::Home,
                Some(*valve),
            ),
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
