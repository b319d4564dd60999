//! Honest sheets: half done on a tablet, half on paper, and the ways in which hands go.

use trayzero_core::engine::{Layout, Side, ValveName, shipped};
use trayzero_core::job::{
    Event, HoldKind, JobPhase, NextStep, PaperDrop, PaperSheet, PaperWait, Reading, SearchPlace,
    Stage, Step,
};
use trayzero_core::parts::{Item, Place};
use trayzero_core::phases::JobClock;
use trayzero_core::plan::WorkPhase;
use trayzero_core::record::Record;
use trayzero_tests::bay::Bay;
use trayzero_tests::engines::{one_cylinder, shipped_engine, two_banks};

use super::pen::*;

/// A job played until its take-in is noted: no paper tells that.
pub fn taken_in(layout: Layout) -> Bay {
    let mut bay = Bay::open(layout);
    bay.work_until(|_, step| *step != NextStep::TakeIn);
    bay
}

/// A job played on the tablet until so many valves are verified.
pub fn half_done(layout: Layout, valves: usize) -> Bay {
    let mut bay = Bay::open(layout);
    bay.work_until(|job, _| job.verified_count() >= valves);
    bay
}

#[test]
fn every_shipped_engine_goes_on_from_paper_wherever_the_tablet_died() {
    let mut sheets = 0;
    for one in shipped() {
        let layout = Layout::from_json(one.key, one.json.as_bytes()).unwrap();
        let valves = layout.valve_count();
        for done in [0, valves / 2 + 1] {
            let mut bay = half_done(layout.clone(), done);
            let sheet = all_ticked(&bay.job);
            let walk = walk(&bay.job, &sheet).unwrap_or_else(|e| panic!("{}: {e:?}", one.key));
            assert_eq!(walk.waits, None, "{}", one.key);
            let batch = enter(&mut bay, &sheet);
            assert_eq!(bay.job.verified_count(), valves, "{}", one.key);
            let paper = bay.job.papers().next().unwrap();
            assert!(paper.id == batch && paper.is_whole);
            assert_eq!(paper.came.len(), walk.lines.len());
            // The rest is done on the tablet: two people count, and the covers go on.
            bay.work_to_the_end();
            assert_eq!(
                (bay.job.loose(), bay.job.aboard(), bay.job.adrift()),
                (0, 0, 0)
            );
            sheets += 1;
        }
    }
    trayzero_tests::figures::say("sheets of paper entered and closed", sheets);
}

#[test]
fn a_tablet_that_died_under_an_open_valve_goes_on_where_the_hands_were() {
    let mut bay = Bay::open(shipped_engine("inline-4-16v"));
    bay.work_until(|job, _| job.unlocked().next().is_some());
    let valve = bay.job.unlocked().next().unwrap();
    let mut sheet = PaperSheet::default();
    tick_up_to(&mut sheet, valve, Stage::LocksIn);
    let lines = walk(&bay.job, &sheet).unwrap().lines;
    let stages: Vec<Stage> = lines
        .iter()
        .map(|(_, event)| match event {
            Event::StageSeen { stage, .. } => *stage,
            other => panic!("nothing else was to be done: {other:?}"),
        })
        .collect();
    assert_eq!(stages, [Stage::SealFitted, Stage::LocksIn]);
    enter(&mut bay, &sheet);
    assert_eq!(bay.job.valve(valve).unwrap().stage(), Some(Stage::LocksIn));
    bay.work_to_the_end();
}

#[test]
fn one_valve_may_be_finished_before_the_next_is_begun() {
    let mut bay = half_done(shipped_engine("inline-4-16v"), 4);
    let order = order_of(bay.job.layout().unwrap());
    let next = order
        .iter()
        .find(|(at, _)| !bay.job.cylinder_verified(at.cylinder))
        .unwrap();
    let cylinder = next.0.cylinder;
    let valve = bay
        .job
        .layout()
        .unwrap()
        .valves_of(cylinder)
        .next()
        .unwrap();
    let mut sheet = PaperSheet::default();
    sheet.air_bar.insert(cylinder, 3.0);
    tick_up_to(&mut sheet, valve, Stage::Verified);
    enter(&mut bay, &sheet);
    assert!(bay.job.valve(valve).unwrap().is_verified());
    assert_eq!(bay.job.verified_count(), 5);
    // Nobody has said that the air is off again where it may be on: it is off for the look.
    bay.work_to_the_end();
}

