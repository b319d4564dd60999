//! What a foot comes to, as the raw hook hears it: a key that repeats looks like one that
//! is pressed anew.

use egui::{Key, Modifiers};

use super::*;

/// A pedal that sends B, and the frames that it is heard in.
struct TestFoot {
    ctx: Context,
    pedal: Pedal,
    now_s: f64,
    said: Vec<PedalPress>,
}

fn key(is_down: bool) -> Event {
    Event::Key {
        key: Key::B,
        physical_key: None,
        pressed: is_down,
        // As in the window: egui fills it in only after the hook.
        repeat: false,
        modifiers: Modifiers::NONE,
    }
}

impl TestFoot {
    fn new() -> Self {
        Self {
            ctx: Context::default(),
            pedal: Pedal {
                sends: "key B".to_owned(),
                ..Pedal::default()
            },
            now_s: 10.0,
            said: Vec::new(),
        }
    }

    fn frame(&mut self, mut events: Vec<Event>) -> Vec<Event> {
        let press = self.pedal.hear(&self.ctx, &mut events, self.now_s);
        self.said.extend(press);
        events
    }

    fn down(&mut self) {
        assert!(self.frame(vec![key(true)]).is_empty(), "it goes nowhere");
    }

    fn up(&mut self) {
        assert!(self.frame(vec![key(false)]).is_empty(), "it goes nowhere");
    }

    /// Time goes by, with a frame every tenth of a second as the pedal asks for.
    fn waits(&mut self, for_s: f64) {
        let until_s = self.now_s + for_s;
        while self.now_s + 0.1 < until_s {
            self.now_s += 0.1;
            self.frame(Vec::new());
        }
        self.now_s = until_s;
    }

    /// Held, with a key that repeats after so long, 25 times a second.
    fn repeats(&mut self, for_s: f64, after_s: f64) {
        let until_s = self.now_s + for_s;
        self.waits(after_s.min(for_s));
        while self.now_s < until_s {
            self.down();
            self.now_s += 0.04;
        }
    }
}

use PedalPress::{Long, Short};

#[test]
fn a_press_is_short_or_long_whether_its_key_repeats_or_not() {
    for (held_s, comes_to) in [
        (0.0, Some(Short)),
        (0.3, Some(Short)),
        (1.1, Some(Short)),
        (1.3, Some(Long)),
        (3.0, Some(Long)),
        // Nobody stands on it for so long: something lies there.
        (6.0, None),
    ] {
        let mut plain = TestFoot::new();
        plain.down();
        plain.waits(held_s);
        plain.up();
        assert_eq!(plain.said, Vec::from_iter(comes_to), "{held_s}");
        for after_s in [0.25, 0.5, 0.66] {
            let mut repeating = TestFoot::new();
            repeating.down();
            repeating.repeats(held_s, after_s);
            repeating.up();
            let said = &repeating.said;
            assert_eq!(*said, Vec::from_iter(comes_to), "{held_s}, {after_s}");
        }
    }
}

#[test]
fn a_release_that_is_lost_never_makes_a_long_press_of_the_next_short_one() {
    for later_s in [0.2, 0.8, 1.5, 3.0, 4.9, 5.1, 60.0, 4_000.0] {
        let mut foot = TestFoot::new();
        foot.down();
        foot.waits(later_s);
        foot.down();
        foot.waits(0.2);
        foot.up();
        assert!(!foot.said.contains(&Long), "{later_s}: {:?}", foot.said);
        // What follows counts again, whatever became of that one.
        foot.said.clear();
        for (held_s, comes_to) in [(0.2, Short), (1.5, Long), (0.2, Short)] {
            foot.waits(1.0);
            foot.down();
            foot.waits(held_s);
            foot.up();
            assert_eq!(foot.said.pop(), Some(comes_to), "{later_s}");
        }
    }
}

#[test]
fn a_press_during_which_the_window_is_left_means_nothing() {
    let mut foot = TestFoot::new();
    foot.down();
    foot.waits(0.1);
    foot.frame(vec![Event::WindowFocused(false)]);
    foot.waits(2.0);
    foot.frame(vec![Event::WindowFocused(true)]);
    foot.up();
    assert_eq!(foot.said, [], "the release alone");
    foot.waits(0.5);
    foot.down();
    // The system tells of the release itself, and then that the window is left.
    foot.now_s += 0.1;
    foot.frame(vec![key(false), Event::WindowFocused(false)]);
    assert_eq!(foot.said, []);
    foot.waits(2.0);
    foot.down();
    foot.waits(0.2);
    foot.up();
    assert_eq!(foot.said, [Short]);
}

#[test]
fn a_window_that_stood_still_makes_no_long_press_of_a_short_one() {
    let mut foot = TestFoot::new();
    foot.down();
    // The disk held the window up; the foot was gone long before.
    foot.now_s += 2.0;
    foot.up();
    assert_eq!(foot.said, []);
    foot.waits(0.5);
    foot.down();
    foot.up();
    assert_eq!(foot.said, [Short]);
}

#[test]
fn what_it_sends_writes_nothing_and_other_keys_are_left_alone() {
    let mut foot = TestFoot::new();
    let text = |t: &str| Event::Text(t.to_owned());
    let other = Event::Key {
        key: Key::C,
        physical_key: None,
        pressed: true,
        repeat: false,
        modifiers: Modifiers::NONE,
    };
    let left = foot.frame(vec![key(true), text("b"), other.clone(), text("c")]);
    assert_eq!(left, [other, text("c")]);
    assert_eq!(foot.said, []);
    foot.up();
    assert_eq!(foot.said, [Short]);
}
