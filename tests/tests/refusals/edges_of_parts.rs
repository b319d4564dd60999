//! The edges of the rules about parts and kit: what comes from the store, what goes aboard,
//! what is replaced, where what fell may go, and what lies swapped.

use trayzero_core::engine::{Follower, KitLine, Layout, Side, ValveName};
use trayzero_core::job::{Event, NextStep, SearchPlace, Stage, found_places};
use trayzero_core::parts::{Item, Place};
use trayzero_tests::bay::{Bay, FIRST, SECOND, signed};
use trayzero_tests::engines::{bucket_cylinder, small_engine};
use uuid::Uuid;

use super::edges::{TAKEN, edges};
use super::events::*;
use super::leads::*;

const EXHAUST: ValveName = ValveName::new(1, Side::Exhaust, 1);

fn gasket() -> Item {
    Item::Other("cover gasket".into())
}

fn issued(item: Item, count: u32) -> Event {
    Event::StockIssued { item, count }
}

#[test]
fn the_store_gives_new_parts_and_takes_back_what_it_gave() {
    let rows = [
        (issued(Item::Lock, 1), TAKEN),
        (issued(Item::Shim, 1), TAKEN),
        (issued(Item::Cover, 1), TAKEN),
        (issued(Item::Plug, 1), TAKEN),
        (issued(Item::NewSeal, 9_999), TAKEN),
        (issued(gasket(), 1), TAKEN),
        (issued(Item::OldSeal, 1), "R403"),
        (issued(Item::SealPiece, 1), "R403"),
        (issued(Item::Rag, 1), "R403"),
        (issued(Item::Lock, 0), "R402"),
        (issued(Item::Lock, 10_000), "R402"),
    ];
    edges(&opened(), rows);

    let stocked = [Item::Lock, Item::Plug, Item::NewSeal, gasket()].map(|item| issued(item, 2));
    let back = |item, count| Event::StockReturned { item, count };
    let taken = |item, count| Event::TakenFromStock { item, count };
    let used = |item, count| Event::PartUsed { item, count };
    let rows = [
        (back(Item::NewSeal, 2), TAKEN),
        (back(Item::NewSeal, 3), "R401"),
        (back(Item::NewSeal, 0), "R402"),
        (back(Item::OldSeal, 1), "R403"),
        (taken(Item::Lock, 2), TAKEN),
        (taken(Item::Lock, 3), "R401"),
        (taken(Item::Lock, 0), "R402"),
        (taken(Item::Plug, 1), TAKEN),
        (taken(Item::NewSeal, 1), "R403"),
        (taken(gasket(), 1), "R403"),
        (used(gasket(), 2), TAKEN),
        (used(gasket(), 0), "R402"),
        (used(Item::Lock, 1), "R403"),
    ];
    edges(&with(opened(), stocked), rows);
}

#[test]
fn a_job_holds_no_more_of_a_kind_than_it_can_add_up() {
    let mut bay = opened();
    // Four are home, and so 999,999 are there after this.
    for _ in 0..100 {
        bay.must(issued(Item::Lock, 9_999));
    }
    let rows = [
        (issued(Item::Lock, 95), TAKEN),
        (issued(Item::Lock, 96), "R402"),
    ];
    edges(&bay, rows);
    let kit = |count| Event::KitCounted {
        item: Item::Rag,
        count,
    };
    let rows = [
        (kit(9_999), TAKEN),
        (kit(10_000), "R402"),
        (
            Event::KitCounted {
                item: Item::Lock,
                count: 1,
            },
            "R409",
        ),
    ];
    edges(&bay, rows);
}

