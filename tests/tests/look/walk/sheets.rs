//! What a sheet may do and where: it opens at its top, holds and readings are deliberate,
//! what moves a part never lies where the big bar is, and can be taken back in its place.

use egui::{Rect, Vec2, vec2};
use trayzero::ui::intent::Intent;
use trayzero::ui::screens::sheets::Sheet;
use trayzero::ui::view::Notice;
use trayzero::ui::words::Language;
use trayzero_core::engine::Side;
use trayzero_core::job::{
    Caution, Event, Finding, FindingKind, HeardAt, HoldKind, JobPhase, NextStep, Reading,
    SearchPlace, Stage as ValveStage,
};
use trayzero_core::parts::{Item, Place};

use super::finger::controls;
use super::scenes::bar_of;
use super::shop::{FOREMAN, Jobs, furnished, technician};
use super::stage::Stage;

pub const SIZES: [Vec2; 3] = [
    vec2(1280.0, 800.0),
    vec2(800.0, 1280.0),
    vec2(1024.0, 600.0),
];

pub fn shop(size: Vec2) -> (tempfile::TempDir, Jobs, Stage) {
    furnished(Language::English, size)
}

fn usual() -> (tempfile::TempDir, Jobs, Stage) {
    shop(SIZES[0])
}

/// Taps on without looking until a step is due.
pub fn until(stage: &mut Stage, mut is_due: impl FnMut(&NextStep) -> bool) {
    let mut technician = technician();
    for _ in 0..600 {
        let step = stage.shell.desk.view().job.unwrap().next.clone();
        if is_due(&step) {
            stage.shell.screens.bay.sheets.close();
            stage.settle();
            return;
        }
        let events = technician.answer(stage.shell.desk.state().unwrap(), &step);
        stage.shell.carry_out(Intent::Tap(events));
    }
    panic!("the step does not come");
}

pub fn count_of(stage: &Stage, item: &Item, place: Place) -> u32 {
    stage.shell.desk.state().unwrap().ledger().at(item, place)
}

pub fn says(stage: &Stage, words: &str) -> bool {
    let nodes = stage.nodes().values();
    let mut texts = nodes.flat_map(|n| [n.label(), n.value()]).flatten();
    texts.any(|text| text.contains(words))
}

/// Where a control lies, if it is there and in sight.
pub fn lies(stage: &Stage, name: &str) -> Option<Rect> {
    let all = controls(stage);
    all.iter().find(|l| l.name == name).map(|l| l.seen)
}

/// Where the control lies whose name begins so.
pub fn begins(stage: &Stage, name: &str) -> Option<Rect> {
    let all = controls(stage);
    let found = all.iter().find(|l| l.name.starts_with(name));
    found.map(|l| l.seen)
}

#[test]
fn every_sheet_opens_at_its_top_also_when_another_was_scrolled_before() {
    let (_folder, jobs, mut stage) = shop(SIZES[2]);
    let w = stage.words;
    for _ in 0..2 {
        stage.job(jobs.depot[2], false);
        stage.tap(w.more);
        stage.tap(w.part_changed);
        let first = w.changed(&w.item(&Item::Lock));
        let at = |stage: &Stage| begins(stage, &first).map(|r| r.top());
        let top = at(&stage);
        assert!(top.is_some());
        stage.scroll(
            lies(&stage, w.close).unwrap().center() - vec2(40.0, 160.0),
            -900.0,
        );
        assert_ne!(at(&stage), top, "it scrolls");
        // The bay is left and entered again, and the same sheet opened.
        stage.job(jobs.depot[2], false);
        stage.tap(w.more);
        stage.tap(w.part_changed);
        assert_eq!(at(&stage), top);
    }
}

