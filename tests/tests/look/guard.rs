//! What comes to lie under a finger does nothing for 1.2 s: two buttons that change places,
//! tapped at given times.

use egui::{Context, Event, Key, Modifiers, PointerButton, Pos2, RawInput, Rect, pos2, vec2};
use trayzero::ui::theme::{Theme, Tone};
use trayzero::ui::widgets::Button;

/// The place that is tapped, and one that is not.
const HERE: Rect = Rect::from_min_max(pos2(20.0, 20.0), pos2(220.0, 80.0));
const ELSEWHERE: Rect = Rect::from_min_max(pos2(20.0, 120.0), pos2(220.0, 180.0));

struct Glass {
    ctx: Context,
    /// The buttons by name, where they lie.
    lie: Vec<(&'static str, Rect)>,
    tapped: Vec<&'static str>,
}

impl Glass {
    fn new(lie: &[(&'static str, Rect)]) -> Self {
        let ctx = Context::default();
        Theme::new(Tone::ShopLight, 1.0).install(&ctx);
        let mut glass = Self {
            ctx,
            lie: lie.to_vec(),
            tapped: Vec::new(),
        };
        for at_s in [0.0, 0.1] {
            glass.frame(at_s, Vec::new());
        }
        glass
    }

    fn frame(&mut self, at_s: f64, events: Vec<Event>) {
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(Pos2::ZERO, vec2(400.0, 300.0))),
            time: Some(at_s),
            events,
            focused: true,
            ..RawInput::default()
        };
        let (lie, tapped) = (&self.lie, &mut self.tapped);
        let output = self.ctx.run_ui(input, |ui| {
            for (name, rect) in lie {
                if Button::new(name).at(ui, *rect).tapped {
                    tapped.push(name);
                }
            }
        });
        output.drop_without_applying_deltas();
    }

    fn finger(&mut self, at_s: f64, is_down: bool, at: Pos2) {
        let button = Event::PointerButton {
            pos: at,
            button: PointerButton::Primary,
            pressed: is_down,
            modifiers: Modifiers::NONE,
        };
        self.frame(at_s, vec![Event::PointerMoved(at), button]);
    }

    /// A short tap that ends at a time, and the frame after it.
    fn tap(&mut self, at_s: f64) {
        self.finger(at_s - 0.02, true, HERE.center());
        self.finger(at_s, false, HERE.center());
        self.frame(at_s + 0.01, Vec::new());
    }

    /// The first tap, and what lies there from the next frame on.
    fn tap_then(&mut self, lie: &[(&'static str, Rect)]) {
        self.finger(0.98, true, HERE.center());
        self.finger(1.0, false, HERE.center());
        self.lie = lie.to_vec();
        self.frame(1.01, Vec::new());
        self.frame(1.02, Vec::new());
    }
}

#[test]
fn what_comes_to_lie_under_a_finger_is_deaf_for_1_2_s() {
    for (at_s, counts) in [(1.5, false), (1.7, false), (2.1, false), (2.25, true)] {
        let mut glass = Glass::new(&[("Lift", HERE)]);
        glass.tap_then(&[("Scrap", HERE)]);
        glass.tap(at_s);
        let wanted: &[&str] = if counts {
            &["Lift", "Scrap"]
        } else {
            &["Lift"]
        };
        assert_eq!(glass.tapped, wanted, "at {at_s} s");
    }
}

#[test]
fn what_slides_under_a_finger_is_deaf_too() {
    let mut glass = Glass::new(&[("Lift", HERE), ("Scrap", ELSEWHERE)]);
    glass.tap_then(&[("Scrap", HERE), ("Lift", ELSEWHERE)]);
    glass.tap(1.8);
    assert_eq!(glass.tapped, ["Lift"]);
}

#[test]
fn the_same_control_in_its_place_and_one_on_paper_are_not_deaf() {
    let mut glass = Glass::new(&[("Lift", HERE)]);
    glass.tap_then(&[("Lift", HERE)]);
    glass.tap(1.7);
    assert_eq!(glass.tapped, ["Lift", "Lift"]);
    // The tap went to paper beside the control, and another comes where paper was.
    let mut glass = Glass::new(&[("Lift", HERE)]);
    glass.tap_then(&[("Lift", HERE), ("More", ELSEWHERE)]);
    glass.finger(1.2, true, ELSEWHERE.center());
    glass.finger(1.22, false, ELSEWHERE.center());
    assert_eq!(glass.tapped, ["Lift", "More"]);
}

#[test]
fn a_finger_that_came_down_too_early_does_nothing_when_it_leaves_late() {
    let mut glass = Glass::new(&[("Lift", HERE)]);
    glass.tap_then(&[("Scrap", HERE)]);
    glass.finger(2.0, true, HERE.center());
    glass.finger(2.5, false, HERE.center());
    assert_eq!(glass.tapped, ["Lift"]);
    glass.tap(3.2);
    assert_eq!(glass.tapped, ["Lift", "Scrap"], "the next one counts");
}

#[test]
fn a_deaf_tap_does_not_make_the_place_deaf_for_longer() {
    let mut glass = Glass::new(&[("Lift", HERE)]);
    glass.tap_then(&[("Scrap", HERE)]);
    glass.tap(1.7);
    glass.tap(2.1);
    glass.tap(2.3);
    assert_eq!(glass.tapped, ["Lift", "Scrap"]);
}

#[test]
fn the_keyboard_names_its_control_and_is_never_deaf() {
    let mut glass = Glass::new(&[("Lift", HERE)]);
    glass.tap_then(&[("Scrap", HERE)]);
    let key = |key| Event::Key {
        key,
        physical_key: None,
        pressed: true,
        repeat: false,
        modifiers: Modifiers::NONE,
    };
    glass.frame(1.3, vec![key(Key::Tab)]);
    glass.frame(1.4, Vec::new());
    glass.frame(1.5, vec![key(Key::Enter)]);
    assert_eq!(glass.tapped, ["Lift", "Scrap"]);
}
