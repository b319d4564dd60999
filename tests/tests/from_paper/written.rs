//! What a sheet says besides its ticks: what fell and where, what held, how many seals, when.

use trayzero_core::engine::{Side, ValveName};
use trayzero_core::job::{
    Event, HoldKind, NextStep, PaperBox, PaperDrop, PaperRefusal, PaperSheet, PaperWhy, Person,
    Reading, SearchPlace, Stage, Step,
};
use trayzero_core::parts::{Item, Place};
use trayzero_tests::bay::{Bay, FIRST, SECOND};
use trayzero_tests::engines::{bucket_cylinder, one_cylinder, two_cylinders};
use uuid::Uuid;

use super::pen::*;
use super::walked::{half_done, taken_in};

const INTAKE: ValveName = ValveName::new(1, Side::Intake, 1);

fn refused(bay: &Bay, sheet: &PaperSheet) -> PaperRefusal {
    walk(&bay.job, sheet).unwrap_err()
}

fn at(at: PaperBox, why: PaperWhy) -> PaperRefusal {
    PaperRefusal { at: Some(at), why }
}

fn events(bay: &Bay, sheet: &PaperSheet) -> Vec<Event> {
    let lines = walk(&bay.job, sheet).unwrap().lines;
    lines.into_iter().map(|(_, event)| event).collect()
}

fn last_of(bay: &Bay, test: impl Fn(&Event) -> bool) -> Uuid {
    let entry = bay.entries.iter().rev().find(|e| test(&e.event));
    entry.unwrap().id
}

#[test]
fn what_fell_was_where_it_lies_loose_and_fell_as_soon_as_it_did() {
    let loose = |stage| Some((INTAKE, stage));
    // What fell, the stage of its valve after which it lay loose, and where it lay.
    let rows = [
        (Item::Follower, loose(Stage::Positioned), Place::Tray),
        (Item::Shim, loose(Stage::Positioned), Place::Tray),
        (Item::Lock, loose(Stage::LocksOut), Place::Tray),
        (Item::Retainer, loose(Stage::LocksOut), Place::Tray),
        (Item::Spring, loose(Stage::LocksOut), Place::Tray),
        (Item::OldSeal, loose(Stage::SealFitted), Place::Scrap),
        (Item::NewSeal, None, Place::Stock),
        (Item::Cover, None, Place::Aside),
        (Item::Plug, None, Place::Aside),
        (Item::Wrench, None, Place::Kit),
    ];
    let bay = taken_in(bucket_cylinder());
    for (item, loose, lay) in rows {
        let mut sheet = all_ticked(&bay.job);
        sheet.seals = Some(3);
        sheet.drops.push(PaperDrop {
            item: item.clone(),
            count: 1,
            valve: loose.map(|(valve, _)| valve),
            found_at: Some(SearchPlace::BenchAndFloor),
        });
        let events = events(&bay, &sheet);
        let is_drop = |e: &Event| matches!(e, Event::PartDropped { .. });
        let fell = events.iter().position(is_drop).unwrap();
        assert!(
            matches!(&events[fell], Event::PartDropped { item: what, from, .. }
                if (what, *from) == (&item, lay)),
            "{:?}",
            events[fell]
        );
        assert!(
            matches!(events[fell + 1], Event::PartFound { to, .. } if to == lay),
            "{item} lies where it lay before"
        );
        let before = match &events[fell - 1] {
            Event::StageSeen { valve, stage, .. } => Some((*valve, *stage)),
            _ => None,
        };
        match loose {
            Some(_) => assert_eq!(before, loose, "{item}"),
            None => assert_eq!(fell, events.len() - 2, "{item} at the end"),
        }
    }
}

