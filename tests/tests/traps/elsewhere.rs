//! What another tablet has told and cannot stand here.

use trayzero_core::engine::{Side, ValveName};
use trayzero_core::job::{CrankAt, Event, Finding, FindingKind, JobPhase, Sight, Stage};
use trayzero_core::parts::{Item, Place};
use trayzero_tests::bay::{Bay, SECOND};
use trayzero_tests::engines::{one_cylinder, two_cylinders};
use trayzero_tests::entries::Scribe;

use super::{before, close_bank, drop_from_kit, last_of};

/// Another tablet has told what cannot stand here.
pub fn elsewhere(bay: &mut Bay, event: Event) {
    // Each from a tablet of its own.
    let mut scribe = Scribe::new(2 + bay.job.conflicts().len() as u16, SECOND);
    scribe.at_ms = bay.scribe.at_ms;
    assert_eq!(bay.job.fold(&scribe.entry(event)), None);
    assert_eq!(bay.job.broken_invariant(), None);
}

#[test]
fn nobody_sees_the_crank_elsewhere_while_air_is_on() {
    let mut bay = before(two_cylinders(), Stage::SpringHeld);
    let at = bay.job.crank();
    elsewhere(
        &mut bay,
        Event::CrankTurned {
            from: at,
            to: CrankAt {
                cylinder: 3 - at.unwrap().cylinder,
                offset_deg: 0.0,
            },
            turn_deg: 360.0,
        },
    );
    let conflict = bay.job.open_conflicts().next().unwrap();
    let seen = bay.job.answers(conflict).concat();
    let crank = seen.iter().filter(|s| matches!(s, Sight::Crank { .. }));
    assert_eq!(crank.collect::<Vec<_>>(), [&Sight::Crank { at }]);
}

#[test]
fn a_cover_is_off_for_kit_that_went_under_it_elsewhere_and_for_nothing_else() {
    for (count, aboard) in [(0, false), (1, true)] {
        let mut bay = Bay::open(one_cylinder());
        bay.work_until(|job, _| job.ledger().at(&Item::Stopper, Place::Kit) > 0);
        let put = Event::PutAboard {
            item: Item::Stopper,
            bank: 0,
            count,
        };
        elsewhere(&mut bay, put);
        assert_eq!(bay.job.aboard() > 0, aboard);
        assert_eq!(bay.job.bank(0).unwrap().cover_off, aboard);
    }
}

#[test]
fn a_bank_that_is_closed_elsewhere_too_is_open_for_what_is_adrift_alone() {
    let mut bay = Bay::open(one_cylinder());
    bay.work_until(|job, _| job.is_bank_closed(0));
    let close = close_bank(&mut bay, 0);
    elsewhere(&mut bay, close);
    assert!(bay.job.is_bank_closed(0), "nothing is missing");
    drop_from_kit(&mut bay, Item::Stopper);
    let close = close_bank(&mut bay, 0);
    elsewhere(&mut bay, close);
    assert!(!bay.job.is_bank_closed(0), "it may lie under the cover");
}

/// What is told, how many are adrift then, how many aboard, and how many locks are home.
type Lost = (Event, u32, u32, u32);

#[test]
fn a_loss_that_is_told_elsewhere_is_booked_once_and_from_where_it_was() {
    let dropped = |item, count, from, bank| Event::PartDropped {
        item,
        count,
        from,
        bank,
        valve: None,
    };
    let put = |item, bank| Event::PutAboard {
        item,
        bank,
        count: 1,
    };
    let torn = Event::FindingNoted(Box::new(Finding {
        cylinder: 1,
        valve: Some(ValveName::new(9, Side::Intake, 1)),
        kind: FindingKind::SealTorn { missing: 1 },
        text: String::new(),
    }));
    let out = |locks_dropped| Event::StageSeen {
        valve: ValveName::new(1, Side::Intake, 1),
        stage: Stage::LocksOut,
        locks_dropped,
        seals_spoiled: 0,
    };
    let rows: [Lost; 9] = [
        // One of the two was aboard; what else is missing was never counted.
        (dropped(Item::Stopper, 2, Place::Aboard, Some(0)), 2, 0, 4),
        (dropped(Item::Rag, 1, Place::Aboard, Some(0)), 1, 1, 4),
        (dropped(Item::Rag, 1, Place::Aboard, Some(9)), 1, 1, 4),
        // What is fitted is where the stages show it.
        (dropped(Item::Lock, 1, Place::Home, None), 1, 1, 4),
        (torn, 1, 1, 4),
        // No valve has so many locks, no lock goes aboard, and there is no such bank.
        (out(3), 0, 1, 4),
        (put(Item::Lock, 0), 0, 1, 4),
        (put(Item::Stopper, 1), 0, 1, 4),
        (put(Item::Rag, 0), 0, 2, 4),
    ];
    for (event, adrift, aboard, locks_home) in rows {
        let mut bay = before(one_cylinder(), Stage::LocksOut);
        elsewhere(&mut bay, event.clone());
        let under_the_cover = bay.job.bank(0).unwrap().aboard.values().sum::<u32>();
        assert_eq!(under_the_cover, aboard, "{event:?}");
        assert_eq!(bay.job.adrift(), adrift, "{event:?}");
        assert_eq!(bay.at(&Item::Lock, Place::Home), locks_home, "{event:?}");
    }
}

