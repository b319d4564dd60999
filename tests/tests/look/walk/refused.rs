//! A refused tap: its reason stands at the finger, and the next tap takes it away.

use egui::{Pos2, Rect, pos2, vec2};
use trayzero::ui::intent::Intent;
use trayzero::ui::words::Language;
use trayzero_core::job::{Event, Stage as ValveStage};

use super::check::Seen;
use super::scenes::bar_of;
use super::shop::furnished;
use super::stage::{Setting, Stage, USUAL};

/// A bay with a lock astray, so that the locks cannot be seen home.
fn bay_with_a_lock_astray() -> (tempfile::TempDir, Stage) {
    let (folder, jobs, mut stage) = furnished(Language::English, USUAL);
    stage.job(jobs.depot[1], false);
    let state = stage.shell.desk.state().unwrap();
    let (valve, _) = state.valves().find(|(_, v)| v.is_unlocked()).unwrap();
    let fitted = Event::StageSeen {
        valve,
        stage: ValveStage::SealFitted,
        locks_dropped: 0,
        seals_spoiled: 0,
    };
    stage.shell.desk.carry_out(Intent::Tap(vec![fitted]));
    stage.settle();
    (folder, stage)
}

fn setting() -> Setting {
    Setting::of(USUAL, 100)
}

/// Where the refusal stands, if one is shown.
fn note(stage: &mut Stage) -> Option<Rect> {
    let seen = Seen::of(&stage.look(setting()));
    let is_note = |t: &&super::check::Target| t.role == Some(egui::accesskit::Role::Alert);
    let note = seen.targets.iter().find(is_note)?;
    Some(note.rect)
}

#[test]
fn a_refusal_stands_at_the_finger_until_the_next_tap() {
    let (_folder, mut stage) = bay_with_a_lock_astray();
    let bar = bar_of(&stage);
    let bar = stage.place(&bar);
    for at in [
        bar.center(),
        bar.left_bottom() + vec2(6.0, -6.0),
        bar.right_top() + vec2(-6.0, 6.0),
    ] {
        assert!(note(&mut stage).is_none());
        stage.press(at);
        let shown = note(&mut stage).expect("the step is refused");
        let screen = Rect::from_min_size(Pos2::ZERO, setting().size);
        assert!(screen.contains_rect(shown), "{shown:?} leaves the screen");
        assert!(
            shown.distance_to_pos(at) < 60.0,
            "{shown:?} is far from {at:?}"
        );
        assert!(shown.top() > 80.0, "{shown:?} covers the figures");
        // Beside all controls.
        stage.press(pos2(500.0, 40.0));
        assert!(note(&mut stage).is_none(), "the next tap takes it away");
    }
}

#[test]
fn a_tap_on_a_refusal_does_nothing_but_take_it_away() {
    let (_folder, mut stage) = bay_with_a_lock_astray();
    let bar = bar_of(&stage);
    let at = stage.place(&bar).center();
    stage.press(at);
    let shown = note(&mut stage).unwrap();
    let events = stage.shell.desk.state().unwrap().event_count();
    stage.press(shown.center());
    assert!(note(&mut stage).is_none());
    assert!(stage.shell.screens.bay.sheets.sheet().is_none());
    assert_eq!(stage.shell.desk.state().unwrap().event_count(), events);
}

#[test]
fn a_tap_beside_a_refusal_counts_where_it_goes() {
    let (_folder, mut stage) = bay_with_a_lock_astray();
    let bar = bar_of(&stage);
    let at = stage.place(&bar).center();
    stage.press(at);
    assert!(note(&mut stage).is_some());
    let figure = stage.place("adrift: 1").center();
    stage.press(figure);
    assert!(note(&mut stage).is_none());
    assert!(
        stage.shell.screens.bay.sheets.is_open(),
        "the figure opens its sheet"
    );
}

#[test]
fn the_keyboard_has_its_refusal_at_the_control_and_takes_it_away() {
    let (_folder, mut stage) = bay_with_a_lock_astray();
    let name = bar_of(&stage);
    let bar = stage.place(&name);
    stage.focus(&name);
    stage.type_key(egui::Key::Enter);
    let shown = note(&mut stage).expect("the step is refused");
    assert!(
        shown.distance_to_pos(bar.center()) < 60.0,
        "{shown:?} is far from {bar:?}"
    );
    stage.type_key(egui::Key::Escape);
    assert!(note(&mut stage).is_none());
}