#[test]
fn what_has_no_event_of_its_own_goes_aboard_by_the_pieces() {
    let bank = 0;
    let aboard = |item, count| Event::PutAboard { item, bank, count };
    let off = |item, count| Event::TakenOff { item, bank, count };
    let rag = Event::KitCounted {
        item: Item::Rag,
        count: 2,
    };
    let bay = with(before_locks_out(), [rag, aboard(Item::Rag, 1)]);
    let mut rows = vec![
        (aboard(Item::Rag, 1), TAKEN),
        (aboard(Item::Rag, 2), "R401"),
        (aboard(Item::Rag, 0), "R402"),
        (off(Item::Rag, 1), TAKEN),
        (off(Item::Rag, 2), "R401"),
        (off(Item::Rag, 0), "R402"),
        (off(Item::Plate, 1), "R401"),
    ];
    for put in [&aboard as &dyn Fn(Item, u32) -> Event, &off] {
        rows.push((put(Item::Lock, 1), "R409"));
        for item in [Item::Hose, Item::VentedCover, Item::Wrench] {
            rows.push((put(item, 1), "R405"));
        }
    }
    edges(&bay, rows);
}

#[test]
fn a_part_falls_from_where_it_lies_loose() {
    let fell = |item, count, from, bank| Event::PartDropped {
        item,
        count,
        from,
        bank,
        valve: None,
    };
    let of = |valve| Event::PartDropped {
        item: Item::Rag,
        count: 1,
        from: Place::Kit,
        bank: None,
        valve: Some(valve),
    };
    let rag = Event::KitCounted {
        item: Item::Rag,
        count: 1,
    };
    let rows = [
        (fell(Item::Stopper, 1, Place::Aboard, Some(0)), TAKEN),
        (fell(Item::Stopper, 1, Place::Aboard, None), "R405"),
        (fell(Item::Stopper, 1, Place::Aboard, Some(9)), "R111"),
        (fell(Item::Hose, 1, Place::Aboard, Some(0)), "R405"),
        (fell(Item::Lock, 1, Place::Home, None), "R405"),
        (fell(Item::Lock, 1, Place::Adrift, None), "R405"),
        (fell(Item::Lock, 1, Place::Unfound, None), "R405"),
        (fell(Item::Lock, 2, Place::Tray, None), TAKEN),
        (fell(Item::Lock, 3, Place::Tray, None), "R401"),
        (fell(Item::Lock, 0, Place::Tray, None), "R402"),
        (fell(Item::Plug, 1, Place::Aside, None), TAKEN),
        (fell(Item::NewSeal, 1, Place::Stock, None), TAKEN),
        (of(INTAKE), TAKEN),
        (of(ValveName::new(1, Side::Intake, 9)), "R110"),
    ];
    edges(&with(unlocked(), [rag]), rows);
}

#[test]
fn a_found_part_goes_where_its_kind_is_looked_at() {
    use Place::{Aside, Kit, Scrap, Stock, Tray};
    let rows: [(Item, &[Place]); 13] = [
        (Item::Lock, &[Tray, Scrap]),
        (Item::Retainer, &[Tray, Scrap]),
        (Item::Spring, &[Tray, Scrap]),
        (Item::Follower, &[Tray, Scrap]),
        (Item::Shim, &[Tray, Scrap]),
        (Item::OldSeal, &[Scrap]),
        (Item::SealPiece, &[Scrap]),
        (Item::NewSeal, &[Stock, Scrap]),
        (Item::Cover, &[Aside, Scrap]),
        (Item::Plug, &[Aside, Scrap]),
        (gasket(), &[Kit, Stock, Scrap]),
        (Item::Stopper, &[Kit]),
        (Item::Wrench, &[Kit]),
    ];
    for (item, places) in rows {
        assert_eq!(found_places(&item), places, "{item}");
    }
}