#[test]
fn a_job_that_is_over_goes_on_for_what_may_hurt_somebody_and_for_nothing_else() {
    let mut bay = Bay::open(one_cylinder());
    bay.work_to_the_end();
    let seen = |stage| Event::StageSeen {
        valve: ValveName::new(1, Side::Intake, 1),
        stage,
        locks_dropped: 0,
        seals_spoiled: 0,
    };
    let taken_back = |test: fn(&Event) -> bool| Event::taken_back(last_of(&bay, test));
    // What is told, whether the job goes on then, and whether the cover is off.
    let rows = [
        (Event::HoseOut { cylinder: 1 }, false, false),
        (seen(Stage::Verified), false, false),
        (seen(Stage::LocksIn), true, true),
        (Event::HoseIn { cylinder: 1 }, true, false),
        (Event::WrenchOn {}, true, false),
        (
            taken_back(|e| matches!(e, Event::StepSeen { .. })),
            false,
            false,
        ),
        (
            taken_back(|e| matches!(e, Event::AirOff { .. })),
            true,
            false,
        ),
        (
            taken_back(|e| matches!(e, Event::StageSeen { .. })),
            true,
            true,
        ),
        (
            taken_back(|e| matches!(e, Event::BankClosed { .. })),
            true,
            true,
        ),
        (
            taken_back(|e| matches!(e, Event::JobClosed { .. })),
            true,
            false,
        ),
        (
            taken_back(|e| matches!(e, Event::JobOpened(_))),
            false,
            false,
        ),
    ];
    for (event, goes_on, cover_off) in rows {
        let before = bay.job.clone();
        elsewhere(&mut bay, event.clone());
        let job = std::mem::replace(&mut bay.job, before);
        assert_eq!(job.phase() == JobPhase::Open, goes_on, "{event:?}");
        assert_eq!(job.bank(0).unwrap().cover_off, cover_off, "{event:?}");
        assert_eq!(job.is_bank_closed(0), !cover_off, "{event:?}");
    }
}

#[test]
fn a_find_that_was_none_takes_back_what_has_not_moved_on() {
    let mut bay = before(one_cylinder(), Stage::SealFitted);
    let dropped = bay.must(Event::PartDropped {
        item: Item::Lock,
        count: 2,
        from: Place::Tray,
        bank: None,
        valve: None,
    });
    let found = bay.found(dropped);
    let found = bay.must(found);
    bay.must(Event::PutAway {
        item: Item::Lock,
        count: 1,
        to: Place::Scrap,
    });
    elsewhere(&mut bay, Event::taken_back(found));
    let locks = [Place::Tray, Place::Scrap, Place::Adrift].map(|at| bay.at(&Item::Lock, at));
    assert_eq!(locks, [0, 1, 2]);
}

#[test]
fn what_was_told_stands_against_the_last_that_moved_the_same_kind() {
    let mut bay = before(one_cylinder(), Stage::LocksOut);
    let lost = Event::PartDropped {
        item: Item::Follower,
        count: 1,
        from: Place::Stock,
        bank: None,
        valve: None,
    };
    elsewhere(&mut bay, lost);
    let follower_out = last_of(
        &bay,
        |e| matches!(e, Event::StageSeen { stage, .. } if *stage == Stage::Positioned),
    );
    assert_eq!(bay.job.conflicts()[0].against, Some(follower_out));
}
