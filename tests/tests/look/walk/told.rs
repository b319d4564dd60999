//! What the screens tell of a job is so, at every place that tells it: figures that are assumed
//! or missing, air in several bays, what stands open, and what the foreman has to see.

use egui::{Rect, vec2};
use trayzero::data::store::Store;
use trayzero::shop::Need;
use trayzero::ui::intent::{Intent, Screen};
use trayzero::ui::screens::sheets::Sheet;
use trayzero::ui::words::{Language, capital};
use trayzero_core::engine::Layout;
use trayzero_core::job::{Event, HeardAt, NextStep, Reading, Stage as ValveStage};
use trayzero_core::parts::Item;
use uuid::Uuid;

use super::finger::controls;
use super::scenes::bar_of;
use super::shop::{create_on, furnished, play};
use super::stage::{NOW, Stage, USUAL};
use crate::pictures::engine;

fn says(stage: &Stage, words: &str) -> bool {
    let nodes = stage.nodes().values();
    let mut texts = nodes.flat_map(|n| [n.label(), n.value()]).flatten();
    texts.any(|text| text.contains(words))
}

/// A tablet with one job on an engine, played on until it stands as wanted.
fn at_work(
    layout: Layout,
    is_there: impl Fn(&NextStep) -> bool,
) -> (tempfile::TempDir, Uuid, Stage) {
    opened(|store| {
        let job = create_on(store, layout, "Bay 1", "pump 12");
        play(job, |job| is_there(&job.state().next_step(None)))
    })
}

/// A tablet with one job, which lies open.
pub fn opened(make: impl FnOnce(&Store) -> Uuid) -> (tempfile::TempDir, Uuid, Stage) {
    let folder = tempfile::tempdir().unwrap();
    let job = make(&Store::open(folder.path(), NOW).unwrap());
    let mut stage = Stage::open_sized(folder.path(), Language::English, USUAL);
    stage.job(job, false);
    (folder, job, stage)
}

fn open(stage: &mut Stage, sheet: Sheet) {
    stage.shell.screens.bay.sheets.open(sheet);
    stage.settle();
}

fn tap(stage: &mut Stage, event: Event) {
    stage.shell.carry_out(Intent::Tap(vec![event]));
    stage.settle();
}

fn wants_air(step: &NextStep) -> bool {
    matches!(step, NextStep::AirOn { .. })
}

#[test]
fn an_assumed_torque_is_called_assumed_and_missing_seats_are_not_called_no_window() {
    let mut layout = engine("inline-4-8v");
    layout.breakaway_measured = false;
    (layout.intake_seat_mm, layout.exhaust_seat_mm) = (None, None);
    let (_folder, _, mut stage) = at_work(layout, wants_air);
    let w = stage.words;
    open(&mut stage, Sheet::Air(1));
    assert!(says(&stage, w.assumed) && !says(&stage, w.measured));
    assert!(says(&stage, w.no_seats) && !says(&stage, w.no_window));
    assert!(!says(&stage, "intake_seat_mm"), "no name of a file's field");
    stage.tap("3");
    assert!(
        !says(&stage, w.holds_and_stays),
        "nobody knows that it holds"
    );
    // Once it was read on a wrench it is measured.
    tap(&mut stage, Event::BreakawayMeasured { torque_nm: 21.0 });
    open(&mut stage, Sheet::Air(1));
    assert!(says(&stage, w.measured) && !says(&stage, w.assumed));
}

#[test]
fn a_leak_down_is_asked_for_once_the_tester_can_go_in_and_taken_no_sooner() {
    let is_read = |step: &NextStep| matches!(step, NextStep::ReadLeak { .. });
    let (_folder, _, mut stage) = at_work(engine("inline-4-8v"), is_read);
    let w = stage.words;
    let job = stage.shell.desk.state().unwrap();
    let at = job.crank().unwrap();
    assert!(job.cylinder(at.cylinder).unwrap().plug_out && !job.wrench_on());
    let bar = bar_of(&stage);
    assert!(bar.starts_with(&w.bar_leak(at.cylinder)), "{bar}");
    // Another cylinder is at no top: its reading is refused, with the way out.
    let elsewhere = 1 + at.cylinder % 4;
    let events = stage.events();
    open(&mut stage, Sheet::Leak(elsewhere, Reading::Before));
    let labels = [w.supply, w.in_cylinder].map(|name| format!("{name} (bar)"));
    stage.write(&labels[0], "6");
    stage.write(&labels[1], "5.6");
    stage.tap(&w.bar_leak(elsewhere));
    assert_eq!(stage.events(), events);
}

