//! What may be answered where two tablets disagree, how many people it takes, and what
//! becomes of the counts.

use trayzero_core::engine::{Layout, Side, ValveName};
use trayzero_core::job::{CrankAt, Event, NextStep, Sight, Stage};
use trayzero_core::parts::{Item, Place};
use trayzero_tests::bay::{Bay, FIRST, FOREMAN};
use trayzero_tests::engines::{one_cylinder, two_cylinders};
use uuid::Uuid;

use super::elsewhere::elsewhere;
use super::{at_the_gate, before, close_bank, last_of};

const INTAKE: ValveName = ValveName::new(1, Side::Intake, 1);

fn at(cylinder: u8) -> CrankAt {
    CrankAt {
        cylinder,
        offset_deg: 0.0,
    }
}

fn seen(stage: Stage, locks_dropped: u8) -> Event {
    Event::StageSeen {
        valve: INTAKE,
        stage,
        locks_dropped,
        seals_spoiled: 0,
    }
}

fn closed() -> Bay {
    let mut bay = Bay::open(one_cylinder());
    bay.work_until(|job, _| job.is_bank_closed(0));
    bay
}

/// What may be seen of the last conflict.
fn answers(bay: &Bay) -> Vec<Vec<Sight>> {
    let conflict = bay.job.open_conflicts().last().unwrap();
    bay.job.answers(conflict)
}

/// Two people answer the last conflict by the answer of that number.
fn answer(bay: &mut Bay, number: usize) {
    let conflict = bay.job.open_conflicts().last().unwrap().entry.id;
    let seen = answers(bay).remove(number);
    let resolved = Event::ConflictResolved {
        conflict,
        by: bay.scribe.sign(FIRST),
        note: String::new(),
        seen,
        second: Some(bay.scribe.sign(FOREMAN)),
    };
    let entry = bay.scribe.entry(resolved);
    bay.job.apply(&entry).unwrap();
}

#[test]
fn two_people_look_where_something_is_lost_or_a_cover_is_on_or_was() {
    let rag = Event::PutAboard {
        item: Item::Rag,
        bank: 0,
        count: 1,
    };
    let hose = || Event::HoseOut { cylinder: 1 };
    let under_way = || before(one_cylinder(), Stage::LocksOut);
    let search = under_way().searched(Uuid::from_u128(9));
    let close = close_bank(&mut under_way(), 0);
    let rows = vec![
        (under_way(), hose(), false),
        (under_way(), Event::WrenchOff {}, false),
        // Kit that nobody else knows of, and more locks than a valve has.
        (under_way(), rag, true),
        (under_way(), seen(Stage::LocksOut, 3), true),
        (under_way(), close, true),
        (under_way(), search, true),
        // The cover is off again for what was told of a valve, and on for the hose.
        (closed(), seen(Stage::SpringHeld, 0), true),
        (closed(), hose(), true),
    ];
    for (mut bay, event, by_two) in rows {
        elsewhere(&mut bay, event.clone());
        let conflict = bay.job.open_conflicts().last().unwrap();
        let needed = bay.job.resolution_needs_two(conflict);
        assert_eq!(needed, by_two, "{event:?}");
    }
}

/// The crank stands at the first cylinder, or at the second one after it.
fn turned_to(last: u8, layout: Layout) -> Bay {
    let mut bay = Bay::open(layout);
    bay.work_until(|_, step| matches!(step, NextStep::Turn { .. }));
    bay.must(Event::WrenchOn {});
    for cylinder in 1..=last {
        let (from, to) = (bay.job.crank(), at(cylinder));
        let turn_deg = bay.job.turn_to(to);
        bay.must(Event::CrankTurned { from, to, turn_deg });
    }
    bay
}

#[test]
fn the_crank_is_where_the_state_has_it_where_it_was_told_or_at_neither() {
    let crank = |at| vec![Sight::Crank { at }];
    let turn = |to| Event::CrankTurned {
        from: Some(at(2)),
        to,
        turn_deg: 0.0,
    };
    let off_its_top = CrankAt {
        offset_deg: 5.0,
        ..at(2)
    };
    let mut rows = vec![
        (
            turned_to(1, two_cylinders()),
            turn(at(2)),
            vec![Some(at(2)), None],
        ),
        // No work is done there, and there is no such cylinder.
        (turned_to(1, two_cylinders()), turn(at(9)), vec![None]),
        (turned_to(1, two_cylinders()), turn(off_its_top), vec![None]),
    ];
    // The first turn is taken back there: then the crank stood at no known place.
    let bay = turned_to(2, two_cylinders());
    let first = last_of(&bay, |e| matches!(e, Event::CrankTurned { from: None, .. }));
    rows.push((bay, Event::taken_back(first), vec![None]));
    for (mut bay, told, more) in rows {
        let shown = bay.job.crank();
        elsewhere(&mut bay, told.clone());
        let all = [shown].into_iter().chain(more);
        assert_eq!(
            answers(&bay),
            all.map(crank).collect::<Vec<_>>(),
            "{told:?}"
        );
    }
}

