//! What fingers, palms and sleeves come to.

use egui::pos2;

use super::*;

const SCREEN: Rect = Rect::from_min_max(Pos2::ZERO, pos2(1280.0, 800.0));

fn down(id: u64, at: Pos2, now_s: f64) -> Down {
    Down {
        id,
        at,
        now_s,
        target: Some(target(at)),
        is_on_key: false,
    }
}

/// Targets of 100 points, edge to edge.
fn target(at: Pos2) -> Id {
    Id::unique(((at.x / 100.0) as i32, (at.y / 100.0) as i32))
}

/// Lifts a touch as the glass does: its target must be the same where it began.
fn lift(tracker: &mut Tracker, id: u64, now_s: f64) -> Option<Act> {
    let (began, at) = tracker.places(id)?;
    let same = (target(began) == target(at)).then(|| target(began));
    tracker.ends(id, now_s, same)
}

#[test]
fn a_tap_may_slide_by_24_points_and_last_a_second_and_a_half() {
    for (slide, lasts_s, is_tap) in [
        (0.0, 0.05, true),
        (8.0, 0.2, true),
        (16.0, 1.0, true),
        (24.0, 1.4, true),
        (32.0, 0.2, false),
        (8.0, 1.6, false),
    ] {
        let mut tracker = Tracker::default();
        let at = pos2(640.0, 440.0);
        tracker.begins(down(1, at, 10.0), SCREEN);
        let moved = tracker.moves(1, at + egui::vec2(slide, 0.0), 10.0 + lasts_s / 2.0);
        assert_eq!(moved.is_some(), slide > TAP_SLIDE, "{slide}");
        let act = lift(&mut tracker, 1, 10.0 + lasts_s);
        assert_eq!(act == Some(Act::Tap(at)), is_tap, "{slide} {lasts_s}");
    }
}

#[test]
fn a_tap_that_ends_on_another_target_means_nothing() {
    let mut tracker = Tracker::default();
    tracker.begins(down(1, pos2(690.0, 440.0), 0.0), SCREEN);
    tracker.moves(1, pos2(706.0, 440.0), 0.1);
    assert_eq!(lift(&mut tracker, 1, 0.2), None);
}

#[test]
fn a_palm_disables_nothing_and_means_nothing_when_it_goes() {
    let mut tracker = Tracker::default();
    let palm = pos2(200.0, 600.0);
    tracker.begins(down(1, palm, 0.0), SCREEN);
    for (n, at_s) in [(2, 0.3), (3, 5.0), (4, 60.0)] {
        let at = pos2(900.0, 400.0);
        tracker.begins(down(n, at, at_s), SCREEN);
        assert_eq!(lift(&mut tracker, n, at_s + 0.1), Some(Act::Tap(at)));
    }
    assert_eq!(lift(&mut tracker, 1, 61.0), None);
}

#[test]
fn of_two_fingers_at_once_the_first_that_is_lifted_counts() {
    let mut tracker = Tracker::default();
    let (a, b) = (pos2(200.0, 600.0), pos2(900.0, 400.0));
    tracker.begins(down(1, a, 0.0), SCREEN);
    tracker.begins(down(2, b, 0.02), SCREEN);
    assert_eq!(lift(&mut tracker, 2, 0.1), Some(Act::Tap(b)));
    assert_eq!(lift(&mut tracker, 1, 0.12), None);
    // Keys are struck faster than fingers are lifted.
    for (id, at) in [(3, a), (4, b)] {
        let key = Down {
            is_on_key: true,
            ..down(id, at, 1.0 + 0.2 * id as f64)
        };
        tracker.begins(key, SCREEN);
    }
    assert_eq!(lift(&mut tracker, 3, 2.0), Some(Act::Tap(a)));
    assert_eq!(lift(&mut tracker, 4, 2.1), Some(Act::Tap(b)));
}

#[test]
fn what_comes_from_the_edge_or_as_a_patch_of_skin_is_no_tap() {
    let mut tracker = Tracker::default();
    tracker.begins(down(1, pos2(3.0, 400.0), 0.0), SCREEN);
    assert_eq!(lift(&mut tracker, 1, 0.1), None);
    tracker.begins(down(2, pos2(500.0, 400.0), 1.0), SCREEN);
    tracker.begins(down(3, pos2(530.0, 410.0), 1.05), SCREEN);
    assert_eq!(lift(&mut tracker, 2, 1.1), None);
    assert_eq!(lift(&mut tracker, 3, 1.1), None);
}

