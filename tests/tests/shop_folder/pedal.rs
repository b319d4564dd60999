//! What a long press of the pedal takes back, and what it leaves to a finger and a code.

use egui::{Event as Input, Key, Modifiers, RawInput};
use trayzero::ui::glass::Glass;
use trayzero::ui::words::EN;
use trayzero_core::job::{Event, NextStep};

use super::screens::OpenScreen;
use super::told_screens::{Two, close_bank};

/// A pedal that sends a key.
struct Foot {
    glass: Glass,
    now_s: f64,
}

impl Foot {
    fn new() -> Self {
        let mut glass = Glass::default();
        "key F9".clone_into(&mut glass.pedal.sends);
        Self { glass, now_s: 10.0 }
    }

    /// Holds it down for so long, lets go, and lets the window draw.
    fn press(&mut self, screen: &mut OpenScreen, held_s: f64) {
        self.hears(screen, Some(true));
        let let_go_s = self.now_s + held_s;
        // It repeats while it is held, as any key does, and the window draws on.
        while self.now_s + 0.1 < let_go_s {
            self.now_s += 0.1;
            self.hears(screen, Some(true));
        }
        self.now_s = let_go_s;
        self.hears(screen, Some(false));
        // What was pressed once is told once.
        self.hears(screen, None);
        screen.hand.window.run();
        self.now_s += 2.0;
    }

    fn hears(&mut self, screen: &mut OpenScreen, is_down: Option<bool>) {
        let key = is_down.map(|pressed| Input::Key {
            key: Key::F9,
            physical_key: None,
            pressed,
            repeat: false,
            modifiers: Modifiers::NONE,
        });
        let mut input = RawInput {
            time: Some(self.now_s),
            events: key.into_iter().collect(),
            ..RawInput::default()
        };
        self.glass.hear(&screen.hand.window.ctx.clone(), &mut input);
        screen.hand.window.run_steps(1);
    }
}

#[test]
fn a_held_pedal_takes_back_what_nobody_signed_and_leaves_alone_what_somebody_did() {
    let mut two = Two::at_the_gate();
    let ada = &mut two.ada;
    let mut foot = Foot::new();
    let text = "cleaning".to_owned();
    ada.do_at_the_bay(vec![Event::Noted { text }]);
    ada.hand.window.run_steps(60);
    let noted = ada.last();
    foot.press(ada, 1.5);
    assert!(ada.state().is_withdrawn(noted), "as before");
    ada.count_twice();
    ada.do_at_the_bay(vec![close_bank()]);
    ada.hand.window.run_steps(60);
    let events = ada.state().event_count();
    foot.press(ada, 1.5);
    assert!(ada.state().is_bank_closed(0) && ada.state().event_count() == events);
    assert!(ada.hand.says(&EN.pedal_signs_nothing(1)), "says why");
    assert!(ada.hand.says(EN.take_back_by_finger), "and where");
    assert!(!ada.hand.says(EN.no_crew), "no sheet that asks for a code");
    ada.hand.picture("pedal-signs-nothing");
    // It goes with the next press, which is taken.
    let step = ada.desk().view().job.unwrap().next.clone();
    assert!(!matches!(step, NextStep::Nothing));
    ada.hand.window.run_steps(60);
    foot.press(ada, 0.2);
    assert!(!ada.hand.says(EN.take_back_by_finger));
}

#[test]
fn a_held_pedal_says_that_there_is_nothing_to_take_back() {
    let mut two = Two::until(trayzero_tests::engines::one_cylinder(), |_| true);
    let ada = &mut two.ada;
    let mut foot = Foot::new();
    let text = "cleaning".to_owned();
    ada.do_at_the_bay(vec![Event::Noted { text }]);
    for _ in 0..9 {
        if ada.state().undo_offer().is_none() {
            break;
        }
        ada.hand.window.run_steps(60);
        foot.press(ada, 1.5);
    }
    assert!(ada.state().undo_offer().is_none());
    ada.hand.window.run_steps(60);
    foot.press(ada, 1.5);
    assert!(ada.hand.says(EN.nothing_to_take_back));
}