#[test]
fn a_stage_that_was_tapped_needs_no_tick_and_the_next_one_does() {
    let mut bay = half_done(one_cylinder(), 0);
    bay.work_until(|job, _| job.unlocked().next().is_some());
    let mut sheet = PaperSheet::default();
    sheet.stages.insert((INTAKE, Stage::LocksIn));
    let missing = PaperBox::Stage(INTAKE, Stage::SealFitted);
    let ticked = PaperBox::Stage(INTAKE, Stage::LocksIn);
    let why = PaperWhy::Before(missing);
    assert_eq!(refused(&bay, &sheet), at(ticked, why));
    sheet.stages.insert((INTAKE, Stage::SealFitted));
    let batch = enter(&mut bay, &sheet);
    let of_valve = bay.job.paper_of_valve(INTAKE).map(|paper| paper.id);
    assert_eq!(of_valve, Some(batch));
}

#[test]
fn the_cylinder_that_the_paper_leaves_in_the_middle_comes_last() {
    let mut bay = taken_in(two_cylinders());
    let middle = order_of(bay.job.layout().unwrap())[0].0.cylinder;
    let left = ValveName::new(middle, Side::Intake, 1);
    let mut sheet = all_ticked(&bay.job);
    sheet.stages.retain(|(valve, _)| valve.cylinder != middle);
    tick_up_to(&mut sheet, left, Stage::LocksOut);
    enter(&mut bay, &sheet);
    assert!(bay.job.cylinder_verified(3 - middle));
    assert_eq!(bay.job.unlocked().collect::<Vec<_>>(), [left]);
    assert_eq!(bay.job.crank().map(|at| at.cylinder), Some(middle));
}

#[test]
fn air_and_a_hold_that_are_both_written_were_both_there() {
    let bay = taken_in(one_cylinder());
    let mut sheet = all_ticked(&bay.job);
    sheet.holds.insert(1, HoldKind::Piston);
    let events = events(&bay, &sheet);
    let place = |test: fn(&Event) -> bool| events.iter().position(test).unwrap();
    let air = place(|e| matches!(e, Event::AirOn { .. }));
    assert!(air < place(|e| matches!(e, Event::HoldDeclared { .. })));
}

#[test]
fn what_held_a_cylinder_before_may_be_written_again_but_not_otherwise() {
    let mut bay = half_done(one_cylinder(), 0);
    bay.work_until(|job, _| job.air_on().is_some());
    let mut sheet = PaperSheet::default();
    tick_up_to(&mut sheet, INTAKE, Stage::LocksOut);
    for (bar, answer) in [(4.0, None), (3.9, Some(PaperWhy::NotNeeded))] {
        sheet.air_bar.insert(1, bar);
        let refusal = walk(&bay.job, &sheet).err();
        let holds = PaperBox::Holds(1);
        assert_eq!(refusal, answer.map(|why| at(holds, why)), "{bar} bar");
    }
}

#[test]
fn seals_and_holds_that_nothing_needs_are_named() {
    let mut bay = taken_in(two_cylinders());
    let mut sheet = all_ticked(&bay.job);
    sheet.stages.retain(|(valve, _)| valve.cylinder == 1);
    let unneeded = at(PaperBox::Holds(2), PaperWhy::NotNeeded);
    assert_eq!(refused(&bay, &sheet), unneeded);
    sheet.air_bar.remove(&2);
    enter(&mut bay, &sheet);
    // The same once more says nothing new, and other figures than those that stand do.
    let again = refused(&bay, &sheet);
    assert_eq!((again.at, again.why), (None, PaperWhy::Stands));
    sheet.seals = Some(5);
    let unneeded = at(PaperBox::Seals, PaperWhy::NotNeeded);
    assert_eq!(refused(&bay, &sheet), unneeded);
}

#[test]
fn a_step_that_was_forgotten_may_be_ticked_late_but_not_out_of_turn() {
    let bay = taken_in(one_cylinder());
    let mut sheet = PaperSheet::default();
    sheet.steps.extend([Step::EngineCold, Step::ConnectorsOff]);
    let missing = PaperWhy::Before(PaperBox::Step(Step::BatteryOff));
    let ticked = PaperBox::Step(Step::ConnectorsOff);
    assert_eq!(refused(&bay, &sheet), at(ticked, missing));
    let mut sheet = PaperSheet::default();
    sheet.leaks.push(leak(1, Reading::Before));
    let missing = PaperWhy::Before(PaperBox::Step(Step::EngineCold));
    let read = PaperBox::Leak(1, Reading::Before);
    assert_eq!(refused(&bay, &sheet), at(read, missing));

    // The valves were begun on the tablet without it, and without the wrench being counted.
    let mut bay = half_done(one_cylinder(), 1);
    let step = Step::ConnectorsOff;
    let wrench = Event::KitCounted {
        item: Item::Wrench,
        count: 1,
    };
    for forgotten in [Event::StepSeen { step }, wrench.clone()] {
        let event = last_of(&bay, |e| *e == forgotten);
        bay.take_back(event).unwrap();
    }
    let mut sheet = PaperSheet::default();
    sheet.steps.insert(step);
    sheet.kit.insert(Item::Wrench);
    assert_eq!(events(&bay, &sheet), [Event::StepSeen { step }, wrench]);
}