#[test]
fn a_hold_stands_for_the_air_and_comes_out_again() {
    let mut bay = half_done(two_banks(), 0);
    let mut sheet = all_ticked(&bay.job);
    sheet.air_bar.clear();
    sheet
        .holds
        .extend([(1, HoldKind::Piston), (2, HoldKind::Piston)]);
    let lines = walk(&bay.job, &sheet).unwrap().lines;
    assert!(!lines.iter().any(|(_, e)| matches!(e, Event::AirOn { .. })));
    let declared = |e: &Event| {
        matches!(
            e,
            Event::HoldDeclared {
                hold: HoldKind::Piston,
                ..
            }
        )
    };
    assert_eq!(lines.iter().filter(|(_, e)| declared(e)).count(), 2);
    enter(&mut bay, &sheet);
    bay.work_to_the_end();
}

#[test]
fn a_lock_that_fell_and_was_found_by_the_paper_is_in_the_parts_and_the_record() {
    let mut bay = taken_in(one_cylinder());
    let valve = ValveName::new(1, Side::Exhaust, 1);
    let mut sheet = all_ticked(&bay.job);
    sheet.drops.push(PaperDrop {
        item: Item::Lock,
        count: 1,
        valve: Some(valve),
        found_at: Some(SearchPlace::BenchAndFloor),
    });
    enter(&mut bay, &sheet);
    assert_eq!((bay.job.drops().len(), bay.job.adrift()), (1, 0));
    assert_eq!(
        bay.job.found_at(&bay.job.drops()[0]),
        Some(SearchPlace::BenchAndFloor)
    );
    bay.work_to_the_end();
    let code = |why: &trayzero_core::job::Refusal| why.code().to_owned();
    let record = Record::of(&bay.job, &bay.entries, "0123456789ab", code).unwrap();
    assert_eq!(record.drops.len(), 1);
}

#[test]
fn a_part_that_was_adrift_before_is_found_by_the_paper() {
    let mut bay = half_done(shipped_engine("inline-4-16v"), 1);
    let lost = bay.must(Event::PartDropped {
        item: Item::OldSeal,
        count: 1,
        from: Place::Scrap,
        bank: None,
        valve: None,
    });
    let mut sheet = all_ticked(&bay.job);
    sheet.finds.push((lost, SearchPlace::OilReturn));
    enter(&mut bay, &sheet);
    assert_eq!(bay.job.adrift(), 0);
    bay.work_to_the_end();
}

#[test]
fn the_foreman_and_the_gate_stop_the_paper_and_it_goes_on_behind_them() {
    let mut bay = taken_in(one_cylinder());
    let mut sheet = all_ticked(&bay.job);
    sheet.leaks[0].cylinder_bar = 2.0;
    sheet.steps.extend(Step::AFTER);
    sheet.leaks.push(leak(1, Reading::After));
    let first = walk(&bay.job, &sheet).unwrap();
    assert_eq!(first.waits, Some(PaperWait::Foreman(1)));
    enter(&mut bay, &sheet);
    assert_eq!(bay.job.verified_count(), 0);
    bay.take_step(&NextStep::AskForeman { cylinder: 1 });
    assert_eq!(
        walk(&bay.job, &sheet).unwrap().waits,
        Some(PaperWait::Gate(0))
    );
    enter(&mut bay, &sheet);
    assert!(bay.job.bank_verified(0) && !bay.job.is_bank_closed(0));
    // Nothing more comes from paper until two people have counted here.
    let again = walk(&bay.job, &sheet).unwrap();
    assert!(again.lines.is_empty() && again.waits == Some(PaperWait::Gate(0)));
    bay.work_until(|job, _| job.is_bank_closed(0));
    // The plugs go in again on the tablet: what was in their holes is seen, not told.
    assert_eq!(
        walk(&bay.job, &sheet).unwrap().waits,
        Some(PaperWait::Gate(0))
    );
    enter(&mut bay, &sheet);
    assert!(bay.job.leak(1, Reading::After).is_some());
    bay.work_until(|_, step| matches!(step, NextStep::See(_)));
    enter(&mut bay, &sheet);
    assert!(bay.job.step_seen(Step::CodesCleared).is_some());
    assert_eq!(bay.job.phase(), JobPhase::Open);
    bay.work_to_the_end();
    assert_eq!(bay.job.papers().count(), 4);
}

