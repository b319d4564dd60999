//! What may happen to parts and kit: what comes in, moves, is replaced, dropped, found.

use uuid::Uuid;

use super::valve::stoppers_of;
use super::{COUNT_MAX, Verdict, demand};
use crate::engine::{Layout, ValveName};
use crate::job::change::Postings;
use crate::job::{Drop, DropStatus, Entry, Event, JobState, Refusal, SearchPlace, SignOff, Stage};
use crate::parts::{Item, Place, Shortfall};

/// The most of one item that a job can hold over all places.
const TOTAL_MAX: u32 = 999_999;

impl JobState {
    #[inline(never)]
    pub(super) fn check_parts(&self, layout: &Layout, event: &Event) -> Verdict {
        check_count_of(event)?;
        match event {
            Event::KitCounted { item, count } => {
                demand(item.is_kit(), || Refusal::NotKit { item: item.clone() })?;
                self.check_room(item, *count)
            }
            Event::PutAboard { item, bank, .. } => {
                check_goes_aboard(item)?;
                demand(self.banks[usize::from(*bank)].cover_off, || {
                    Refusal::CoverStillOn { bank: *bank }
                })
            }
            Event::TakenOff { item, bank, count } => {
                check_goes_aboard(item)?;
                self.check_stopper_off(layout, item, *bank, *count)
            }
            Event::StockIssued { item, count } => {
                check_from_store(item)?;
                self.check_room(item, *count)
            }
            Event::StockReturned { item, .. } => check_from_store(item),
            Event::TakenFromStock { item, .. } => {
                demand(goes_through_the_tray(item) || is_laid_aside(item), || {
                    Refusal::NotReplaceable { item: item.clone() }
                })
            }
            Event::PartUsed { item, .. } => demand(matches!(item, Item::Other(_)), || {
                Refusal::NotReplaceable { item: item.clone() }
            }),
            Event::PutAway { item, to, .. } => {
                let good = matches!(to, Place::Scrap | Place::Stock);
                demand(good, || Refusal::BadMove {
                    item: item.clone(),
                    from: Place::Tray,
                    to: *to,
                })
            }
            Event::PartReplaced { valve, item, count } => self.check_replaced(*valve, item, *count),
            Event::PartDropped {
                item, from, bank, ..
            } => check_drop(item, *from, *bank),
            Event::PartFound { dropped, to, .. } => {
                let drop = self.check_adrift(*dropped)?;
                let good = may_be_found_into(&drop.item, *to);
                demand(good, || Refusal::BadMove {
                    item: drop.item.clone(),
                    from: Place::Adrift,
                    to: *to,
                })
            }
            Event::SearchSigned {
                dropped,
                places,
                first,
                second,
            } => {
                check_two_people(first, second)?;
                self.check_adrift(*dropped)?;
                let missing = SearchPlace::LIST
                    .iter()
                    .filter(|p| !places.contains(p))
                    .count();
                demand(missing == 0, || Refusal::SearchIncomplete { missing })
            }
            _ => Ok(()),
        }
    }

    /// The ledger of one item stays within what it can add up.
    fn check_room(&self, item: &Item, count: u32) -> Verdict {
        let total = self.ledger.account(item).total();
        demand(total.saturating_add(count) <= TOTAL_MAX, || {
            Refusal::BadCount { count }
        })
    }

    /// Stoppers that the layout wants stay in while a valve of the bank is unlocked.
    fn check_stopper_off(&self, layout: &Layout, item: &Item, bank: u8, count: u32) -> Verdict {
        let index = usize::from(bank);
        let aboard = &self.banks[index].aboard;
        let there = aboard.get(item).copied().unwrap_or_default();
        if *item != Item::Stopper || there.saturating_sub(count) >= stoppers_of(layout, index) {
            return Ok(());
        }
        match self.unlocked_in(layout, index) {
            Some(valve) => Err(Refusal::ValveUnlocked { valve }),
            None => Ok(()),
        }
    }

    fn check_adrift(&self, dropped: Uuid) -> Result<&Drop, Refusal> {
        let drop = self
            .drop_of(dropped)
            .ok_or(Refusal::NoSuchDrop { dropped })?;
        if drop.status == DropStatus::Adrift {
            Ok(drop)
        } else {
            Err(Refusal::NotAdrift { dropped })
        }
    }

    fn check_replaced(&self, valve: ValveName, item: &Item, count: u32) -> Verdict {
        let Some((known, layout)) = self.valve(valve).zip(self.layout()) else {
            return Ok(());
        };
        let (most, loose) = match item {
            Item::Lock => (u32::from(layout.locks_per_valve), known.is_unlocked()),
            Item::Retainer => (1, known.is_unlocked()),
            Item::Spring => (u32::from(layout.springs_per_valve), known.is_unlocked()),
            Item::Follower => (1, known.is_open()),
            Item::NewSeal => (1, known.stage() == Some(Stage::SealFitted)),
            _ => return Err(Refusal::NotReplaceable { item: item.clone() }),
        };
        demand(loose, || Refusal::PartIsHome {
            item: item.clone(),
            valve,
        })?;
        demand(count <= most, || Refusal::BadCount { count })
    }