#[test]
fn no_turn_is_taken_back_from_where_the_crank_was_not_seen() {
    let mut bay = turned_to(1, two_cylinders());
    let turned = last_of(&bay, |e| matches!(e, Event::CrankTurned { .. }));
    let told = Event::CrankTurned {
        from: Some(at(2)),
        to: at(1),
        turn_deg: 0.0,
    };
    elsewhere(&mut bay, told);
    answer(&mut bay, 1);
    assert_eq!(bay.job.crank(), None, "it stood at neither place");
    let back = bay.scribe.entry(Event::taken_back(turned));
    assert_eq!(bay.job.apply(&back).unwrap_err().code(), "R114");
}

#[test]
fn what_was_refused_may_be_seen_once_the_rules_let_it_be() {
    let wrench = |on| vec![Sight::Wrench { on }];
    let mut bay = before(one_cylinder(), Stage::LocksOut);
    elsewhere(&mut bay, Event::WrenchOff {});
    assert_eq!(answers(&bay), [wrench(false)]);

    // Air is taken back under a pressed spring, which is then taken back here.
    let mut bay = before(one_cylinder(), Stage::LocksOut);
    let air_on = last_of(&bay, |e| matches!(e, Event::AirOn { .. }));
    let pressed = last_of(&bay, |e| *e == seen(Stage::SpringHeld, 0));
    elsewhere(&mut bay, Event::taken_back(air_on));
    let air = |bar| vec![Sight::Air { cylinder: 1, bar }];
    assert_eq!(answers(&bay), [air(Some(4.0))]);
    bay.take_back(pressed).unwrap();
    assert_eq!(answers(&bay), [air(Some(4.0)), air(None)]);

    // A cover goes on at its own gate alone.
    let mut bay = at_the_gate(one_cylinder());
    let close = close_bank(&mut bay, 0);
    elsewhere(&mut bay, close);
    bay.count_twice();
    let off = Sight::Cover { bank: 0, off: true };
    assert_eq!(answers(&bay), [vec![off]]);
}

#[test]
fn a_loss_that_was_told_and_found_stays_found() {
    let mut bay = before(one_cylinder(), Stage::SealFitted);
    let lost = Event::PartDropped {
        item: Item::Plug,
        count: 1,
        from: Place::Scrap,
        bank: None,
        valve: None,
    };
    elsewhere(&mut bay, lost.clone());
    let dropped = bay.job.drops()[0].id;
    let missing = |bay: &Bay| {
        let answers = bay.job.answers(&bay.job.conflicts()[0]).concat();
        let missing = answers.into_iter().filter_map(|sight| match sight {
            Sight::Missing { dropped: of, count } if of == dropped => Some(count),
            _ => None,
        });
        missing.collect::<Vec<_>>()
    };
    assert_eq!(missing(&bay), [1, 0]);
    // Another one is lost, so that one is adrift in any case.
    elsewhere(&mut bay, lost);
    let found = bay.found(dropped);
    let entry = bay.scribe.entry(found);
    bay.job.apply(&entry).unwrap();
    assert_eq!(missing(&bay), [0]);
    assert_eq!(bay.job.adrift(), 1);
}

#[test]
fn what_two_have_counted_says_nothing_once_somebody_has_looked() {
    for count_again in [false, true] {
        let mut bay = at_the_gate(one_cylinder());
        elsewhere(&mut bay, Event::WrenchOff {});
        bay.count_twice();
        assert!(bay.job.counts_agree());
        let rag = Event::KitCounted {
            item: Item::Rag,
            count: 1,
        };
        bay.must(rag);
        if count_again {
            bay.count_twice();
        }
        answer(&mut bay, 0);
        assert!(!bay.job.counts_agree());
    }
}
