//! Sheets that the rules do not reach, and batches that somebody has tampered with.

use trayzero_core::engine::{Side, ValveName};
use trayzero_core::job::{
    Event, JobState, PaperBox, PaperDrop, PaperRefusal, PaperSheet, PaperWhy, Refusal, SearchPlace,
    Stage, Step,
};
use trayzero_core::parts::{Item, Place};
use trayzero_tests::bay::FIRST;
use trayzero_tests::engines::{one_cylinder, shipped_engine, two_banks};
use trayzero_tests::entries::Scribe;

use super::pen::*;
use super::walked::{half_done, taken_in};

const INTAKE: ValveName = ValveName::new(1, Side::Intake, 1);
const EXHAUST: ValveName = ValveName::new(1, Side::Exhaust, 1);

fn refused(job: &JobState, sheet: &PaperSheet) -> PaperRefusal {
    match walk(job, sheet) {
        Err(refusal) => refusal,
        Ok(walk) => panic!("it was taken: {walk:?}"),
    }
}

fn at(at: PaperBox, why: PaperWhy) -> PaperRefusal {
    PaperRefusal { at: Some(at), why }
}

/// The refusal of the rules behind a box.
fn code_of(refusal: &PaperRefusal) -> &'static str {
    match &refusal.why {
        PaperWhy::Refused(refusal) => refusal.code(),
        other => panic!("no rule: {other:?}"),
    }
}

#[test]
fn a_stage_without_the_one_before_is_named() {
    let bay = taken_in(one_cylinder());
    let mut sheet = all_ticked(&bay.job);
    sheet.stages.remove(&(EXHAUST, Stage::LocksOut));
    let missing = PaperBox::Stage(EXHAUST, Stage::LocksOut);
    let named = PaperBox::Stage(EXHAUST, Stage::SealFitted);
    assert_eq!(
        refused(&bay.job, &sheet),
        at(named, PaperWhy::Before(missing))
    );
}

#[test]
fn steps_kit_seals_and_what_holds_are_not_assumed() {
    let bay = taken_in(one_cylinder());
    let whole = all_ticked(&bay.job);
    let mut sheet = whole.clone();
    sheet.steps.remove(&Step::BatteryOff);
    let before = PaperWhy::Before(PaperBox::Step(Step::BatteryOff));
    assert_eq!(refused(&bay.job, &sheet).why, before);

    let mut sheet = whole.clone();
    sheet.kit.clear();
    let why = refused(&bay.job, &sheet).why;
    assert!(matches!(why, PaperWhy::Before(PaperBox::Kit(_))), "{why:?}");

    let mut sheet = whole.clone();
    sheet.seals = None;
    assert_eq!(
        refused(&bay.job, &sheet).why,
        PaperWhy::Before(PaperBox::Seals)
    );

    let mut sheet = whole.clone();
    sheet.air_bar.clear();
    let nothing_holds = refused(&bay.job, &sheet);
    let written = PaperWhy::Before(PaperBox::Holds(1));
    let spring = PaperBox::Stage(INTAKE, Stage::SpringHeld);
    assert_eq!(nothing_holds, at(spring, written));

    // A pressure that the engine's kit does not stand is no better on paper.
    let mut sheet = whole;
    sheet.air_bar.insert(1, 99.0);
    let over = refused(&bay.job, &sheet);
    assert_eq!(
        (over.at.clone(), code_of(&over)),
        (Some(PaperBox::Holds(1)), "R222")
    );
}

#[test]
fn cylinders_that_both_stand_open_cannot_be() {
    let bay = half_done(two_banks(), 0);
    let mut sheet = all_ticked(&bay.job);
    let layout = bay.job.layout().unwrap();
    sheet.stages.clear();
    for valve in layout.valves() {
        tick_up_to(&mut sheet, valve, Stage::LocksOut);
    }
    let refusal = refused(&bay.job, &sheet);
    let Some(PaperBox::Stage(valve, _)) = refusal.at else {
        panic!("{refusal:?}");
    };
    assert_eq!(valve.cylinder, 2, "{refusal:?}");
}

#[test]
fn too_many_losses_and_one_that_nobody_found_close_nothing() {
    let bay = taken_in(one_cylinder());
    let mut sheet = all_ticked(&bay.job);
    let fell = |count, found_at| PaperDrop {
        item: Item::Lock,
        count,
        valve: Some(INTAKE),
        found_at,
    };
    sheet.drops = vec![fell(3, Some(SearchPlace::Sump))];
    let refusal = refused(&bay.job, &sheet);
    assert_eq!(
        (refusal.at.clone(), code_of(&refusal)),
        (Some(PaperBox::Drop(0)), "R401")
    );

    // Not found: the valve has no two locks any more.
    sheet.drops = vec![fell(1, None)];
    let refusal = refused(&bay.job, &sheet);
    assert_eq!(refusal.at, Some(PaperBox::Stage(INTAKE, Stage::LocksIn)));
    assert_eq!(code_of(&refusal), "R401");

    let mut nowhere = fell(1, None);
    nowhere.valve = None;
    sheet.drops = vec![nowhere];
    assert_eq!(
        refused(&bay.job, &sheet),
        at(PaperBox::Drop(0), PaperWhy::FromNoValve)
    );
}

#[test]
fn a_part_that_is_adrift_is_not_ticked_away() {
    let mut bay = half_done(shipped_engine("inline-4-16v"), 4);
    bay.must(Event::PartDropped {
        item: Item::OldSeal,
        count: 1,
        from: Place::Scrap,
        bank: None,
        valve: None,
    });
    let sheet = all_ticked(&bay.job);
    assert_eq!(refused(&bay.job, &sheet).why, PaperWhy::PartAdrift);
    // Nor by a find of something else.
    let mut other = sheet;
    other
        .finds
        .push((uuid::Uuid::from_u128(9), SearchPlace::Sump));
    assert_eq!(code_of(&refused(&bay.job, &other)), "R406");
}

