//! Ways around the rules that a tired or hurried person finds: each is shut, and each
//! true correction stays possible.
#![allow(clippy::unwrap_used)]

use trayzero_core::engine::Layout;
use trayzero_core::job::{
    CountLine, CrankAt, Event, HoldKind, JobPhase, NextStep, Reading, Refusal, Seal, SearchPlace,
    Stage,
};
use trayzero_core::parts::{Item, Place};
use trayzero_core::phases::JobClock;
use trayzero_tests::bay::{Bay, FIRST, FOREMAN, SECOND, true_lines};
use trayzero_tests::engines::{one_cylinder, two_banks, two_cylinders, with_offsets};
use uuid::Uuid;

#[path = "traps/answers.rs"]
mod answers;
#[path = "traps/counts.rs"]
mod counts;
#[path = "traps/disputes.rs"]
mod disputes;
#[path = "traps/elsewhere.rs"]
mod elsewhere;

fn before(layout: Layout, wanted: Stage) -> Bay {
    let mut bay = Bay::open(layout);
    bay.work_until(|_, step| matches!(step, NextStep::SeeStage { stage, .. } if *stage == wanted));
    bay
}

fn at_the_gate(layout: Layout) -> Bay {
    let mut bay = Bay::open(layout);
    bay.work_until(|_, step| matches!(step, NextStep::Gate { .. }));
    bay
}

fn last_of(bay: &Bay, test: impl Fn(&Event) -> bool) -> Uuid {
    let entry = bay.entries.iter().rev().find(|e| test(&e.event));
    entry.unwrap().id
}

fn drop_from_kit(bay: &mut Bay, item: Item) {
    bay.must(Event::PartDropped {
        item,
        count: 1,
        from: Place::Kit,
        bank: None,
        valve: None,
    });
}

fn close_bank(bay: &mut Bay, bank: u8) -> Event {
    let by = bay.scribe.sign(FIRST);
    Event::BankClosed { bank, by }
}

fn code_of_taking_back(bay: &mut Bay, event: Uuid) -> &'static str {
    bay.take_back(event).unwrap_err().code()
}

#[test]
fn a_cord_left_in_a_cylinder_keeps_its_plug_and_its_cover_off() {
    let mut bay = before(one_cylinder(), Stage::SpringHeld);
    bay.must(Event::HoldDeclared {
        cylinder: 1,
        hold: HoldKind::Cord,
    });
    bay.work_until(|_, step| matches!(step, NextStep::ReleaseHold { .. }));
    let out = [
        Event::HoseOut { cylinder: 1 },
        Event::TakenOff {
            item: Item::Stopper,
            bank: 0,
            count: 1,
        },
    ];
    for event in out {
        bay.must(event);
    }
    assert_eq!(bay.refused(Event::PlugIn { cylinder: 1 }).code(), "R211");
    let gate: Vec<&str> = bay.job.gate(0).iter().map(Refusal::code).collect();
    assert!(gate.contains(&"R211"), "{gate:?}");
    bay.must(Event::HoldReleased {
        cylinder: 1,
        hold: HoldKind::Cord,
    });
    bay.work_to_the_end();
}

#[test]
fn a_piston_hold_on_a_bank_ready_to_close_keeps_the_cover_off() {
    let mut bay = at_the_gate(one_cylinder());
    bay.must(Event::HoldDeclared {
        cylinder: 1,
        hold: HoldKind::Piston,
    });
    bay.count_twice();
    let close = close_bank(&mut bay, 0);
    assert_eq!(bay.refused(close).code(), "R211");
}

#[test]
fn no_cord_goes_through_a_plug() {
    let mut bay = at_the_gate(one_cylinder());
    let cord = Event::HoldDeclared {
        cylinder: 1,
        hold: HoldKind::Cord,
    };
    assert_eq!(bay.refused(cord).code(), "R203");
}

#[test]
fn lifting_a_cover_is_not_taken_back_once_the_bank_was_worked_on() {
    let mut bay = before(one_cylinder(), Stage::SealFitted);
    let lifted = last_of(&bay, |e| matches!(e, Event::CoverOff { .. }));
    assert_eq!(code_of_taking_back(&mut bay, lifted), "R115");
    // A cover lifted by mistake goes back on while nothing was touched.
    let mut bay = Bay::open(one_cylinder());
    let lifted = bay.must(Event::CoverOff { bank: 0 });
    bay.take_back(lifted).unwrap();
    assert!(!bay.job.bank(0).unwrap().cover_off);
}

