//! The glass: keys, the whole screen, how long it stays on, the battery, the pedal.

use egui::Ui;

use super::change;
use super::look::one_of;
use crate::data::settings::KeysShown;
use crate::power::Answer;
use crate::ui::glass::pedal;
use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::view::View;
use crate::ui::widgets::button::Button;
use crate::ui::widgets::note;

/// For how long a tap may keep the screen on, in minutes.
const AWAKE: [u16; 5] = [0, 5, 15, 30, 60];

/// Draws the group. Each choice counts at once.
pub fn ui(ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
    let (w, now) = (v.words, v.settings);
    let all = [KeysShown::ByTouch, KeysShown::Always, KeysShown::Never];
    let names = [w.keys_by_touch, w.keys_always, w.keys_never];
    if let Some(new) = one_of(ui, w.keys_word, &names, &all, now.keys) {
        change(v, out, |s| s.keys = new);
    }
    let names = [w.in_a_window, w.whole_screen];
    if let Some(new) = one_of(ui, w.window_word, &names, &[false, true], now.full_screen) {
        change(v, out, |s| s.full_screen = new);
    }
    let names = AWAKE.map(|minutes| format!("{minutes} min"));
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    if let Some(new) = one_of(ui, w.awake_minutes, &names, &AWAKE, now.awake_min) {
        change(v, out, |s| s.awake_min = new);
    }
    frame::line(ui, w.awake_more, Type::Body, true);
    let awake = match v.power.awake {
        Answer::NotAsked => w.not_asked_yet,
        Answer::Answers => w.awake_answers,
        Answer::Silent => w.awake_silent,
    };
    frame::line(ui, awake, Type::Body, false);
    let battery = match (v.power.told, v.power.battery) {
        (_, Some(battery)) => w.battery_holds(battery.percent.round() as u32),
        (Answer::Answers, None) => w.no_battery.to_owned(),
        (Answer::Silent, None) => w.battery_silent.to_owned(),
        (Answer::NotAsked, None) => w.not_asked_yet.to_owned(),
    };
    frame::line(ui, &battery, Type::Body, false);
    pedal_ui(ui, v, out);
}

/// The pedal: learnt by pressing it.
fn pedal_ui(ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
    let w = v.words;
    frame::group(ui, w.pedal_word);
    frame::line(ui, w.pedal_more, Type::Body, true);
    if let Some(name) = pedal::learnt(ui.ctx()) {
        change(v, out, |s| s.pedal = name);
    }
    if pedal::is_learning(ui.ctx()) {
        let tint = Theme::of(ui.ctx()).colours.now;
        note::ui(ui, w.press_the_pedal, "", tint);
        if ui
            .push_id("pedal", |ui| Button::new(w.cancel).ui(ui))
            .inner
            .tapped
        {
            pedal::learn(ui.ctx(), false);
        }
        return;
    }
    let is_known = !v.settings.pedal.is_empty();
    let known = if is_known {
        w.pedal_sends(&v.settings.pedal)
    } else {
        w.no_pedal.to_owned()
    };
    frame::line(ui, &known, Type::Body, false);
    if Button::new(w.learn_pedal).ui(ui).tapped {
        pedal::learn(ui.ctx(), true);
        ui.ctx().request_repaint();
    }
    if is_known && Button::new(w.forget_pedal).ui(ui).tapped {
        change(v, out, |s| s.pedal.clear());
    }
}
