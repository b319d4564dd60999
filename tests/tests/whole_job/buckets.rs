//! Bucket followers and their shims: counted, kept by valve, and mended when swapped.

use trayzero_core::engine::{Follower, Side, ValveName};
use trayzero_core::job::{Event, JobPhase, NextStep, Stage};
use trayzero_core::parts::{Item, Place};
use trayzero_tests::bay::Bay;
use trayzero_tests::engines::{bucket_cylinder, one_cylinder};

use super::{ends_with_the_tray_at_zero, seen, work_up_to};

const INTAKE: ValveName = ValveName::new(1, Side::Intake, 1);
const EXHAUST: ValveName = ValveName::new(1, Side::Exhaust, 1);

fn swapped() -> Event {
    Event::PartsSwapped {
        item: Item::Shim,
        valve: INTAKE,
        own: EXHAUST,
    }
}

#[test]
fn every_bucket_and_shim_goes_through_the_tray_and_comes_home() {
    let mut bay = Bay::open(bucket_cylinder());
    assert_eq!(bay.at(&Item::Shim, Place::Home), 2);
    let first = work_up_to(&mut bay, Stage::SpringHeld);
    // Both followers come out before the first spring is held.
    assert_eq!(bay.at(&Item::Follower, Place::Tray), 2);
    assert_eq!(bay.at(&Item::Shim, Place::Tray), 2);
    let own = vec![(Item::Follower, 1), (Item::Shim, 1)];
    let kept = vec![(INTAKE, own.clone()), (EXHAUST, own)];
    assert_eq!(bay.job.tray_by_valve(), kept, "each in its own compartment");
    assert!(bay.job.count_list().contains(&(Item::Shim, Place::Tray)));
    // A shim that fell is missing in the compartment of its own valve.
    let fallen = bay.must(Event::PartDropped {
        item: Item::Shim,
        count: 1,
        from: Place::Tray,
        bank: None,
        valve: Some(first),
    });
    let (_, parts) = &bay.job.tray_by_valve()[0];
    assert_eq!(*parts, [(Item::Follower, 1)]);
    let found = bay.found(fallen);
    bay.must(found);
    bay.work_to_the_end();
    ends_with_the_tray_at_zero(&bay);
    assert_eq!(bay.at(&Item::Shim, Place::Home), 2);
    assert!(bay.job.tray_by_valve().is_empty());
}

#[test]
fn a_bucket_without_a_shim_has_none() {
    let mut layout = bucket_cylinder();
    layout.shims_per_valve = Some(0);
    let mut bay = Bay::open(layout);
    assert_eq!(bay.job.ledger().account(&Item::Shim).total(), 0);
    bay.work_to_the_end();
    assert_eq!(bay.at(&Item::Follower, Place::Home), 2);
}

#[test]
fn an_engine_without_followers_counts_none() {
    let mut layout = one_cylinder();
    layout.follower = Follower::None;
    let mut bay = Bay::open(layout);
    assert_eq!(bay.job.ledger().account(&Item::Follower).total(), 0);
    bay.work_to_the_end();
    ends_with_the_tray_at_zero(&bay);
}

#[test]
fn a_swap_seen_at_fitting_keeps_both_valves_from_verified_until_it_is_mended() {
    let mut bay = Bay::open(bucket_cylinder());
    let valve = work_up_to(&mut bay, Stage::Verified);
    bay.must(swapped());
    for name in [INTAKE, EXHAUST] {
        if bay.job.valve(name).unwrap().next_stage() == Some(Stage::Verified) {
            let refusal = bay.refused(seen(name, Stage::Verified, 0, 0));
            assert_eq!(refusal.code(), "R307", "{refusal:?}");
        }
    }
    assert_eq!(valve.cylinder, 1);
    bay.work_until(|_, step| matches!(step, NextStep::MendSwap { .. }));
    bay.work_to_the_end();
    ends_with_the_tray_at_zero(&bay);
}

#[test]
fn a_swap_found_after_both_were_verified_takes_them_off_again() {
    let mut bay = Bay::open(bucket_cylinder());
    bay.work_until(|_, step| matches!(step, NextStep::Gate { .. }));
    let event = bay.must(swapped());
    assert!(bay.job.gate(0).iter().any(|h| h.code() == "R307"));
    let refusal = bay.refused(Event::SwapMended { swapped: event });
    assert_eq!(
        refusal.code(),
        "R404",
        "they are on their valves: {refusal:?}"
    );
    let step = bay.job.next_step(None);
    assert_eq!(step, NextStep::MendSwap { swapped: event });
    bay.take_step(&step);
    assert_eq!(bay.job.verified_count(), 0, "both are looked at again");
    assert_eq!(bay.at(&Item::Shim, Place::Tray), 2);
    bay.work_to_the_end();
    ends_with_the_tray_at_zero(&bay);
}

#[test]
fn a_swap_found_under_a_closed_cover_opens_it() {
    let mut bay = Bay::open(bucket_cylinder());
    bay.work_until(|job, _| job.is_bank_closed(0));
    bay.must(swapped());
    let by = bay.scribe.sign("Ilse Brandt");
    assert_eq!(bay.refused(Event::JobClosed { by }).code(), "R307");
    assert_eq!(bay.job.next_step(None), NextStep::LiftCover { bank: 0 });
    bay.work_to_the_end();
    assert_eq!(bay.job.phase(), JobPhase::Closed);
}

#[test]
fn only_what_belongs_to_one_valve_can_be_swapped() {
    let mut bay = Bay::open(one_cylinder());
    assert_eq!(bay.refused(swapped()).code(), "R410");
    let mut bay = Bay::open(bucket_cylinder());
    let same = Event::PartsSwapped {
        item: Item::Follower,
        valve: INTAKE,
        own: INTAKE,
    };
    assert_eq!(bay.refused(same).code(), "R410");
    let told = bay.must(swapped());
    bay.take_back(told).unwrap();
    assert_eq!(bay.job.open_swaps().count(), 0);
}