#[test]
fn nothing_goes_under_a_cover_that_is_on() {
    let mut bay = at_the_gate(one_cylinder());
    bay.count_twice();
    let close = close_bank(&mut bay, 0);
    bay.must(close);
    let stopper = Event::PutAboard {
        item: Item::Stopper,
        bank: 0,
        count: 1,
    };
    assert_eq!(bay.refused(stopper).code(), "R201");
    let hold = Event::HoldDeclared {
        cylinder: 1,
        hold: HoldKind::Piston,
    };
    assert_eq!(bay.refused(hold).code(), "R201");
    let taken_off = last_of(&bay, |e| matches!(e, Event::TakenOff { .. }));
    assert_eq!(code_of_taking_back(&mut bay, taken_off), "R114");
}

#[test]
fn air_needs_its_hose_for_as_long_as_it_is_on() {
    let mut bay = before(one_cylinder(), Stage::SpringHeld);
    let hose_in = last_of(&bay, |e| matches!(e, Event::HoseIn { .. }));
    assert_eq!(code_of_taking_back(&mut bay, hose_in), "R115");
    let off = bay.must(Event::AirOff {
        cylinder: 1,
        bar: 4.0,
    });
    bay.must(Event::HoseOut { cylinder: 1 });
    assert_eq!(code_of_taking_back(&mut bay, off), "R115");
}

#[test]
fn a_pressed_spring_keeps_the_air_on_when_steps_are_taken_back() {
    let mut bay = before(one_cylinder(), Stage::LocksOut);
    let air_on = last_of(&bay, |e| matches!(e, Event::AirOn { .. }));
    assert_eq!(code_of_taking_back(&mut bay, air_on), "R115");
}

#[test]
fn a_turn_from_one_place_of_a_cylinder_to_another_stays_while_air_is_on() {
    let mut bay = Bay::open(with_offsets("inline-4-8v", 2, false));
    bay.work_until(|_, step| matches!(step, NextStep::HoseIn { .. }));
    let from = bay.job.crank().unwrap();
    let offsets = bay.job.layout().unwrap().offsets_deg(from.cylinder);
    let other = offsets.into_iter().find(|deg| *deg != from.offset_deg);
    let to = CrankAt {
        offset_deg: other.unwrap(),
        ..from
    };
    let turn_deg = bay.job.turn_to(to);
    bay.take_step(&NextStep::Turn { to, turn_deg });
    let turned = last_of(&bay, |e| matches!(e, Event::CrankTurned { .. }));
    let cylinder = from.cylinder;
    bay.take_step(&NextStep::HoseIn { cylinder });
    bay.take_step(&NextStep::AirOn { cylinder });
    assert_eq!(code_of_taking_back(&mut bay, turned), "R209");
}

#[test]
fn no_way_down_is_opened_under_an_unlocked_valve() {
    let mut bay = before(two_cylinders(), Stage::SealFitted);
    let refusal = bay.refused(Event::VentedCoverOut { cylinder: 2 });
    assert_eq!(refusal.code(), "R221");
    let cover_in = last_of(&bay, |e| *e == Event::VentedCoverIn { cylinder: 2 });
    assert_eq!(code_of_taking_back(&mut bay, cover_in), "R305");

    let mut bay = before(one_cylinder(), Stage::SealFitted);
    let off = Event::TakenOff {
        item: Item::Stopper,
        bank: 0,
        count: 1,
    };
    assert_eq!(bay.refused(off).code(), "R221");
    let put = last_of(&bay, |e| matches!(e, Event::PutAboard { .. }));
    assert_eq!(code_of_taking_back(&mut bay, put), "R304");
}

#[test]
fn locks_do_not_come_out_again_over_a_hole_by_taking_back() {
    let mut bay = before(two_cylinders(), Stage::LocksIn);
    let NextStep::SeeStage { valve, stage } = bay.job.next_step(None) else {
        panic!("{:?}", bay.job.next_step(None));
    };
    let locked = bay.must(Event::StageSeen {
        valve,
        stage,
        locks_dropped: 0,
        seals_spoiled: 0,
    });
    bay.must(Event::VentedCoverOut { cylinder: 2 });
    assert_eq!(code_of_taking_back(&mut bay, locked), "R305");
    bay.must(Event::VentedCoverIn { cylinder: 2 });
    bay.take_back(locked).unwrap();
}