#[test]
fn a_hold_is_never_taken_by_one_tap_and_names_what_is_seen() {
    let (_folder, jobs, mut stage) = usual();
    let w = stage.words;
    stage.job(jobs.fresh, false);
    // A cord goes in before the hose does.
    until(&mut stage, |s| matches!(s, NextStep::HoseIn { .. }));
    let cylinder = stage.shell.desk.state().unwrap().crank().unwrap().cylinder;
    let held = |stage: &Stage| {
        let state = stage.shell.desk.state().unwrap();
        state.cylinder(cylinder).unwrap().hold
    };
    let events = stage.events();
    stage.shell.screens.bay.sheets.open(Sheet::Air(cylinder));
    stage.settle();
    stage.tap(w.hold_without_air);
    stage.tap(w.hold(HoldKind::Cord));
    stage.tap(w.hold_seen(HoldKind::Cord));
    assert_eq!(
        (held(&stage), stage.events()),
        (None, events),
        "nothing is taken yet"
    );
    let bar = w.bar_hold(cylinder, w.hold(HoldKind::Cord));
    stage.tap(&bar);
    assert_eq!(held(&stage), None, "one sight is not enough");
    stage.tap(w.hold_stays(HoldKind::Cord));
    stage.tap(&bar);
    assert_eq!(held(&stage), Some(HoldKind::Cord));
    // The bar and the engine say what holds.
    let is_pressed = |s: &NextStep| matches!(s, NextStep::SeeStage { stage, .. } if *stage == ValveStage::SpringHeld);
    until(&mut stage, is_pressed);
    let more = w.spring_pressed_and(w.hold(HoldKind::Cord));
    assert!(says(&stage, &more), "the bar names the cord");
    assert!(!says(&stage, w.locks_in_sight_more), "and no air");
    let mark = format!("{}, ", w.cylinder_n(cylinder));
    assert!(says(&stage, w.hold(HoldKind::Cord)), "{mark}");
}

#[test]
fn no_reading_stands_there_before_it_is_read() {
    let (_folder, jobs, mut stage) = usual();
    let w = stage.words;
    stage.job(jobs.fresh, false);
    until(&mut stage, |s| matches!(s, NextStep::CountKit));
    let open = |stage: &mut Stage, sheet: Sheet| {
        stage.shell.screens.bay.sheets.open(sheet);
        stage.settle();
        stage.events()
    };
    let events = open(&mut stage, Sheet::Kit);
    stage.tap(w.bar_kit);
    assert_eq!(stage.events(), events, "no line of the kit is ticked");
    until(&mut stage, |s| matches!(s, NextStep::ReadLeak { .. }));
    let events = open(&mut stage, Sheet::Leak(1, Reading::Before));
    stage.tap(&w.bar_leak(1));
    assert_eq!(stage.events(), events, "no gauge is read");
    until(&mut stage, |s| matches!(s, NextStep::AirOn { .. }));
    let cylinder = stage.shell.desk.state().unwrap().crank().unwrap().cylinder;
    let events = open(&mut stage, Sheet::Air(cylinder));
    stage.tap(&w.bar_air_on(cylinder));
    assert_eq!(stage.events(), events, "the regulator is not read");
    stage.tap("3");
    stage.tap(&w.bar_air_on(cylinder));
    assert_eq!(stage.events(), events + 1);
}

#[test]
fn the_keys_of_the_leak_sheet_write_into_the_gauge_that_was_touched() {
    let (_folder, jobs, mut stage) = usual();
    let w = stage.words;
    stage.job(jobs.fresh, false);
    stage
        .shell
        .screens
        .bay
        .sheets
        .open(Sheet::Leak(1, Reading::Before));
    stage.settle();
    stage.tap("6");
    stage.focus_field(&format!("{} (bar)", w.in_cylinder));
    stage.tap("5");
    stage.focus_field(&format!("{} (bar)", w.supply));
    stage.tap(w.decimal_point);
    stage.tap("5");
    assert_eq!(
        stage.value(&format!("{} (bar)", w.supply)).as_deref(),
        Some("6.5")
    );
    assert_eq!(
        stage.value(&format!("{} (bar)", w.in_cylinder)).as_deref(),
        Some("5")
    );
    let bar = lies(&stage, &format!("{}, {}", w.bar_leak(1), w.bar_leak_more)).unwrap();
    assert!(bar.bottom() < 800.0, "the action is on the screen");
}

#[test]
fn a_change_of_part_issues_what_is_short_and_says_what_it_did() {
    let (_folder, jobs, mut stage) = usual();
    let w = stage.words;
    stage.job(jobs.depot[2], false);
    assert_eq!(count_of(&stage, &Item::Retainer, Place::Stock), 0);
    stage.shell.screens.bay.sheets.open(Sheet::Part);
    stage.settle();
    stage.tap(&w.changed(&w.item(&Item::Retainer)));
    stage.tap(w.change_it);
    let state = stage.shell.desk.state().unwrap();
    let changed = |f: &&trayzero_core::job::Fact| matches!(&f.event, Event::PartReplaced { item, .. } if *item == Item::Retainer);
    assert!(state.facts().iter().any(|f| changed(&f)));
    let back = format!("{}, {}", w.take_back, w.issued_and_changed);
    assert!(lies(&stage, &back).is_some(), "it says so in place");
}

