//! A pedal in the real window: it is learnt by pressing it, works a valve with no tap at
//! all, takes a step back when it is held, and never signs.

use std::thread::sleep;
use std::time::Duration;

use egui::vec2;
use trayzero::data::settings::{Settings, SettingsFile};
use trayzero::ui::intent::Intent;
use trayzero::ui::words::EN;
use trayzero_core::job::NextStep;

use super::display::{Display, wait_for};
use super::drive::{Drive, meant};
use super::mirror::Mirror;
use super::{ONE_WINDOW, alone, furnish, replay};

/// What the pedal sends: a letter, so that it would show where it writes.
const KEY: &str = "b";
const NAME: &str = "key B";

/// A press of a foot, and one that takes back.
const SHORT: Duration = Duration::from_millis(250);
const LONG: Duration = Duration::from_millis(1_600);
/// Longer than the guard of the same target.
const GUARD: Duration = Duration::from_millis(750);

/// What a press does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Does {
    /// The step that the bar shows.
    Step,
    /// The last step back.
    Back,
    /// Nothing.
    Nothing,
}

impl Drive {
    fn learn_pedal(&mut self) {
        self.tap(EN.settings);
        self.tap(EN.learn_pedal);
        self.keep("pedal-learning");
        self.display.key_down(KEY);
        sleep(SHORT);
        self.display.key_up(KEY);
        wait_for("the pedal in the settings", || {
            SettingsFile::read(self.data()).settings.pedal == NAME
        });
        // The mirror has no keyboard; it is told.
        self.mirror.stop_learning();
        self.mirror.with_shell(|shell| {
            let settings = Settings {
                pedal: NAME.to_owned(),
                ..shell.desk.settings().clone()
            };
            shell.carry_out(Intent::Settings(Box::new(settings)));
        });
        self.keep("pedal-learnt");
        self.tap(EN.back);
    }

    /// Presses the pedal for so long, and sees that it does what is expected and no more.
    fn press(&mut self, held: Duration, expected: Does) {
        sleep(GUARD);
        self.display.key_down(KEY);
        sleep(held);
        self.display.key_up(KEY);
        self.expect(expected, &format!("held for {held:?}"));
    }

    /// Waits until the window has done what is expected; the mirror does it too.
    fn expect(&mut self, expected: Does, what: &str) {
        let before = meant(self.state());
        match expected {
            Does::Step => {
                let bar = self.mirror.bar();
                let place = self.mirror.place(&bar).unwrap();
                self.mirror.tap(place.center());
            }
            Does::Back => {
                let view = self.mirror.shell().desk.view();
                let (undo, _) = view.job.unwrap().undo.unwrap();
                self.mirror.with_shell(|shell| {
                    shell.carry_out(Intent::TakeBack(undo));
                });
            }
            Does::Nothing => {}
        }
        let wanted = meant(self.state());
        assert_eq!(
            wanted > before,
            expected != Does::Nothing,
            "{what}: {} {:?}",
            self.mirror.bar(),
            self.refused()
        );
        wait_for(what, || self.lines() > wanted);
        self.settle();
        sleep(Duration::from_millis(200));
        // Its first line is no event.
        assert_eq!(self.lines(), wanted + 1, "{what}: {expected:?} and no more");
    }
}

/// Air on, with the pedal as far as it goes: what the regulator reads is written by hand.
/// What has the keyboard meanwhile is a field, and the pedal writes nothing into it.
fn to_air_on(d: &mut Drive) {
    for _ in 0..20 {
        if d.state().air_on().is_some() {
            return;
        }
        let step = d.mirror.shell().desk.view().job.unwrap().next.clone();
        let caution = step.caution().filter(|c| !d.state().caution_seen(*c));
        let is_air = matches!(step, NextStep::AirOn { .. });
        if caution.is_none() && !is_air {
            d.press(SHORT, Does::Step);
            continue;
        }
        d.tap_bar();
        if let Some(caution) = caution {
            sleep(Duration::from_millis(1_300));
            d.display.key_down(KEY);
            d.display.key_up(KEY);
            let read = d.mirror.place(EN.caution_seen(caution)).unwrap();
            d.mirror.tap(read.center());
            let wanted = meant(d.state());
            wait_for("the caution read by pedal", || d.lines() > wanted);
        } else {
            d.press(SHORT, Does::Nothing);
            d.tap("3");
            d.keep("pedal-air");
            let NextStep::AirOn { cylinder } = step else {
                unreachable!();
            };
            sleep(Duration::from_millis(1_300));
            d.display.key_down(KEY);
            d.display.key_up(KEY);
            let bar = d.mirror.place(&EN.bar_air_on(cylinder)).unwrap();
            d.mirror.tap(bar.center());
            let wanted = meant(d.state());
            wait_for("air on by pedal", || d.lines() > wanted);
        }
    }
    panic!("no air: {}", d.mirror.bar());
}