    /// Every move finds enough where it starts.
    pub(super) fn check_balances(&self, entry: &Entry) -> Result<Postings, Refusal> {
        let postings: Postings = self.postings(entry.id, &entry.event);
        if let Some(shortfall) = self.shortfall_of(&postings) {
            return Err(Refusal::Short { shortfall });
        }
        let (bank, item, count) = match &entry.event {
            Event::TakenOff { bank, item, count } => (*bank, item, *count),
            Event::PartDropped {
                item,
                count,
                from: Place::Aboard,
                bank: Some(bank),
                ..
            } => (*bank, item, *count),
            _ => return Ok(postings),
        };
        let aboard = &self.banks[usize::from(bank)].aboard;
        let there = aboard.get(item).copied().unwrap_or_default();
        demand(there >= count, || Refusal::Short {
            shortfall: Shortfall {
                item: item.clone(),
                place: Place::Aboard,
                wanted: count,
                there,
            },
        })?;
        Ok(postings)
    }
}

fn check_two_people(first: &SignOff, second: &SignOff) -> Verdict {
    demand(first.person != second.person, || Refusal::SamePerson {
        person: first.person.clone(),
    })?;
    demand(first.entering != second.entering, || {
        Refusal::SignatureUsed {
            person: second.person.clone(),
        }
    })
}

fn check_count_of(event: &Event) -> Verdict {
    let count = match event {
        Event::KitCounted { count, .. }
        | Event::StockIssued { count, .. }
        | Event::StockReturned { count, .. }
        | Event::TakenFromStock { count, .. }
        | Event::PartUsed { count, .. }
        | Event::PutAway { count, .. }
        | Event::PutAboard { count, .. }
        | Event::TakenOff { count, .. }
        | Event::PartReplaced { count, .. }
        | Event::PartDropped { count, .. } => *count,
        _ => return Ok(()),
    };
    demand((1..=COUNT_MAX).contains(&count), || Refusal::BadCount {
        count,
    })
}

fn check_goes_aboard(item: &Item) -> Verdict {
    demand(item.is_kit(), || Refusal::NotKit { item: item.clone() })?;
    let own_event = matches!(item, Item::VentedCover | Item::Hose | Item::Wrench);
    demand(!own_event, || Refusal::BadMove {
        item: item.clone(),
        from: Place::Kit,
        to: Place::Aboard,
    })
}

fn check_from_store(item: &Item) -> Verdict {
    let comes_new = goes_through_the_tray(item)
        || is_laid_aside(item)
        || matches!(item, Item::NewSeal | Item::Other(_));
    demand(comes_new, || Refusal::NotReplaceable { item: item.clone() })
}

/// Covers and plugs wait on the bench, not in the tray; a lost or cracked one is
/// replaced from the store like any other part.
pub(in crate::job) fn is_laid_aside(item: &Item) -> bool {
    matches!(item, Item::Cover | Item::Plug)
}

fn goes_through_the_tray(item: &Item) -> bool {
    matches!(
        item,
        Item::Lock | Item::Retainer | Item::Spring | Item::Follower
    )
}

fn check_drop(item: &Item, from: Place, bank: Option<u8>) -> Verdict {
    let own_event = matches!(item, Item::VentedCover | Item::Hose | Item::Wrench);
    let good = match from {
        Place::Tray | Place::Aside | Place::Scrap | Place::Stock | Place::Kit => true,
        Place::Aboard => bank.is_some() && !own_event,
        Place::Home | Place::Adrift | Place::Unfound => false,
    };
    demand(good, || Refusal::BadMove {
        item: item.clone(),
        from,
        to: Place::Adrift,
    })
}

/// Where a found item may go: not back home, for what was lost is looked at first.
fn may_be_found_into(item: &Item, to: Place) -> bool {
    match item {
        Item::Lock | Item::Retainer | Item::Spring | Item::Follower => {
            matches!(to, Place::Tray | Place::Scrap)
        }
        Item::OldSeal | Item::SealPiece => to == Place::Scrap,
        Item::NewSeal => matches!(to, Place::Stock | Place::Scrap),
        Item::Cover | Item::Plug => matches!(to, Place::Aside | Place::Scrap),
        Item::Other(_) => matches!(to, Place::Kit | Place::Stock | Place::Scrap),
        _ => to == Place::Kit,
    }
}