/// A job under way in a bay of its own, under air with a valve unlocked.
pub fn under_air(store: &Store, bay: &str) -> Uuid {
    let job = create_on(store, engine("inline-4-8v"), bay, "roller");
    play(job, |job| job.state().unlocked().next().is_some())
}

#[test]
fn the_top_of_the_list_of_bays_tells_of_every_bay_under_air() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(folder.path(), NOW).unwrap();
    under_air(&store, "Bay 1");
    drop(store);
    let stage = Stage::open(folder.path(), Language::English);
    let w = stage.words;
    let one = controls(&stage);
    let air = |all: &[super::finger::Lies]| {
        let on = all.iter().find(|l| l.name.starts_with("air"));
        on.map(|l| l.name.clone()).unwrap_or_default()
    };
    assert!(says(&stage, "Bay 1"), "{:?}", air(&one));
    drop(stage);
    let store = Store::open(folder.path(), NOW).unwrap();
    under_air(&store, "Bay 2");
    drop(store);
    let stage = Stage::open(folder.path(), Language::English);
    assert!(says(&stage, &w.n_bays(2)), "both of them, not one");
}

#[test]
fn what_rests_with_something_open_says_so_in_the_list_in_the_bay_and_on_the_board() {
    let (_folder, job, mut stage) = opened(|store| under_air(store, "Bay 1"));
    let w = stage.words;
    let rests = || capital(w.rests_open);
    assert!(
        !says(&stage, &rests()),
        "while somebody works it is no news"
    );
    tap(
        &mut stage,
        Event::Paused {
            why: "night".into(),
        },
    );
    assert!(says(&stage, &rests()) && says(&stage, w.unlocked_now));
    let need = |stage: &Stage| {
        let root = stage.root();
        let limits = trayzero_core::journal::Limits::OWN;
        let card = super::shop::cards(root, limits)[0].clone();
        card.need(NOW.at_ms, 10)
    };
    assert_eq!(need(&stage), Need::AirForgotten, "nobody is at its air");
    // The piston holds it and air is off: it is open all the same.
    let cylinder = stage.shell.desk.state().unwrap().crank().unwrap().cylinder;
    let hold = trayzero_core::job::HoldKind::Piston;
    let bar = stage.shell.desk.state().unwrap().air_on().unwrap().1;
    tap(&mut stage, Event::Resumed {});
    tap(&mut stage, Event::HoldDeclared { cylinder, hold });
    tap(&mut stage, Event::AirOff { cylinder, bar });
    tap(
        &mut stage,
        Event::Paused {
            why: "night".into(),
        },
    );
    assert!(says(&stage, &rests()));
    assert_eq!(need(&stage), Need::LeftOpen);
    stage.go(Screen::Bays);
    assert!(says(&stage, &rests()), "in the list too");
    // Locked again it rests in peace.
    stage.job(job, false);
    tap(&mut stage, Event::Resumed {});
    let valve = stage.shell.desk.state().unwrap().unlocked().next().unwrap();
    for next in [ValveStage::SealFitted, ValveStage::LocksIn] {
        tap(
            &mut stage,
            Event::StageSeen {
                valve,
                stage: next,
                locks_dropped: 0,
                seals_spoiled: 0,
            },
        );
    }
    tap(
        &mut stage,
        Event::Paused {
            why: "night".into(),
        },
    );
    assert_eq!(need(&stage), Need::Paused);
    stage.go(Screen::Bays);
    assert!(!says(&stage, &rests()));
}