#[test]
fn what_a_gate_rested_on_is_not_taken_back_behind_it() {
    let mut bay = at_the_gate(two_banks());
    let dropped = bay.must(Event::PartDropped {
        item: Item::VentedCover,
        count: 1,
        from: Place::Kit,
        bank: None,
        valve: None,
    });
    let found = bay.found(dropped);
    let found = bay.must(found);
    bay.count_twice();
    let counted = bay.entries.last().unwrap().id;
    let close = close_bank(&mut bay, 0);
    let closing = bay.must(close);
    let plug_in = last_of(&bay, |e| *e == Event::PlugIn { cylinder: 1 });
    for event in [found, counted, plug_in] {
        assert_eq!(code_of_taking_back(&mut bay, event), "R114");
    }
    // With the closing taken back first, each goes.
    bay.take_back(closing).unwrap();
    for event in [counted, found, plug_in] {
        bay.take_back(event).unwrap();
    }
    bay.work_to_the_end();
}

#[test]
fn a_search_is_taken_back_when_the_lock_turns_up_after_a_gate() {
    let mut bay = at_the_gate(two_banks());
    bay.must(Event::StockIssued {
        item: Item::Lock,
        count: 1,
    });
    let dropped = bay.must(Event::PartDropped {
        item: Item::Lock,
        count: 1,
        from: Place::Stock,
        bank: None,
        valve: None,
    });
    let searched = bay.searched(dropped);
    let searched = bay.must(searched);
    bay.count_twice();
    let close = close_bank(&mut bay, 0);
    let closing = bay.must(close);
    // The cover went on because of the search: it is opened first, with a code.
    assert_eq!(code_of_taking_back(&mut bay, searched), "R114");
    let unsigned = Event::taken_back(closing);
    assert_eq!(bay.refused(unsigned).code(), "R125");
    bay.take_back(closing).unwrap();
    bay.take_back(searched).unwrap();
    assert_eq!(bay.at(&Item::Lock, Place::Adrift), 1);
    bay.must(Event::PartFound {
        dropped,
        found_at: SearchPlace::OnThePerson,
        to: Place::Scrap,
    });
    bay.work_to_the_end();
    assert_eq!(bay.at(&Item::Lock, Place::Scrap), 1);
}

#[test]
fn the_gate_says_how_many_valves_are_not_verified() {
    let bay = before(one_cylinder(), Stage::LocksOut);
    let open = bay.job.gate(0).into_iter().find_map(|hold| match hold {
        Refusal::GateValves { unverified, .. } => Some(unverified),
        _ => None,
    });
    assert_eq!(open, Some(2));
}

#[test]
fn a_job_is_not_closed_over_a_part_that_is_adrift() {
    let mut bay = Bay::open(one_cylinder());
    bay.work_until(|job, _| job.is_bank_closed(0));
    drop_from_kit(&mut bay, Item::Stopper);
    let gate: Vec<&str> = bay.job.job_gate().iter().map(Refusal::code).collect();
    assert_eq!(gate, ["R505"]);
}

#[test]
fn after_the_end_only_the_end_is_taken_back() {
    let mut bay = Bay::open(one_cylinder());
    bay.work_to_the_end();
    let closed = bay.entries.last().unwrap().id;
    let verified = last_of(
        &bay,
        |e| matches!(e, Event::StageSeen { stage, .. } if *stage == Stage::Verified),
    );
    let closing = last_of(&bay, |e| matches!(e, Event::BankClosed { .. }));
    for event in [verified, closing] {
        assert_eq!(code_of_taking_back(&mut bay, event), "R104");
    }
    bay.take_back(closed).unwrap();
    assert_eq!(bay.job.phase(), JobPhase::Open);
    bay.take_back(closing).unwrap();
    bay.work_to_the_end();
}

#[test]
fn what_is_seen_beyond_the_count_list_holds_the_gate() {
    let mut bay = at_the_gate(one_cylinder());
    let extra = CountLine {
        item: Item::Rag,
        place: Place::Kit,
        count: 1,
    };
    for (person, also) in [(FIRST, Some(extra.clone())), (SECOND, None)] {
        let mut lines = true_lines(&bay.job);
        lines.extend(also);
        let by = bay.scribe.sign(person);
        bay.must(Event::BlindCount { by, lines });
    }
    let close = close_bank(&mut bay, 0);
    assert_eq!(bay.refused(close).code(), "R508");
    for person in [FIRST, SECOND] {
        let mut lines = true_lines(&bay.job);
        lines.push(extra.clone());
        let by = bay.scribe.sign(person);
        bay.must(Event::BlindCount { by, lines });
    }
    let close = close_bank(&mut bay, 0);
    assert_eq!(bay.refused(close).code(), "R509");
}