#[test]
fn found_and_searched_look_unlike_each_other_and_stay_in_their_place() {
    let (_folder, jobs, mut stage) = usual();
    let w = stage.words;
    stage.job(jobs.depot[1], false);
    stage.tap(&format!("{}: 1", w.adrift));
    let found = format!("{}: {}", w.found_it, w.place(Place::Tray));
    let offer = |stage: &Stage| {
        let all = controls(stage);
        let nodes = stage.nodes().values();
        let any = nodes
            .filter_map(|n| n.label())
            .any(|l| l.starts_with(&found));
        (
            any,
            all.iter().any(|l| {
                l.name
                    .starts_with(w.search_place(SearchPlace::BenchAndFloor))
            }),
        )
    };
    assert_eq!(
        offer(&stage),
        (true, true),
        "the deed is named before it can be done"
    );
    let events = stage.events();
    stage.tap(&found);
    assert_eq!(stage.events(), events, "where it was found is missing");
    stage.tap(w.was_searched);
    assert!(!says(&stage, &found));
    assert!(says(&stage, &w.places_left(5)));
}

#[test]
fn a_caution_is_read_and_its_step_taken_with_it() {
    let (_folder, jobs, mut stage) = usual();
    let w = stage.words;
    stage.job(jobs.fresh, false);
    until(&mut stage, |s| matches!(s, NextStep::Turn { .. }));
    let bar = bar_of(&stage);
    stage.tap(&bar);
    assert!(says(&stage, w.caution_seen(Caution::Crank)));
    stage.tap(w.caution_seen(Caution::Crank));
    assert!(
        stage.shell.desk.state().unwrap().crank().is_some(),
        "one tap, not two"
    );
    assert!(!stage.shell.screens.bay.sheets.is_open());
}

#[test]
fn what_the_foreman_signs_shows_the_reading_and_where_it_was_heard() {
    let (_folder, jobs, mut stage) = usual();
    let w = stage.words;
    stage.job(jobs.fresh, false);
    let mut due = None;
    until(&mut stage, |step| {
        if let NextStep::ReadLeak { cylinder, .. } = step {
            due = Some(*cylinder);
        }
        due.is_some()
    });
    let read = Event::LeakRead {
        cylinder: due.unwrap(),
        when: Reading::Before,
        supply_bar: 6.0,
        cylinder_bar: 3.6,
        heard: vec![HeardAt::Exhaust],
    };
    stage.shell.carry_out(Intent::Tap(vec![read]));
    stage.settle();
    assert!(says(&stage, "loses 40 %"), "the bay says it at once");
    stage.shell.screens.bay.sheets.open(Sheet::Card);
    stage.settle();
    assert!(says(&stage, "loses 40 %"), "and so does the return card");
    let act = trayzero::ui::intent::SignedAct::ForemanAgrees(due.unwrap());
    stage.shell.screens.bay.sheets.open(Sheet::Sign(act));
    stage.settle();
    let units = stage.shell.desk.view().units;
    let gauges = [6.0, 3.6].map(|bar| trayzero::ui::units::pressure(bar, units));
    for part in [
        "40 %",
        &gauges[0],
        &gauges[1],
        w.heard_at(HeardAt::Exhaust),
        FOREMAN.0,
    ] {
        assert!(says(&stage, part), "{part}");
    }
}

#[test]
fn a_finding_a_hold_and_a_put_off_cylinder_are_seen_on_the_engine_and_on_the_card() {
    let (_folder, jobs, mut stage) = usual();
    let w = stage.words;
    stage.job(jobs.fresh, false);
    let layout = stage.shell.desk.state().unwrap().layout_arc().unwrap();
    let valve = layout
        .valves_of(3)
        .find(|v| v.side == Side::Intake)
        .unwrap();
    let found = Event::FindingNoted(Box::new(Finding {
        cylinder: 3,
        valve: Some(valve),
        kind: FindingKind::Other,
        text: "a mark on the guide".into(),
    }));
    stage.shell.carry_out(Intent::Tap(vec![found]));
    stage
        .shell
        .carry_out(Intent::Tap(vec![Event::CylinderPutOff { cylinder: 4 }]));
    stage.settle();
    let valve_name = format!("{}: {}, {}", w.valve(valve), w.untouched, w.finding);
    assert!(says(&stage, &valve_name), "on the engine");
    stage.shell.screens.bay.sheets.open(Sheet::Card);
    stage.settle();
    assert!(says(&stage, "a mark on the guide"), "on the card");
    assert!(says(&stage, w.is_put_off), "on the card");
}