#[test]
fn the_list_of_bays_says_that_the_foreman_has_to_look() {
    let is_read = |step: &NextStep| matches!(step, NextStep::ReadLeak { .. });
    let (_folder, _, mut stage) = at_work(engine("inline-4-8v"), is_read);
    let w = stage.words;
    let cylinder = stage.shell.desk.state().unwrap().crank().unwrap().cylinder;
    let read = |cylinder_bar| Event::LeakRead {
        cylinder,
        when: Reading::Before,
        supply_bar: 6.0,
        cylinder_bar,
        heard: vec![HeardAt::Exhaust],
    };
    let asks = capital(&w.block_foreman(cylinder, 40.0));
    stage.go(Screen::Bays);
    assert!(!says(&stage, &asks));
    let job = stage.shell.desk.view().jobs[0].job;
    stage.job(job, false);
    tap(&mut stage, read(3.6));
    stage.go(Screen::Bays);
    assert!(says(&stage, &asks));
    // Read anew and better, nobody has to look.
    stage.job(job, false);
    tap(&mut stage, read(5.6));
    stage.go(Screen::Bays);
    assert!(!says(&stage, &asks));
}

#[test]
fn a_stop_over_an_open_valve_is_held_on_its_sheet_and_the_way_out_is_a_finding() {
    let (_folder, _, mut stage) = opened(|store| under_air(store, "Bay 1"));
    let w = stage.words;
    let valve = stage.shell.desk.state().unwrap().unlocked().next().unwrap();
    let (cylinder, was_bar) = stage.shell.desk.state().unwrap().air_on().unwrap();
    tap(&mut stage, Event::AirLost { cylinder, was_bar });
    let to_stop = |stage: &mut Stage| {
        stage.tap(w.more);
        stage.tap(w.stop_job);
        stage.write(w.why_word, "the head comes off");
    };
    to_stop(&mut stage);
    assert!(says(&stage, "note that as a finding"));
    stage.tap(w.close);
    stage.tap(&w.valve(valve));
    stage.tap(w.more);
    stage.tap(w.finding);
    stage.tap(w.valve_fell);
    stage.tap(&format!("{}, {}", w.valve_fell, w.goes_into_record));
    assert!(stage.shell.desk.state().unwrap().valve_fell(valve));
    assert!(says(&stage, w.valve_fell_now));
    to_stop(&mut stage);
    assert!(!says(&stage, "note that as a finding"));
    assert!(
        says(&stage, w.unlocked_now),
        "what stays open is read before it is signed"
    );
    stage.tap(w.stop_job);
    assert!(matches!(
        stage.shell.screens.bay.sheets.sheet(),
        Some(Sheet::Sign(_))
    ));
}

#[test]
fn the_tray_keeps_buckets_and_shims_by_valve_and_a_swap_asks_to_be_mended_first() {
    let is_open = |step: &NextStep| matches!(step, NextStep::SeeStage { stage, .. } if *stage == ValveStage::SpringHeld);
    let (_folder, _, mut stage) = at_work(engine("inline-4-16v-bucket"), |s| {
        is_open(s) || wants_air(s)
    });
    let w = stage.words;
    let state = stage.shell.desk.state().unwrap();
    let open_valves: Vec<_> = state.tray_by_valve();
    assert_eq!(open_valves.len(), 4, "all of the cylinder");
    open(&mut stage, Sheet::Parts);
    assert!(says(&stage, w.tray_by_valve));
    for (valve, _) in &open_valves {
        let home = format!("{}: ", capital(&w.valve(*valve)));
        let shim = w.items_n(&Item::Shim, 1);
        let nodes = stage.nodes().values();
        let mut texts = nodes.flat_map(|n| [n.label(), n.value()]).flatten();
        let is_told = texts.any(|text| text.starts_with(&home) && text.contains(&shim));
        assert!(is_told, "{home}");
    }
    stage.tap(w.close);
    // Told on the sheet of parts, it comes before all else.
    let (valve, own) = (open_valves[0].0, open_valves[1].0);
    stage.shell.screens.bay.in_hand = Some(valve);
    open(&mut stage, Sheet::Part);
    stage.tap(&format!("{}: {}", w.item(&Item::Shim), w.valve(own)));
    stage.tap(w.swapped_parts);
    let swap = stage
        .shell
        .desk
        .state()
        .unwrap()
        .open_swaps()
        .next()
        .unwrap()
        .clone();
    assert_eq!((swap.item, swap.valve, swap.own), (Item::Shim, valve, own));
    stage.shell.screens.bay.sheets.close();
    stage.shell.screens.bay.in_hand = None;
    stage.settle();
    let bar = bar_of(&stage);
    assert!(bar.starts_with(w.bar_mend_swap), "{bar}");
    stage.tap(&bar);
    assert_eq!(stage.shell.desk.state().unwrap().open_swaps().count(), 0);
}