#[test]
fn a_sheet_that_is_entered_twice_changes_nothing() {
    let mut bay = taken_in(one_cylinder());
    let sheet = all_ticked(&bay.job);
    enter(&mut bay, &sheet);
    let refusal = refused(&bay.job, &sheet);
    // Its seals and its pressure were used: nothing is left that needs them.
    assert!(
        matches!(refusal.why, PaperWhy::NotNeeded | PaperWhy::Stands),
        "{refusal:?}"
    );
    let mut boxes = sheet;
    (boxes.seals, boxes.air_bar) = (None, std::collections::BTreeMap::new());
    assert_eq!(refused(&bay.job, &boxes).why, PaperWhy::Stands);
}

#[test]
fn what_the_signature_does_not_cover_is_not_whole() {
    let bay = || taken_in(one_cylinder());
    let lines = walk(&bay().job, &all_ticked(&bay().job)).unwrap().lines;
    // One line is another than what was signed.
    let mut changed = bay();
    let signed = opener(&mut changed, &lines);
    let mut other = lines.clone();
    let last = other.len() - 1;
    let read = other
        .iter()
        .position(|(_, e)| matches!(e, Event::LeakRead { .. }))
        .unwrap();
    if let Event::LeakRead { cylinder_bar, .. } = &mut other[read].1 {
        *cylinder_bar = 5.9;
    }
    enter_under(&mut changed, signed, &other).unwrap();
    assert!(!changed.job.papers().next().unwrap().is_whole);
    // The last ones are missing: a kill in the middle.
    let mut cut = bay();
    let signed = opener(&mut cut, &lines);
    enter_under(&mut cut, signed, &lines[..last]).unwrap();
    let paper = cut.job.papers().next().unwrap();
    assert!(!paper.is_whole && paper.came.len() == last);
    // What is missing is entered again from the same sheet: a batch of its own.
    let mut sheet = all_ticked(&cut.job);
    sheet.air_bar.clear();
    enter(&mut cut, &sheet);
    assert_eq!(cut.job.verified_count(), 2);
    // One too many.
    let mut more = bay();
    let signed = opener(&mut more, &lines[..last]);
    let refusal = enter_under(&mut more, signed, &lines).unwrap_err();
    assert_eq!(refusal.code(), "R135");
    assert!(more.job.papers().next().unwrap().is_whole);
}

#[test]
fn counts_covers_and_other_signatures_never_come_from_paper() {
    let mut bay = half_done(one_cylinder(), 2);
    bay.work_until(|_, step| matches!(step, trayzero_core::job::NextStep::Gate { .. }));
    let event = bay.true_count(FIRST);
    let refusal = {
        let lines = [(uuid::Uuid::from_u128(77), event)];
        let signed = opener(&mut bay, &lines);
        enter_under(&mut bay, signed, &lines).unwrap_err()
    };
    assert_eq!(refusal, Refusal::NeverFromPaper);
}

#[test]
fn a_second_tablet_that_tapped_meanwhile_is_not_overwritten() {
    let mut bay = half_done(one_cylinder(), 0);
    bay.work_until(|job, _| job.air_on().is_some());
    let mut away = Scribe::new(2, FIRST);
    // It was cut off, and has tapped the first valve before the paper was entered.
    away.at_ms = bay.scribe.at_ms + 10_000;
    let stages = [Stage::SpringHeld, Stage::LocksOut];
    let tapped: Vec<_> = stages
        .into_iter()
        .map(|stage| {
            let mut entry = away.entry(Event::StageSeen {
                valve: INTAKE,
                stage,
                locks_dropped: 0,
                seals_spoiled: 0,
            });
            entry.clock = (entry.at_ms as u64, 1);
            entry
        })
        .collect();
    bay.scribe.at_ms += 3_600_000;
    let sheet = all_ticked(&bay.job);
    let batch = enter(&mut bay, &sheet);
    let journals = [bay.entries.clone(), tapped.clone()];
    let fold = |journals: Vec<Vec<trayzero_core::job::Entry>>| {
        let mut job = JobState::new();
        for entry in trayzero_core::journal::merge(journals).entries {
            job.fold(&entry);
        }
        job
    };
    let job = fold(journals.to_vec());
    let back = fold(journals.into_iter().rev().collect());
    assert!(job == back, "both tablets see the same");
    // What the paper says again is shown as a conflict, not counted twice.
    assert!(job.open_conflicts().count() >= 2);
    let paper = job.papers().next().unwrap();
    assert!(
        paper.id == batch && paper.is_whole,
        "all its lines are there"
    );
    assert!(job.open_conflicts().all(|c| c.entry.paper == Some(batch)));
    assert!(job.gate(0).iter().any(|held| held.code() == "R510"));
    let first = job.valve(INTAKE).unwrap();
    assert_eq!(first.stage_events[Stage::SpringHeld.index()], tapped[0].id);
}

#[test]
fn a_mark_of_another_tablets_batch_is_no_cover_for_a_tap() {
    let mut bay = taken_in(one_cylinder());
    let lines = walk(&bay.job, &all_ticked(&bay.job)).unwrap().lines;
    let signed = opener(&mut bay, &lines);
    let batch = bay.must(signed);
    let mut other = Scribe::new(2, FIRST);
    other.at_ms = bay.scribe.at_ms;
    other.paper = Some(batch);
    let line = other.entry(lines[0].1.clone());
    let refusal = bay.job.apply(&line).unwrap_err();
    assert_eq!(refusal.code(), "R135");
}