#[test]
fn a_search_is_everywhere_and_by_two_who_both_signed() {
    let bay = with(at_the_gate(), [drop_stopper()]);
    let dropped = last(&bay);
    let searched = |second: &str, entering, without: Option<SearchPlace>| Event::SearchSigned {
        dropped,
        first: signed(FIRST, 70),
        second: signed(second, entering),
        places: SearchPlace::LIST
            .into_iter()
            .filter(|p| Some(*p) != without)
            .collect(),
    };
    let sump = Some(SearchPlace::Sump);
    let rows = [
        (searched(SECOND, 71, None), TAKEN),
        (searched(SECOND, 71, sump), "R408"),
        (searched(FIRST, 71, None), "R117"),
        (searched(SECOND, 70, None), "R116"),
    ];
    edges(&bay, rows);
    let bay = with(bay, [searched(SECOND, 71, None)]);
    let again = Event::PartFound {
        dropped,
        found_at: SearchPlace::Sump,
        to: Place::Kit,
    };
    edges(&bay, [(again, "R407")]);
}

#[test]
fn no_more_is_replaced_than_a_valve_has_and_only_what_is_off_it() {
    let replaced = |item, count| Event::PartReplaced {
        valve: INTAKE,
        item,
        count,
    };
    let kinds = [
        Item::Lock,
        Item::Retainer,
        Item::Spring,
        Item::Follower,
        Item::Shim,
        Item::NewSeal,
    ];
    let store = || kinds.clone().map(|item| issued(item, 3));
    // Of each kind the most, and the code where it may not be replaced at all.
    let check = |bay: Bay, rows: &[(Item, u32, &'static str)]| {
        let bay = with(bay, store());
        for (item, most, code) in rows {
            let rows = [
                (replaced(item.clone(), *most), *code),
                (
                    replaced(item.clone(), most + 1),
                    if *code == TAKEN { "R402" } else { *code },
                ),
            ];
            edges(&bay, rows);
        }
        edges(&bay, [(replaced(Item::Lock, 0), "R402")]);
    };
    let bucket = |stage| before(Bay::open(bucket_cylinder()), stage);
    check(
        bucket(Stage::SealFitted),
        &[
            (Item::Lock, 2, TAKEN),
            (Item::Retainer, 1, TAKEN),
            (Item::Spring, 1, TAKEN),
            (Item::Follower, 1, TAKEN),
            (Item::Shim, 1, TAKEN),
            (Item::NewSeal, 1, "R404"),
            (Item::OldSeal, 1, "R403"),
        ],
    );
    check(bucket(Stage::LocksIn), &[(Item::NewSeal, 1, TAKEN)]);
    check(
        bucket(Stage::Positioned),
        &[
            (Item::Lock, 2, "R404"),
            (Item::Follower, 1, "R404"),
            (Item::Shim, 1, "R404"),
        ],
    );
    // A finger lies on no shim.
    check(
        unlocked(),
        &[(Item::Follower, 1, TAKEN), (Item::Shim, 0, "R402")],
    );
}

#[test]
fn what_is_put_away_goes_to_scrap_or_to_stock() {
    let away = |to, count| Event::PutAway {
        item: Item::Lock,
        count,
        to,
    };
    let rows = [
        (away(Place::Scrap, 2), TAKEN),
        (away(Place::Stock, 1), TAKEN),
        (away(Place::Scrap, 3), "R401"),
        (away(Place::Scrap, 0), "R402"),
        (away(Place::Kit, 1), "R405"),
        (away(Place::Tray, 1), "R405"),
    ];
    edges(&unlocked(), rows);
}

#[test]
fn buckets_and_their_shims_are_swapped_and_nothing_else() {
    let swapped = |item, valve, own| Event::PartsSwapped { item, valve, own };
    let (follower, shim) = (
        swapped(Item::Follower, INTAKE, EXHAUST),
        swapped(Item::Shim, INTAKE, EXHAUST),
    );
    let nowhere = ValveName::new(1, Side::Intake, 9);
    let mut without = bucket_cylinder();
    without.shims_per_valve = Some(0);
    assert_eq!(without.follower, Follower::Bucket);
    let rows = [
        (follower.clone(), TAKEN),
        (shim.clone(), TAKEN),
        (swapped(Item::Lock, INTAKE, EXHAUST), "R410"),
        (swapped(Item::Shim, INTAKE, INTAKE), "R410"),
        (swapped(Item::Shim, nowhere, INTAKE), "R110"),
        (swapped(Item::Shim, INTAKE, nowhere), "R110"),
    ];
    edges(&Bay::open(bucket_cylinder()), rows);
    let rows = [(follower.clone(), TAKEN), (shim.clone(), "R410")];
    edges(&Bay::open(without), rows);
    edges(&opened(), [(follower, "R410"), (shim, "R410")]);
}

#[test]
fn a_swap_keeps_both_its_valves_from_verified_and_no_third_one() {
    let mut layout = small_engine(&[&[1, 2]], false);
    layout.follower = Follower::Bucket;
    let bay = before(Bay::open(layout), Stage::Verified);
    let other = ValveName::new(2, Side::Intake, 1);
    let swaps = [(EXHAUST, other), (other, EXHAUST)];
    for (valve, own) in swaps {
        let item = Item::Shim;
        let bay = with(bay.clone(), [Event::PartsSwapped { item, valve, own }]);
        let rows = [
            (seen(INTAKE, Stage::Verified, 0), TAKEN),
            (seen(EXHAUST, Stage::Verified, 0), "R307"),
        ];
        edges(&bay, rows);
        let mended = |swapped: Uuid| Event::SwapMended { swapped };
        let swap = last(&bay);
        edges(&bay, [(mended(swap), TAKEN), (mended(NOWHERE), "R411")]);
        let mut bay = with(bay, [mended(swap)]);
        let verified = seen(EXHAUST, Stage::Verified, 0);
        edges(&bay, [(mended(swap), "R411"), (verified.clone(), TAKEN)]);
        bay.take_back(last(&bay)).unwrap();
        edges(&bay, [(verified, "R307")]);
    }
}

/// A small engine with so many stoppers for a bank by its name, or for none.
fn stoppered(banks: &[&[u8]], stoppers: &[(Option<&str>, u32)]) -> Layout {
    let mut layout = small_engine(banks, false);
    let line = |item, (bank, count): &(Option<&str>, u32)| KitLine {
        item,
        count: *count,
        bank: bank.map(str::to_owned),
    };
    let stoppers = stoppers.iter().map(|s| line(Item::Stopper, s));
    layout.kit.extend(stoppers);
    layout.kit.push(line(Item::Rag, &(Some("A"), 5)));
    layout
}

#[test]
fn each_bank_has_the_stoppers_that_its_layout_lists_for_it() {
    let rows = [
        (
            stoppered(&[&[1], &[2]], &[(Some("A"), 2), (Some("B"), 1)]),
            vec![(0, 2), (1, 1)],
        ),
        (stoppered(&[&[1], &[2]], &[(None, 2)]), vec![]),
        (stoppered(&[&[1]], &[(None, 2)]), vec![(0, 2)]),
    ];
    for (layout, wanted) in rows {
        let mut bay = Bay::open(layout);
        let mut asked = Vec::new();
        bay.work_until(|_, step| {
            if let NextStep::StoppersIn { bank, count } = step {
                asked.push((*bank, *count));
            }
            matches!(step, NextStep::SeeStage { .. })
        });
        assert_eq!(asked, wanted);
    }
    // One more than is wanted may come off over an unlocked valve.
    let bay = before(
        Bay::open(stoppered(&[&[1]], &[(None, 2)])),
        Stage::SealFitted,
    );
    let (item, count, bank) = (Item::Stopper, 1, 0);
    let one_more = [
        Event::KitCounted {
            item: item.clone(),
            count,
        },
        Event::PutAboard { item, bank, count },
        Event::PutAboard {
            item: Item::Rag,
            bank,
            count,
        },
    ];
    let bay = with(bay, one_more);
    let off = |item, count| Event::TakenOff { item, bank, count };
    let rows = [
        (off(Item::Stopper, 1), TAKEN),
        (off(Item::Stopper, 2), "R221"),
        (off(Item::Rag, 1), TAKEN),
    ];
    edges(&bay, rows);
}
