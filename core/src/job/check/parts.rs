//! What may happen to parts and kit: what comes in, moves, is replaced, dropped, found.

use uuid::Uuid;

use super::valve::stoppers_of;
use super::{Allowed, COUNT_MAX, check_two_people, ensure};
use crate::engine::{Layout, ValveName};
use crate::job::change::Postings;
use crate::job::{Drop, DropStatus, Entry, JobState, Refusal, SearchPlace, SignOff, Stage};
use crate::parts::{Item, Ledger, Place};

/// The most of one item that a job can hold over all places.
const TOTAL_MAX: u32 = 999_999;

impl JobState {
    pub(super) fn check_kit(&self, item: &Item, count: u32) -> Allowed {
        check_count(count)?;
        ensure(item.is_kit(), || Refusal::NotKit { item: item.clone() })?;
        self.check_room(item, count)
    }

    pub(super) fn check_issued(&self, item: &Item, count: u32) -> Allowed {
        check_count(count)?;
        check_from_store(item)?;
        self.check_room(item, count)
    }

    pub(super) fn check_put_aboard(&self, item: &Item, bank: u8, count: u32) -> Allowed {
        let state = self.existing_bank(bank)?;
        check_count(count)?;
        check_goes_aboard(item)?;
        ensure(state.cover_off, || Refusal::CoverStillOn { bank })
    }

    pub(super) fn check_taken_off(
        &self,
        layout: &Layout,
        item: &Item,
        bank: u8,
        count: u32,
    ) -> Allowed {
        self.existing_bank(bank)?;
        check_count(count)?;
        check_goes_aboard(item)?;
        self.check_stopper_off(layout, item, bank, count)
    }

    pub(super) fn check_found(&self, dropped: Uuid, to: Place) -> Allowed {
        let drop = self.check_adrift(dropped)?;
        ensure(found_places(&drop.item).contains(&to), || {
            Refusal::BadMove {
                item: drop.item.clone(),
                from: Place::Adrift,
                to,
            }
        })
    }

    pub(super) fn check_search(
        &self,
        dropped: Uuid,
        first: &SignOff,
        second: &SignOff,
        places: &[SearchPlace],
    ) -> Allowed {
        check_two_people(first, second)?;
        self.check_adrift(dropped)?;
        let missing = SearchPlace::LIST
            .iter()
            .filter(|p| !places.contains(p))
            .count();
        ensure(missing == 0, || Refusal::SearchIncomplete { missing })
    }

    /// The ledger of one item stays within what it can add up.
    fn check_room(&self, item: &Item, count: u32) -> Allowed {
        ensure(is_room_for(&self.ledger, item, count), || {
            Refusal::BadCount { count }
        })
    }

