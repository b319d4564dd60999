//! Making changes, and whether each finds what it takes.

use uuid::Uuid;

use super::change::{Change, Postings};
use super::{Drop, DropStatus, Entry, Event, FindingKind, JobState};
use crate::parts::{Item, Place, Shortfall};

impl JobState {
    /// Makes all changes. Where a place holds too few it stops half done: whoever has not
    /// asked [`JobState::shortfall_of`] before goes back to the state of before.
    pub(super) fn commit(
        &mut self,
        postings: &Postings,
        entry: Option<&Entry>,
    ) -> Result<(), Shortfall> {
        for change in postings {
            self.commit_one(change, entry)?;
        }
        Ok(())
    }

    /// The first move of an event that finds too few, with what its earlier ones took. None
    /// of them brings what a later one takes.
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
            let (item, place, wanted) = leaves(change)?;
            let earlier = postings[..index].iter().filter_map(leaves);
            let taken: u32 = earlier
                .filter(|(kind, from, _)| (*kind, *from) == (item, place))
                .map(|(.., count)| count)
                .sum();
            let mut there = self.ledger.at(item, place);
            if matches!(change, Change::GiveBack { .. }) {
                // Used parts that were put to stock are not the store's.
                there = there.min(self.ledger.account(item).issued);
            }
            there = there.saturating_sub(taken);
            (there < wanted).then(|| Shortfall {
                item: item.clone(),
                place,
                wanted,
                there,
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
            }
            Change::AirLost { cylinder } => self.cylinders[*cylinder].air_lost = true,
            Change::HoldBy { cylinder, to, .. } => {
                let state = &mut self.cylinders[*cylinder];
                state.hold = *to;
                state.air_lost &= to.is_none();
            }
            Change::Wrench { to } => self.wrench_on = *to,
            Change::Crank { to, .. } => self.turned_to = *to,
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

    /// A stage is seen in an entry, and taken back without one.
    fn commit_stage(&mut self, valve: usize, to: u8, entry: Option<&Entry>) {
        self.moves += 1;
        let state = &mut self.valves[valve];
        let place = usize::from(if entry.is_some() { to - 1 } else { to });
        state.stage_events[place] = entry.map_or(Uuid::nil(), |e| e.id);
        state.stage_at_ms[place] = entry.map_or(0, |e| e.at_ms);
        state.stages_seen = to;
    }

    fn commit_aboard(
        &mut self,
        bank: usize,
        item: &Item,
        add: bool,
        count: u32,
    ) -> Result<(), Shortfall> {
        if !add && let Some(shortfall) = self.short_aboard(bank, item, count) {
            return Err(shortfall);
        }
        let aboard = &mut self.banks[bank].aboard;
        let there = aboard.remove(item).unwrap_or_default();
        let left = if add { there + count } else { there - count };
        if left > 0 {
            aboard.insert(item.clone(), left);
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

/// The place that a change of an event takes items from, with how many.
fn leaves(change: &Change) -> Option<(&Item, Place, u32)> {
    match change {
        Change::Move {
            item, from, count, ..
        } => Some((item, *from, *count)),
        Change::GiveBack { item, count } => Some((item, Place::Stock, *count)),
        _ => None,
    }
}