/// The two valves under air from their first stage to their last; gives how many presses.
fn two_valves(d: &mut Drive) -> usize {
    let taps = d.taps;
    let mut presses = 0;
    while d.state().verified_count() < 8 {
        d.press(SHORT, Does::Step);
        presses += 1;
        assert!(presses < 40, "{}", d.mirror.bar());
    }
    assert_eq!(d.taps, taps, "no tap at all");
    presses
}

/// The release of the key never comes, for the window was left meanwhile: neither that
/// press nor the next one takes anything back.
fn a_lost_release(d: &mut Drive) {
    sleep(GUARD);
    d.display.key_down(KEY);
    sleep(Duration::from_millis(150));
    d.display.leave_window();
    sleep(Duration::from_millis(100));
    d.display.key_up(KEY);
    sleep(Duration::from_millis(1_500));
    d.display.back_to_window();
    d.expect(Does::Nothing, "a press during which the window is left");
    d.press(SHORT, Does::Step);
    d.press(LONG, Does::Back);
}

/// Whoever signs does so by hand, whatever the pedal is made to do.
fn it_signs_nothing(d: &mut Drive) {
    d.tap(EN.more);
    d.tap(EN.stop_job);
    d.write(EN.why_word, "the pedal is tried");
    d.press(SHORT, Does::Nothing);
    assert_eq!(d.mirror.value(EN.why_word).unwrap(), "the pedal is tried");
    d.tap(EN.stop_job);
    d.tap("Ilka");
    d.type_digits("258614");
    sleep(Duration::from_millis(1_300));
    d.press(SHORT, Does::Nothing);
    d.press(LONG, Does::Nothing);
    let before = meant(d.state());
    d.keep("pedal-signs-nothing");
    d.tap(EN.sign);
    assert!(meant(d.state()) > before, "the hand could have signed");
}

#[test]
fn a_pedal_is_learnt_works_a_valve_without_a_tap_takes_back_and_never_signs() {
    let _alone = alone(&ONE_WINDOW);
    let root = tempfile::tempdir().unwrap();
    let data = root.path().join("data");
    let job = furnish(&data);
    let size = vec2(1280.0, 800.0);
    let mirror = Mirror::of(&data, &data.with_extension("mirror"), size);
    let mut d = Drive::on(Display::with_glass(size), mirror, &data, size);
    d.learn_pedal();
    d.tap("Bay 3 · sweeper 07");
    d.tap("The engine stands as shown");
    d.keep("pedal-bay");
    to_air_on(&mut d);
    // Twice within the guard's time is once.
    sleep(GUARD);
    for _ in 0..2 {
        d.display.key_down(KEY);
        sleep(Duration::from_millis(60));
        d.display.key_up(KEY);
        sleep(Duration::from_millis(120));
    }
    d.expect(Does::Step, "twice within the guard's time");
    d.press(LONG, Does::Back);
    a_lost_release(&mut d);
    let presses = two_valves(&mut d);
    it_signs_nothing(&mut d);
    d.close();
    let open = replay(&data, job);
    assert_eq!(meant(open.state()), meant(d.state()));
    assert_eq!(open.state().verified_count(), 8);
    println!(
        "by the pedal alone: two valves under air in {presses} presses and 0 taps; before \
         that two steps taken back by holding it; a release lost, two presses within the \
         guard's time and a signature change nothing that was not meant"
    );
}