#[test]
fn a_drag_scrolls_throws_stops_under_the_finger_and_is_never_a_tap() {
    let mut tracker = Tracker::default();
    let at = pos2(640.0, 440.0);
    tracker.begins(down(1, at, 0.0), SCREEN);
    let mut gone = 0.0;
    for step in 1..=10 {
        let to = at - egui::vec2(0.0, 12.0 * step as f32);
        let act = tracker.moves(1, to, 0.016 * f64::from(step));
        if let Some(Act::Scroll { at: from, by }) = act {
            assert_eq!(from, at);
            gone += by.y;
        }
    }
    assert!((gone + 96.0).abs() < 0.1, "{gone}");
    assert_eq!(lift(&mut tracker, 1, 0.17), None);
    assert!(tracker.is_thrown());
    let Some(Act::Scroll { by, .. }) = tracker.runs_on(0.186) else {
        panic!("it runs on");
    };
    assert!(by.y < -5.0, "{by:?}");
    // Back at where it began it is a scroll still.
    tracker.begins(down(2, at, 0.2), SCREEN);
    assert!(!tracker.is_thrown(), "it stops under the finger");
    assert_eq!(lift(&mut tracker, 2, 0.25), None, "and that is no tap");
    assert_eq!(tracker.runs_on(0.3), None);
}

#[test]
fn a_finger_that_a_slow_window_hears_all_at_once_throws_nothing() {
    let mut tracker = Tracker::default();
    let at = pos2(640.0, 700.0);
    tracker.begins(down(1, at, 0.0), SCREEN);
    // It came, went, rested and left, all before the window drew again.
    let mut gone = 0.0;
    for step in 1..=10 {
        let to = at - egui::vec2(0.0, 30.0 * step as f32);
        if let Some(Act::Scroll { by, .. }) = tracker.moves(1, to, 0.4) {
            gone += by.y;
        }
    }
    assert!((gone + 300.0).abs() < 0.1, "it was dragged by {gone}");
    assert_eq!(lift(&mut tracker, 1, 0.4), None);
    assert!(!tracker.is_thrown());
}

#[test]
fn a_throw_comes_to_rest_by_itself() {
    let mut tracker = Tracker::default();
    tracker.begins(down(1, pos2(640.0, 700.0), 0.0), SCREEN);
    for step in 1..=10 {
        tracker.moves(
            1,
            pos2(640.0, 700.0 - 30.0 * step as f32),
            0.016 * f64::from(step),
        );
    }
    lift(&mut tracker, 1, 0.165);
    let mut frames = 0;
    while tracker.runs_on(0.165 + 0.016 * f64::from(frames)).is_some() {
        frames += 1;
        assert!(frames < 300, "it never rests");
    }
    assert!(frames > 20, "{frames}");
}

#[test]
fn two_fingers_that_part_pinch_and_take_no_tap() {
    let mut tracker = Tracker::default();
    tracker.begins(down(1, pos2(600.0, 400.0), 0.0), SCREEN);
    tracker.begins(down(2, pos2(700.0, 400.0), 0.1), SCREEN);
    let mut factor = 1.0;
    for step in 1..=10 {
        let far = 10.0 * step as f32;
        let at_s = 0.1 + 0.02 * f64::from(step);
        for (id, x) in [(1, 600.0 - far), (2, 700.0 + far)] {
            match tracker.moves(id, pos2(x, 400.0), at_s) {
                Some(Act::Pinch { factor: f, .. }) => factor *= f,
                Some(other) => panic!("{other:?}"),
                None => {}
            }
        }
    }
    assert!((factor - 3.0).abs() < 0.01, "{factor}");
    assert_eq!(lift(&mut tracker, 1, 0.5), None);
    assert_eq!(lift(&mut tracker, 2, 0.5), None);
}

#[test]
fn a_palm_beside_a_scrolling_finger_does_not_stop_it() {
    let mut tracker = Tracker::default();
    tracker.begins(down(1, pos2(200.0, 600.0), 0.0), SCREEN);
    tracker.begins(down(2, pos2(900.0, 600.0), 0.1), SCREEN);
    let mut gone = 0.0;
    for step in 1..=10 {
        let to = pos2(900.0, 600.0 - 12.0 * step as f32);
        if let Some(Act::Scroll { by, .. }) = tracker.moves(2, to, 0.1 + 0.02 * f64::from(step)) {
            gone += by.y;
        }
    }
    assert!(gone < -60.0, "{gone}");
}

#[test]
fn what_the_system_takes_away_is_forgotten() {
    let mut tracker = Tracker::default();
    tracker.begins(down(1, pos2(200.0, 600.0), 0.0), SCREEN);
    assert_eq!(tracker.pressed(0.1).count(), 1);
    assert_eq!(tracker.pressed(1.6).count(), 0, "a palm presses nothing");
    tracker.is_cancelled(1);
    assert!(!tracker.is_touched());
}