    /// Stoppers that the layout wants stay in while a valve of the bank is unlocked.
    fn check_stopper_off(&self, layout: &Layout, item: &Item, bank: u8, count: u32) -> Allowed {
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

    pub(super) fn check_replaced(
        &self,
        layout: &Layout,
        valve: ValveName,
        item: &Item,
        count: u32,
    ) -> Allowed {
        let state = self.existing_valve(layout, valve)?;
        check_count(count)?;
        let (most, loose) = match item {
            Item::Lock => (u32::from(layout.locks_per_valve), state.is_unlocked()),
            Item::Retainer => (1, state.is_unlocked()),
            Item::Spring => (u32::from(layout.springs_per_valve), state.is_unlocked()),
            Item::Follower => (u32::from(layout.followers()), state.is_open()),
            Item::Shim => (u32::from(layout.shims()), state.is_open()),
            Item::NewSeal => (1, state.stage() == Some(Stage::SealFitted)),
            _ => return Err(Refusal::NotReplaceable { item: item.clone() }),
        };
        ensure(loose, || Refusal::PartIsHome {
            item: item.clone(),
            valve,
        })?;
        ensure(count <= most, || Refusal::BadCount { count })
    }

    /// Every move finds enough where it starts.
    pub(super) fn check_balances(&self, entry: &Entry) -> Result<Postings, Refusal> {
        let postings: Postings = self.postings(entry.id, &entry.event);
        match self.shortfall_of(&postings) {
            Some(shortfall) => Err(Refusal::Short { shortfall }),
            None => Ok(postings),
        }
    }
}

/// Whether so many more of an item are few enough for one event and for the ledger.
pub(in crate::job) fn is_room_for(ledger: &Ledger, item: &Item, count: u32) -> bool {
    let total = ledger.account(item).total();
    (1..=COUNT_MAX).contains(&count) && total.saturating_add(count) <= TOTAL_MAX
}

/// How many one event may move at a time.
fn check_count(count: u32) -> Allowed {
    ensure((1..=COUNT_MAX).contains(&count), || Refusal::BadCount {
        count,
    })
}

pub(super) fn check_returned(item: &Item, count: u32) -> Allowed {
    check_count(count)?;
    check_from_store(item)
}

pub(super) fn check_from_stock(item: &Item, count: u32) -> Allowed {
    check_count(count)?;
    let good = item.goes_through_the_tray() || is_laid_aside(item);
    ensure(good, || Refusal::NotReplaceable { item: item.clone() })
}

pub(super) fn check_used(item: &Item, count: u32) -> Allowed {
    check_count(count)?;
    let good = matches!(item, Item::Other(_));
    ensure(good, || Refusal::NotReplaceable { item: item.clone() })
}

pub(super) fn check_put_away(item: &Item, count: u32, to: Place) -> Allowed {
    check_count(count)?;
    ensure(matches!(to, Place::Scrap | Place::Stock), || {
        Refusal::BadMove {
            item: item.clone(),
            from: Place::Tray,
            to,
        }
    })
}

/// Whether an item is put aboard and taken off by the pieces: kit without an event of its own.
pub(in crate::job) fn goes_aboard(item: &Item) -> bool {
    item.is_kit() && !matches!(item, Item::VentedCover | Item::Hose | Item::Wrench)
}

fn check_goes_aboard(item: &Item) -> Allowed {
    ensure(item.is_kit(), || Refusal::NotKit { item: item.clone() })?;
    ensure(goes_aboard(item), || Refusal::BadMove {
        item: item.clone(),
        from: Place::Kit,
        to: Place::Aboard,
    })
}

fn check_from_store(item: &Item) -> Allowed {
    let comes_new = item.goes_through_the_tray()
        || is_laid_aside(item)
        || matches!(item, Item::NewSeal | Item::Other(_));
    ensure(comes_new, || Refusal::NotReplaceable { item: item.clone() })
}

/// Covers and plugs wait on the bench, not in the tray; a lost or cracked one is
/// replaced from the store like any other part.
pub(in crate::job) fn is_laid_aside(item: &Item) -> bool {
    matches!(item, Item::Cover | Item::Plug)
}

pub(super) fn check_drop(item: &Item, count: u32, from: Place, bank: Option<u8>) -> Allowed {
    check_count(count)?;
    let own_event = matches!(item, Item::VentedCover | Item::Hose | Item::Wrench);
    let good = match from {
        Place::Tray | Place::Aside | Place::Scrap | Place::Stock | Place::Kit => true,
        Place::Aboard => bank.is_some() && !own_event,
        Place::Home | Place::Adrift | Place::Unfound => false,
    };
    ensure(good, || Refusal::BadMove {
        item: item.clone(),
        from,
        to: Place::Adrift,
    })
}

/// Where a found item may go, the usual place first. Not back home: what was lost is
/// looked at before it is fitted.
pub fn found_places(item: &Item) -> &'static [Place] {
    match item {
        tray if tray.goes_through_the_tray() => &[Place::Tray, Place::Scrap],
        Item::OldSeal | Item::SealPiece => &[Place::Scrap],
        Item::NewSeal => &[Place::Stock, Place::Scrap],
        Item::Cover | Item::Plug => &[Place::Aside, Place::Scrap],
        Item::Other(_) => &[Place::Kit, Place::Stock, Place::Scrap],
        _ => &[Place::Kit],
    }
}