#[test]
fn two_heaps_of_the_same_item_add_up() {
    let mut bay = at_the_gate(one_cylinder());
    for person in [FIRST, SECOND] {
        let mut lines = true_lines(&bay.job);
        let heap = lines.iter().position(|l| l.count > 1).unwrap();
        lines[heap].count -= 1;
        let second = CountLine {
            count: 1,
            ..lines[heap].clone()
        };
        lines.push(second);
        let by = bay.scribe.sign(person);
        bay.must(Event::BlindCount { by, lines });
    }
    assert!(bay.job.counts_agree());
}

#[test]
fn a_count_is_void_once_something_moved_even_back() {
    let mut bay = at_the_gate(one_cylinder());
    bay.count_twice();
    assert!(bay.job.counts_agree());
    bay.must(Event::WrenchOn {});
    bay.must(Event::WrenchOff {});
    let close = close_bank(&mut bay, 0);
    assert_eq!(bay.refused(close).code(), "R507");
}

#[test]
fn the_foreman_is_asked_again_when_a_later_reading_is_worse() {
    let mut bay = Bay::open(one_cylinder());
    let read = |cylinder_bar| Event::LeakRead {
        cylinder: 1,
        when: Reading::Before,
        supply_bar: 6.0,
        cylinder_bar,
        heard: Vec::new(),
    };
    bay.must(read(4.0));
    let by = bay.scribe.sign(FOREMAN);
    bay.must(Event::ForemanAgreed { cylinder: 1, by });
    assert_eq!(bay.job.foreman_wanted(1), None);
    bay.must(read(1.0));
    assert!(bay.job.foreman_wanted(1).is_some_and(|loss| loss > 80.0));
}

#[test]
fn a_used_lock_in_stock_is_not_given_back_to_the_store() {
    let mut bay = before(one_cylinder(), Stage::SealFitted);
    bay.must(Event::PutAway {
        item: Item::Lock,
        count: 1,
        to: Place::Stock,
    });
    let back = Event::StockReturned {
        item: Item::Lock,
        count: 1,
    };
    assert_eq!(bay.refused(back.clone()).code(), "R401");
    let counted = bay.job.count_list();
    assert!(counted.contains(&(Item::Lock, Place::Stock)));
    // One that came from there is.
    bay.must(Event::StockIssued {
        item: Item::Lock,
        count: 2,
    });
    bay.must(back);
    assert_eq!(bay.job.ledger().account(&Item::Lock).issued, 1);
    assert_eq!(bay.at(&Item::Lock, Place::Stock), 2);
}

#[test]
fn clocks_that_jump_and_counts_without_end_break_nothing() {
    let mut bay = Bay::open(one_cylinder());
    for at_ms in [i64::MAX - 100_000, i64::MIN, i64::MAX - 100_000] {
        bay.scribe.at_ms = at_ms;
        bay.must(Event::Paused { why: String::new() });
        bay.scribe.at_ms = at_ms.saturating_neg() / 2;
        bay.must(Event::Resumed {});
    }
    let minutes = JobClock::of(&bay.job).hours.minutes;
    assert!(minutes.iter().all(|m| *m >= 0.0), "{minutes:?}");

    let lots = || Event::StockIssued {
        item: Item::Lock,
        count: 9_999,
    };
    let refusal = (0..200).find_map(|_| bay.propose(lots()).err());
    assert_eq!(refusal.as_ref().map(Refusal::code), Some("R402"));
    assert!(bay.job.ledger().is_conserved());
}

#[test]
fn undo_looks_past_the_signatures_of_the_tablet() {
    let mut bay = Bay::open(one_cylinder());
    assert_eq!(bay.job.undo_offer(), None, "no opening is taken back");
    let out = bay.must(Event::PlugOut { cylinder: 1 });
    bay.must(Event::Sealed(Box::new(Seal {
        key: "0".repeat(64),
        signature: "0".repeat(128),
    })));
    assert_eq!(bay.job.undo_offer().map(|(id, _)| id), Some(out));
}

#[test]
fn undo_is_not_offered_while_the_job_rests() {
    let mut bay = Bay::open(one_cylinder());
    bay.must(Event::Paused { why: String::new() });
    let note = bay.must(Event::Noted {
        text: "Waiting for seals.".to_owned(),
    });
    assert_eq!(bay.job.undo_offer(), None);
    assert_eq!(code_of_taking_back(&mut bay, note), "R105");
    bay.must(Event::Resumed {});
    bay.take_back(note).unwrap();
}

#[test]
fn an_event_taken_twice_changes_nothing() {
    let mut bay = before(one_cylinder(), Stage::SealFitted);
    let again = bay.entries.clone();
    let before = bay.job.clone();
    for entry in &again {
        assert!(bay.job.apply(entry).unwrap().repeated);
    }
    assert_eq!(bay.job, before);
}
