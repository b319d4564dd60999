//! Language, units, colours, size and motion.

use egui::Ui;

use super::change;
use crate::data::settings::{Hand, ThemeChoice, Units};
use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::View;
use crate::ui::widgets::button::Button;
use crate::ui::widgets::choice_row::choice_row;
use crate::ui::words::Language;

/// The sizes of text that are offered, in percent.
const SIZES: [u16; 6] = [100, 115, 130, 150, 175, 200];

/// Draws the group. Each choice counts at once.
pub fn ui(ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
    let (w, now) = (v.words, v.settings);
    let names = Language::ALL.map(Language::own_name);
    if let Some(new) = one_of(ui, w.language_word, &names, &Language::ALL, now.language) {
        change(v, out, |s| s.language = new);
    }
    let all = [Units::Metric, Units::Imperial];
    if let Some(new) = one_of(
        ui,
        w.units_word,
        &[w.units_metric, w.units_us],
        &all,
        now.units,
    ) {
        change(v, out, |s| s.units = new);
    }
    let all = [Hand::Left, Hand::Right];
    if let Some(new) = one_of(ui, w.hand, &[w.left_hand, w.right_hand], &all, now.hand) {
        change(v, out, |s| s.hand = new);
    }
    let all = [ThemeChoice::Light, ThemeChoice::Night, ThemeChoice::Auto];
    let names = [w.shop_light, w.night, w.as_system];
    if let Some(new) = one_of(ui, w.theme_word, &names, &all, now.theme) {
        change(v, out, |s| s.theme = new);
    }
    let names = SIZES.map(|percent| percent.to_string());
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    if let Some(new) = one_of(ui, w.text_size_percent, &names, &SIZES, now.text_percent) {
        change(v, out, |s| s.text_percent = new);
    }
    let names = [w.moves, w.stays_still];
    if let Some(new) = one_of(
        ui,
        w.motion_word,
        &names,
        &[false, true],
        now.reduced_motion,
    ) {
        change(v, out, |s| s.reduced_motion = new);
    }
    first_use_cards(ui, v, out);
    let lock = Button::new(w.lock_screen).more(w.lock_more);
    if lock.ui(ui).tapped {
        out.push(Intent::Lock);
    }
}

/// All first-use cards again, or none any more.
fn first_use_cards(ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
    let (w, now) = (v.words, v.settings);
    frame::line(ui, w.first_use_cards, Type::Body, true);
    let is_hidden = !now.first_use_cards || !now.cards_seen.is_empty();
    if Button::new(w.first_use_again)
        .wants(w.it_is_so, !is_hidden)
        .ui(ui)
        .tapped
    {
        change(v, out, |s| {
            s.first_use_cards = true;
            s.cards_seen.clear();
        });
    }
    let none = Button::new(w.first_use_none).wants(w.it_is_so, !now.first_use_cards);
    if none.ui(ui).tapped {
        change(v, out, |s| s.first_use_cards = false);
    }
}

/// A label and the choices below it; gives another one that was taken.
pub(super) fn one_of<T: Copy + PartialEq>(
    ui: &mut Ui,
    label: &str,
    names: &[&str],
    all: &[T],
    now: T,
) -> Option<T> {
    frame::line(ui, label, Type::Body, true);
    let chosen = all.iter().position(|one| *one == now);
    let taken = ui
        .push_id(label, |ui| choice_row(ui, names, chosen))
        .inner?;
    all.get(taken).copied().filter(|one| *one != now)
}