#[test]
fn while_somebody_counts_nothing_shows_what_is_expected_and_the_figures_stay() {
    let (_folder, jobs, mut stage) = usual();
    let w = stage.words;
    stage.job(jobs.depot[3], false);
    let bar = bar_of(&stage);
    stage.tap(&bar);
    stage.tap(w.first_count);
    stage.tap("7");
    stage.tap(w.next_item);
    stage.tap("3");
    // The sheet is closed and opened again: both figures are there.
    stage.tap(w.close);
    let blind = format!("{}: \u{2013}", w.loose);
    assert!(says(&stage, &blind), "the figures at the top are hidden");
    stage.tap(&format!("{}: \u{2013}", w.aboard));
    assert!(says(&stage, w.count_is_blind) && !says(&stage, "in the kit"));
    assert!(
        !says(&stage, &w.item(&Item::VentedCover)),
        "no part is named with its figure"
    );
    stage.tap(w.close);
    stage.tap(&bar);
    stage.tap(w.first_count);
    assert!(says(&stage, "2 of "), "the second item, as it was left");
    stage.tap(w.item_before);
    assert!(
        says(&stage, "1 of ") && says(&stage, "7"),
        "its figure is there"
    );
    // To look all the same ends the count.
    stage.tap(w.close);
    stage.tap(&format!("{}: \u{2013}", w.aboard));
    stage.tap(w.give_count_up);
    assert!(!says(&stage, w.count_is_blind));
    stage.tap(w.close);
    stage.tap(&bar);
    stage.tap(w.first_count);
    assert!(says(&stage, "1 of ") && !stage.has(w.item_before) || says(&stage, "\u{2013}"));
}

#[test]
fn after_the_job_is_over_the_bar_leads_to_the_record() {
    let (_folder, jobs, mut stage) = usual();
    let w = stage.words;
    stage.job(jobs.depot[4], false);
    assert_eq!(stage.shell.desk.state().unwrap().phase(), JobPhase::Closed);
    let live = controls(&stage);
    for name in [w.dropped_one, w.part_changed] {
        assert!(
            live.iter().all(|l| l.name != name),
            "{name} is not offered any more"
        );
    }
    stage.tap(w.write_record);
    let written = matches!(stage.shell.desk.view().notice, Some(Notice::Said(text)) if text.contains(w.record_written));
    assert!(written);
}

#[test]
fn a_rest_takes_a_word_and_says_what_stands_open() {
    let (_folder, jobs, mut stage) = usual();
    let w = stage.words;
    stage.job(jobs.depot[2], false);
    stage.tap(w.more);
    stage.tap(w.pause);
    let events = stage.events();
    assert!(says(&stage, w.say_it_in_words));
    stage.tap(&format!("{}, ", w.pause));
    stage.write(w.why_word, "the day is over");
    for open in [w.unlocked_now, &w.air_on_cylinder(3)] {
        assert!(says(&stage, open), "{open} is said before work rests");
    }
    assert_eq!(stage.events(), events, "nothing is taken without a word");
    stage.tap(w.pause);
    let phase = stage.shell.desk.state().unwrap().phase();
    assert_eq!(phase, JobPhase::Paused);
}

#[test]
fn no_code_of_a_refusal_is_on_the_screen() {
    let (_folder, jobs, mut stage) = usual();
    stage.job(jobs.depot[2], false);
    stage
        .shell
        .carry_out(Intent::Tap(vec![Event::WrenchOff {}]));
    stage.settle();
    let notice = stage.shell.desk.view().notice.cloned();
    let Some(Notice::Refused { why, code, .. }) = notice else {
        panic!("it is refused: {notice:?}");
    };
    assert!(says(&stage, &why));
    assert!(!says(&stage, code), "{code}");
}

#[test]
fn the_keys_of_a_code_come_into_sight_once_a_name_is_chosen() {
    for size in [vec2(1024.0, 600.0), vec2(600.0, 1024.0)] {
        let (_folder, jobs, mut stage) = shop(size);
        let w = stage.words;
        stage.job(jobs.depot[2], false);
        stage.tap(w.more);
        stage.tap(w.take_over);
        stage.tap(FOREMAN.0);
        stage.settle();
        let digits = (0..10).map(|digit| digit.to_string());
        let others = [w.erase_all, w.delete, "abc"].map(str::to_owned);
        for key in digits.chain(others) {
            let seen = lies(&stage, &key).unwrap_or(Rect::NOTHING);
            let side = seen.width().min(seen.height());
            assert!(side >= 55.9, "{key:?} at {size}: {seen:?}");
        }
    }
}