#[test]
fn no_hours_are_learned_from_what_was_entered() {
    let tapped = {
        let mut bay = Bay::open(shipped_engine("inline-4-16v"));
        bay.work_to_the_end();
        JobClock::of(&bay.job)
    };
    let mut bay = half_done(shipped_engine("inline-4-16v"), 8);
    let before = JobClock::of(&bay.job);
    bay.scribe.at_ms += 3 * 3_600_000;
    let sheet = all_ticked(&bay.job);
    enter(&mut bay, &sheet);
    let after = JobClock::of(&bay.job);
    assert_eq!(
        after.hours.minutes, before.hours.minutes,
        "paper takes no time"
    );
    assert_eq!(after.valve_minutes.len(), 8);
    assert!(!after.hours.is_timed() && tapped.hours.is_timed());
    let valves = WorkPhase::Valves.index();
    bay.work_to_the_end();
    let end = JobClock::of(&bay.job).hours;
    assert_eq!(end.valves.len(), 8, "valves that were tapped, and no other");
    assert_eq!(end.minutes[valves], before.hours.minutes[valves]);
    // What is tapped after it is timed from the entering on.
    let closing = WorkPhase::ClosingUp.index();
    assert_eq!(end.minutes[closing], tapped.hours.minutes[closing]);
}

#[test]
fn a_reading_that_nobody_wrote_is_left_open_and_the_crank_not_turned_for_it() {
    let mut bay = taken_in(two_banks());
    let mut sheet = all_ticked(&bay.job);
    sheet.leaks.retain(|l| l.cylinder == 1);
    enter(&mut bay, &sheet);
    assert!(bay.job.leak(1, Reading::Before).is_some());
    assert!(bay.job.leak(2, Reading::Before).is_none());
    bay.work_until(|job, _| job.is_bank_closed(0) && job.is_bank_closed(1));
}

#[test]
fn lines_are_taken_back_one_by_one_and_the_batch_last() {
    let mut bay = half_done(one_cylinder(), 1);
    let stood = bay
        .job
        .valves()
        .map(|(_, v)| v.stages_seen)
        .collect::<Vec<_>>();
    let sheet = all_ticked(&bay.job);
    let batch = enter(&mut bay, &sheet);
    let early = bay.scribe.sign(super::pen::by_whom());
    let refused = bay.refused(Event::Withdrawn {
        event: batch,
        by: vec![early],
    });
    assert_eq!(refused.code(), "R114", "its lines stand");
    while let Some((event, _)) = bay.job.undo_offer().filter(|(id, _)| *id != batch) {
        let is_of_it = bay.job.paper_of(event).is_some();
        assert!(is_of_it, "the lines come before the batch");
        bay.must(Event::taken_back(event));
    }
    assert_eq!(bay.job.undo_offer().map(|(id, _)| id), Some(batch));
    assert_eq!(bay.job.signatures_to_take_back(batch), 1);
    let by = bay.scribe.sign(super::pen::by_whom());
    bay.must(Event::Withdrawn {
        event: batch,
        by: vec![by],
    });
    assert_eq!(bay.job.papers().count(), 0);
    let stands: Vec<u8> = bay.job.valves().map(|(_, v)| v.stages_seen).collect();
    assert_eq!(stands, stood);
    bay.work_to_the_end();
}
