//! The edges of the rules: the last that is taken, and the first that is refused. The figures
//! are written here a second time.

use trayzero_core::engine::{Side, ValveName};
use trayzero_core::job::{
    CountLine, CrankAt, Event, Finding, FindingKind, FollowUp, HoldKind, NextStep, PaperBatch,
    Picture, Reading, Seal, Stage, Step, TakeIn,
};
use trayzero_core::parts::{Item, Place};
use trayzero_tests::bay::{Bay, FIRST, SECOND, signed};
use trayzero_tests::engines::two_banks;
use trayzero_tests::entries::{Scribe, TAP_MS};

use super::events::*;
use super::leads::*;

/// Stands for a code where nothing is refused.
pub const TAKEN: &str = "taken";

/// Each event by itself at the same bay: taken, or refused with its code.
pub fn edges(bay: &Bay, rows: impl IntoIterator<Item = (Event, &'static str)>) {
    for (event, code) in rows {
        let (mut bay, told) = (bay.clone(), format!("{event:?}"));
        let answer = if code == TAKEN {
            bay.must(event);
            TAKEN
        } else {
            bay.refused(event).code()
        };
        assert_eq!(answer, code, "{told}");
    }
}

fn long(chars: usize) -> String {
    "ä".repeat(chars)
}

#[test]
fn texts_end_at_two_thousand_characters() {
    let note = |chars| Event::Noted { text: long(chars) };
    let codes = |one, other| {
        let codes = vec![long(one), long(other)];
        Event::TakeInNoted(Box::new(TakeIn {
            codes,
            ..TakeIn::default()
        }))
    };
    let take_in = |complaint, seen| {
        Event::TakeInNoted(Box::new(TakeIn {
            complaint: long(complaint),
            seen: long(seen),
            ..TakeIn::default()
        }))
    };
    let rows = [
        (note(2_000), TAKEN),
        (note(2_001), "R107"),
        (codes(1_000, 1_000), TAKEN),
        (codes(1_000, 1_001), "R107"),
        (take_in(2_000, 2_000), TAKEN),
        (take_in(2_001, 0), "R107"),
        (take_in(0, 2_001), "R107"),
        (finding(1, None, FindingKind::Other, &long(2_001)), "R107"),
    ];
    edges(&opened(), rows);
}

fn finding(cylinder: u8, valve: Option<ValveName>, kind: FindingKind, text: &str) -> Event {
    Event::FindingNoted(Box::new(Finding {
        cylinder,
        valve,
        kind,
        text: text.into(),
    }))
}

#[test]
fn figures_end_where_the_bench_ends() {
    let odometer = |km| {
        Event::TakeInNoted(Box::new(TakeIn {
            odometer_km: Some(km),
            ..TakeIn::default()
        }))
    };
    let oil = |odometer_km, litres| Event::OilToppedUp {
        on: "2026-03-02".into(),
        odometer_km,
        litres,
    };
    let torque = |torque_nm| Event::BreakawayMeasured { torque_nm };
    let rock = |rock_mm| finding(1, None, FindingKind::WornGuide { rock_mm }, "");
    let spring = |length_mm| finding(1, None, FindingKind::ShortSpring { length_mm }, "");
    let torn = |missing| finding(1, None, FindingKind::SealTorn { missing }, "");
    let late = Event::OilToppedUp {
        on: long(2_001),
        odometer_km: 1.0,
        litres: 1.0,
    };
    let rows = [
        (odometer(0.0), TAKEN),
        (odometer(10_000_000.0), TAKEN),
        (odometer(-1.0), "R108"),
        (odometer(10_000_001.0), "R108"),
        (odometer(f64::NAN), "R108"),
        (late, "R107"),
        (oil(-1.0, 1.0), "R108"),
        (oil(1.0, 100.0), TAKEN),
        (oil(1.0, 100.1), "R108"),
        (oil(1.0, -0.1), "R108"),
        (torque(0.5), TAKEN),
        (torque(0.4), "R108"),
        (torque(500.0), TAKEN),
        (torque(500.1), "R108"),
        (torque(f64::INFINITY), "R108"),
        (rock(20.0), TAKEN),
        (rock(20.1), "R108"),
        (spring(1.0), TAKEN),
        (spring(0.9), "R108"),
        (spring(300.1), "R108"),
        (torn(9), TAKEN),
        (torn(10), "R402"),
        (torn(0), TAKEN),
    ];
    edges(&opened(), rows);
    let leak = |supply_bar, cylinder_bar| Event::LeakRead {
        cylinder: 1,
        when: Reading::Before,
        supply_bar,
        cylinder_bar,
        heard: Vec::new(),
    };
    let rows = [
        (leak(0.1, 0.1), TAKEN),
        (leak(0.0, 0.0), "R108"),
        (leak(40.0, 0.0), TAKEN),
        (leak(40.1, 0.0), "R108"),
        (leak(6.0, 6.1), "R108"),
        (leak(6.0, -0.1), "R108"),
    ];
    edges(&at_first_top(), rows);
}

#[test]
fn a_finding_is_of_a_valve_of_its_own_cylinder() {
    let other = ValveName::new(2, Side::Intake, 1);
    let of = |cylinder, valve| finding(cylinder, valve, FindingKind::ScoredStem, "");
    let rows = [
        (of(1, Some(INTAKE)), TAKEN),
        (of(2, None), TAKEN),
        (of(1, Some(other)), "R110"),
        (of(9, None), "R109"),
    ];
    edges(&opened_two(), rows);
}

#[test]
fn what_is_seen_later_ends_where_it_says_nothing() {
    let seen = |seen: FollowUp| Event::FollowedUp {
        by: signed(FIRST, 77),
        seen: Box::new(seen),
    };
    let after = |distance_km, litres| {
        seen(FollowUp {
            distance_km,
            litres,
            ..FollowUp::default()
        })
    };
    let with = |codes: Vec<String>, text: String| {
        seen(FollowUp {
            distance_km: 1_000.0,
            codes: Some(codes),
            text,
            ..FollowUp::default()
        })
    };
    let rows = [
        (after(50.0, 0.0), TAKEN),
        (after(49.9, 0.0), "R108"),
        (after(200_000.0, 200.0), TAKEN),
        (after(200_001.0, 0.0), "R108"),
        (after(50.0, 200.1), "R108"),
        (after(50.0, -0.1), "R108"),
        (with(vec![long(1_000), long(1_000)], long(2_000)), TAKEN),
        (with(vec![long(1_000), long(1_001)], String::new()), "R107"),
        (with(Vec::new(), long(2_001)), "R107"),
    ];
    edges(&closed(), rows);
}

#[test]
fn hashes_and_seals_are_written_whole() {
    let picture_of = |change: fn(&mut Picture)| {
        let Event::PictureAdded(mut picture) = picture(HASH) else {
            unreachable!();
        };
        change(&mut picture);
        Event::PictureAdded(picture)
    };
    let seal = |key: &str, signature: &str| {
        Event::Sealed(Box::new(Seal {
            key: key.into(),
            signature: signature.into(),
        }))
    };
    let (key, signature) = ("0f".repeat(32), "A9".repeat(64));
    let rows = [
        (picture(HASH), TAKEN),
        (picture(&HASH[1..]), "R131"),
        (picture(&HASH.to_uppercase()), "R131"),
        (picture(&HASH.replace('f', "g")), "R131"),
        (picture_of(|p| p.copy_sha256 = "no hash".into()), "R131"),
        (picture_of(|p| p.bytes = 0), "R131"),
        (picture_of(|p| p.bytes = 32 * 1_048_576), TAKEN),
        (picture_of(|p| p.bytes = 32 * 1_048_576 + 1), "R131"),
        (picture_of(|p| p.copy_bytes = 2 * 1_048_576), TAKEN),
        (picture_of(|p| p.copy_bytes = 2 * 1_048_576 + 1), "R131"),
        (seal(&key, &signature), TAKEN),
        (seal(&key[1..], &signature), "R119"),
        (seal(&key, &signature[1..]), "R119"),
        (seal(&key.replace('f', "g"), &signature), "R119"),
        (seal(&key, &signature.replace('A', "x")), "R119"),
    ];
    edges(&opened(), rows);
}

#[test]
fn a_count_is_of_what_fits_on_a_bench_and_the_second_by_somebody_else() {
    let count = |person, count| Event::BlindCount {
        by: signed(person, 78),
        lines: vec![CountLine {
            item: Item::Rag,
            place: Place::Kit,
            count,
        }],
    };
    let mut bay = opened();
    let rows = [
        (count(FIRST, 9_999), TAKEN),
        (count(FIRST, 10_000), "R402"),
        (count(FIRST, 10_001), "R402"),
    ];
    edges(&bay, rows);
    let first = bay.true_count(FIRST);
    bay.must(first);
    edges(&bay, [(count(FIRST, 1), "R117"), (count(SECOND, 1), TAKEN)]);
    let second = bay.true_count(SECOND);
    bay.must(second);
    edges(&bay, [(count(FIRST, 1), TAKEN), (count(SECOND, 1), TAKEN)]);
}

#[test]
fn a_batch_from_paper_is_dated_before_it_is_entered_and_holds_what_it_says() {
    let mut bay = opened();
    let now = bay.scribe.at_ms + TAP_MS;
    let mut batch = |change: fn(&mut PaperBatch)| {
        let Event::EnteredFromPaper(mut batch) = paper(&mut bay, now) else {
            unreachable!();
        };
        change(&mut batch);
        Event::EnteredFromPaper(batch)
    };
    let rows = [
        (batch(|_| ()), TAKEN),
        (batch(|b| b.done_ms += 1), "R133"),
        (batch(|b| b.lines = 0), "R402"),
        (batch(|b| b.lines = 2_001), "R402"),
        (batch(|b| b.sha256.truncate(63)), "R108"),
    ];
    let taken = rows[0].0.clone();
    for (event, code) in rows.into_iter().skip(1) {
        let entry = bay.clone().scribe.entry(event);
        assert_eq!(bay.job.would_take(&entry).unwrap_err().code(), code);
    }
    // It holds one line, and its own tablet writes it.
    let opened = bay.must(taken);
    let lifted = Event::CoverOff { bank: 0 };
    let mut elsewhere = bay.clone();
    elsewhere.scribe = Scribe::new(2, SECOND);
    elsewhere.scribe.paper = Some(opened);
    assert_eq!(elsewhere.refused(lifted.clone()).code(), "R135");
    bay.scribe.paper = Some(opened);
    bay.must(lifted);
    assert_eq!(bay.refused(Event::PlugOut { cylinder: 1 }).code(), "R135");
}

#[test]
fn a_turn_leads_where_it_says_and_nobody_turns_more_than_twice_round() {
    let wrench = with(kitted(), [Event::WrenchOn {}]);
    let nowhere = CrankAt {
        cylinder: 9,
        ..AT_1
    };
    let rows = [
        (turn(None, AT_1, 1_440.0), TAKEN),
        (turn(None, AT_1, 1_440.1), "R108"),
        (turn(None, AT_1, -1_440.1), "R108"),
        (turn(None, AT_1, f64::NAN), "R108"),
        (turn(None, nowhere, 0.0), "R109"),
    ];
    edges(&wrench, rows);
    // What a tablet reckons differs in the last digits from what it reckons later.
    let rows = [
        (turn(Some(AT_1), AT_2, 360.0), TAKEN),
        (turn(Some(AT_1), AT_2, 359.999_999_9), TAKEN),
        (turn(Some(AT_1), AT_2, 360.000_000_1), TAKEN),
        (turn(Some(AT_1), AT_2, 1_080.0), TAKEN),
        (turn(Some(AT_1), AT_2, 359.99), "R219"),
        (turn(Some(AT_1), AT_2, 360.01), "R219"),
    ];
    edges(&with(wrench, [turn(None, AT_1, 0.0)]), rows);
}

#[test]
fn a_turn_after_the_engine_ran_is_read_whether_its_tablet_knew_of_that_or_not() {
    let mut bay = opened_two();
    bay.work_until(|_, step| *step == NextStep::See(Step::FirstStart));
    let at = bay.job.crank();
    let (step, other) = (Step::FirstStart, Some(AT_1).filter(|a| Some(*a) != at));
    let bay = with(bay, [Event::StepSeen { step }, Event::WrenchOn {}]);
    let rows = [
        (turn(None, AT_2, 0.0), TAKEN),
        (turn(at, AT_2, 0.0), TAKEN),
        (turn(other.or(Some(AT_2)), AT_2, 0.0), "R216"),
    ];
    edges(&bay, rows);
}

#[test]
fn air_is_within_what_hose_and_regulator_stand() {
    let mut bay = opened();
    bay.work_until(|_, step| matches!(step, NextStep::AirOn { .. }));
    let on = |bar| Event::AirOn { cylinder: 1, bar };
    let rows = [
        (on(7.0), TAKEN),
        (on(7.1), "R222"),
        (on(0.1), TAKEN),
        (on(0.0), "R108"),
        (on(-1.0), "R108"),
        (on(f64::INFINITY), "R108"),
        (on(f64::NAN), "R108"),
    ];
    edges(&bay, rows);
}

#[test]
fn a_cord_and_a_prop_go_through_the_plug_hole_and_a_piston_does_not() {
    let held = |cylinder, hold| Event::HoldDeclared { cylinder, hold };
    let at_1 = with(kitted(), [Event::WrenchOn {}, turn(None, AT_1, 0.0)]);
    let rows = [
        (held(1, HoldKind::Piston), TAKEN),
        (held(1, HoldKind::Cord), "R203"),
        (held(1, HoldKind::Prop), "R203"),
        (held(2, HoldKind::Piston), "R215"),
    ];
    edges(&at_1, rows);
    let plug_out = with(at_1, [Event::PlugOut { cylinder: 1 }]);
    for (hold, plug_in) in [
        (HoldKind::Piston, TAKEN),
        (HoldKind::Cord, "R211"),
        (HoldKind::Prop, "R211"),
    ] {
        let bay = with(plug_out.clone(), [held(1, hold)]);
        let released = |hold| Event::HoldReleased { cylinder: 1, hold };
        let other = match hold {
            HoldKind::Piston => HoldKind::Cord,
            _ => HoldKind::Piston,
        };
        let rows = [
            (Event::PlugIn { cylinder: 1 }, plug_in),
            (held(1, hold), "R211"),
            (released(other), "R212"),
            (released(hold), TAKEN),
        ];
        edges(&bay, rows);
    }
}

#[test]
fn a_valve_is_worked_where_its_cylinder_is_worked() {
    let positioned = |cylinder| {
        let valve = ValveName::new(cylinder, Side::Intake, 1);
        seen(valve, Stage::Positioned, 0)
    };
    let bay = off_its_top();
    let at = bay.job.crank().map_or(0, |at| at.cylinder);
    edges(
        &bay,
        [(positioned(at), TAKEN), (positioned(5 - at), "R215")],
    );
    // The crank still stands at the top where the leak-down was read.
    let top = CrankAt {
        cylinder: at,
        offset_deg: 0.0,
    };
    let from = bay.job.crank();
    let turn_deg = bay.job.turn_to(top);
    let back = [Event::WrenchOn {}, turn(from, top, turn_deg)];
    edges(&with(bay, back), [(positioned(at), "R217")]);
}

#[test]
fn nobody_turns_the_crank_under_what_is_held() {
    let cylinder = 1;
    let hold = HoldKind::Piston;
    let under_the_wrench = [
        Event::HoldDeclared { cylinder, hold },
        Event::AirOff { cylinder, bar: 4.0 },
        Event::WrenchOn {},
    ];
    let bays = [before_spring_held(), before_locks_out(), unlocked()];
    for (bay, code) in bays.into_iter().zip(["R211", "R220", "R221"]) {
        let bay = with(bay, under_the_wrench.clone());
        edges(&bay, [(turn(Some(AT_1), AT_1, 720.0), code)]);
    }
}

#[test]
fn an_unlocked_valve_shuts_the_holes_of_its_own_bank_alone() {
    let bay = before(Bay::open(two_banks()), Stage::SealFitted);
    let rows = [
        (Event::HoseOut { cylinder: 1 }, "R207"),
        (Event::VentedCoverOut { cylinder: 2 }, TAKEN),
    ];
    edges(&bay, rows);
}

#[test]
fn a_hose_waits_for_a_look_at_the_air_of_its_own_cylinder() {
    let mut bay = opened_two();
    bay.work_until(|_, step| matches!(step, NextStep::AirOn { .. }));
    let out = Event::HoseOut { cylinder: 1 };
    let bay = with(bay, [Event::WrenchOn {}]);
    for (cylinder, code) in [(1, "R224"), (2, TAKEN)] {
        let air = Event::AirOn { cylinder, bar: 4.0 };
        edges(&told(bay.clone(), air), [(out.clone(), code)]);
    }
}

#[test]
fn locks_fall_when_they_come_out_and_seals_are_spoiled_when_they_are_fitted() {
    let at = |stage, locks_dropped, seals_spoiled| Event::StageSeen {
        valve: INTAKE,
        stage,
        locks_dropped,
        seals_spoiled,
    };
    let out = Stage::LocksOut;
    let rows = [(at(out, 2, 0), TAKEN), (at(out, 0, 1), "R402")];
    edges(&before_locks_out(), rows);
    let fitted = Stage::SealFitted;
    // Two new seals are there, one for each valve.
    let rows = [
        (at(fitted, 1, 0), "R303"),
        (at(fitted, 0, 1), TAKEN),
        (at(fitted, 0, 2), "R401"),
    ];
    edges(&unlocked(), rows);
    let count = 8;
    let item = Item::NewSeal;
    let many = with(unlocked(), [Event::StockIssued { item, count }]);
    edges(
        &many,
        [(at(fitted, 0, 9), TAKEN), (at(fitted, 0, 10), "R402")],
    );
}