fn lies(stage: &Stage, name: &str) -> Option<Rect> {
    let all = controls(stage);
    all.iter()
        .find(|l| l.name.starts_with(name))
        .map(|l| l.seen)
}

#[test]
fn a_count_shows_the_item_and_the_way_to_the_next_at_once_in_the_least_size() {
    for size in [vec2(1024.0, 600.0), vec2(600.0, 1024.0)] {
        let (_folder, jobs, mut stage) = furnished(Language::English, size);
        let w = stage.words;
        stage.job(jobs.depot[3], false);
        stage.tap(&bar_of(&stage));
        stage.tap(w.first_count);
        stage.tap("5");
        stage.tap(w.next_item);
        stage.tap("5");
        let (item, place) = stage.shell.desk.state().unwrap().count_list()[1].clone();
        let name = format!("{}: {}", w.place(place), w.items_n_word(&item));
        let name = capital(&name);
        let shown = stage
            .nodes()
            .values()
            .find(|n| n.label() == Some(&*name) || n.value() == Some(&*name));
        let shown = shown.and_then(egui::accesskit::Node::bounds).unwrap();
        for place in [w.next_item, w.item_before, "5", "0"] {
            let seen = lies(&stage, place).unwrap_or(Rect::NOTHING);
            assert!(seen.height() >= 56.0, "{place} at {size:?}: {seen:?}");
        }
        assert!(shown.y0 > 0.0 && shown.y1 < f64::from(size.y), "{size:?}");
    }
}

#[test]
fn what_takes_back_stands_off_from_what_is_beside_it() {
    for size in [
        vec2(1280.0, 800.0),
        vec2(800.0, 1280.0),
        vec2(600.0, 1024.0),
    ] {
        let (_folder, jobs, mut stage) = furnished(Language::English, size);
        let w = stage.words;
        stage.job(jobs.depot[2], false);
        let (back, more) = (
            lies(&stage, w.take_back).unwrap(),
            lies(&stage, w.more).unwrap(),
        );
        let apart = (more.left() - back.right()).max(more.top() - back.bottom());
        assert!(apart >= 24.0, "{apart} points at {size:?}");
    }
}

#[test]
fn a_folder_that_was_typed_is_kept_on_the_way_back_and_what_is_missing_is_named() {
    let (_folder, job, mut stage) = at_work(engine("inline-4-8v"), wants_air);
    let w = stage.words;
    let shop = tempfile::tempdir().unwrap();
    let path = shop.path().display().to_string();
    open(&mut stage, Sheet::HandOver);
    assert!(says(&stage, w.no_other_tablet), "no folder is set");
    stage.go(Screen::Settings);
    stage.write(w.shop_folder_path, &path);
    stage.tap(w.back);
    let kept = stage.shell.desk.settings().shop_folder.clone();
    assert_eq!(kept, Some(shop.path().to_owned()));
    stage.job(job, false);
    open(&mut stage, Sheet::HandOver);
    assert!(
        says(&stage, w.no_second_tablet),
        "what is missing is another tablet"
    );
    assert!(!says(&stage, w.no_other_tablet));
}