#[test]
fn after_the_gate_only_what_is_written_is_read_and_opened_for() {
    let mut bay = half_done(two_cylinders(), 0);
    bay.work_until(|job, _| job.step_seen(Step::TurnedTwiceByHand).is_some());
    let mut sheet = PaperSheet::default();
    sheet.steps.insert(Step::ConnectorsOn);
    let step = Step::ConnectorsOn;
    assert_eq!(events(&bay, &sheet), [Event::StepSeen { step }]);
    sheet.leaks.push(leak(2, Reading::After));
    let read = |e: &Event| match e {
        Event::LeakRead { cylinder, .. } => Some(*cylinder),
        _ => None,
    };
    let bank_waits = walk(&bay.job, &sheet).unwrap();
    let lines = bank_waits.lines.iter();
    assert_eq!(lines.filter_map(|(_, e)| read(e)).collect::<Vec<_>>(), [2]);
}

#[test]
fn a_sheet_with_anything_on_it_is_not_blank() {
    assert!(PaperSheet::default().is_blank());
    let sheet = PaperSheet {
        seals: Some(0),
        ..PaperSheet::default()
    };
    assert!(!sheet.is_blank());
}

#[test]
fn a_paper_tells_of_no_time_before_the_last_tap_but_of_its_own() {
    const MINUTE: i64 = 60_000;
    let mut bay = taken_in(one_cylinder());
    // The clock stands at the beginning of a minute when the last thing is tapped.
    bay.scribe.at_ms += 50 * MINUTE - (bay.scribe.at_ms % MINUTE) - 20_000;
    bay.must(Event::Noted {
        text: "The tablet is dead.".to_owned(),
    });
    let tap = bay.scribe.at_ms;
    assert_eq!(tap % MINUTE, 0);
    let early = |bay: &Bay, person, ms| bay.job.is_paper_too_early(&Person::new(person), ms);
    for (ms, is_early) in [(tap - 1, true), (tap, false), (tap + 59_999, false)] {
        assert_eq!(early(&bay, SECOND, ms), is_early, "{}", ms - tap);
    }
    // Half an hour of work on paper is entered an hour later: entering is no tap.
    let done = tap + 30 * MINUTE;
    let mut sheet = PaperSheet::default();
    sheet.steps.extend([Step::EngineCold, Step::BatteryOff]);
    let lines = walk(&bay.job, &sheet).unwrap().lines;
    bay.scribe.at_ms = done;
    let signed = opener(&mut bay, &lines);
    bay.scribe.at_ms = tap + 90 * MINUTE;
    enter_under(&mut bay, signed, &lines).unwrap();
    assert!(!early(&bay, FIRST, tap) && early(&bay, FIRST, tap - 1));
    // After the next tap it is the same sheet alone that goes on.
    bay.must(Event::Noted {
        text: "Charged again.".to_owned(),
    });
    let rows = [
        (SECOND, done, false),
        (SECOND, done + 30_000, false),
        (SECOND, done + MINUTE, true),
        (FIRST, done, true),
        (FIRST, bay.scribe.at_ms, false),
    ];
    for (person, ms, is_early) in rows {
        assert_eq!(early(&bay, person, ms), is_early, "{person} {}", ms - tap);
    }
    let step = NextStep::See(Step::ConnectorsOff);
    assert_eq!(bay.job.next_step(None), step);
}
