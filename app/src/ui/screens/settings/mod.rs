//! The settings of this tablet: the screen, air, the shop, the crew, backup, and what
//! this program is.

mod about;
mod agree;
mod backup;
mod board_page;
mod crew;
mod glass;
mod hours;
mod look;
mod tablets;
mod typed;

use egui::{Frame, Margin, Stroke, Ui, vec2};

use super::frame::{self, MARGIN};
use super::{first_use, notice, top};
use crate::data::settings::Settings;
use crate::ui::first_use::FirstUse;
use crate::ui::intent::Intent;
use crate::ui::theme::{GAP, ROUND_AREA, TARGET, Theme, Type};
use crate::ui::view::View;

/// What the screen keeps: what is typed and not yet saved.
#[derive(Default)]
pub struct SettingsScreen {
    typed: typed::Typed,
    crew: crew::CrewForm,
    tablets: tablets::TabletsForm,
    hours: hours::HoursForm,
    backup: backup::BackupForm,
}

impl SettingsScreen {
    /// Draws the screen.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let (rest, _) = top::ui(ui, v, out);
        let inner = rest.shrink2(vec2(MARGIN, GAP));
        let mut area = frame::child(ui, inner, "settings");
        let scale = Theme::of(ui.ctx()).scale();
        frame::scrolling().show(&mut area, |ui| {
            ui.spacing_mut().item_spacing = vec2(MARGIN, GAP);
            // Whoever types a code needs the room for its keys, and is told beside them.
            if !self.crew.is_asking() && !self.tablets.is_asking() {
                notice::ui(ui, v);
                first_use::ui(ui, v, FirstUse::Settings, out);
            }
            if ui.available_width() >= 860.0 * scale {
                ui.columns(2, |sides| {
                    self.left(&mut sides[0], v, out);
                    self.right(&mut sides[1], v, out);
                });
            } else {
                // What the first day asks for comes first.
                self.right(ui, v, out);
                self.left(ui, v, out);
            }
            ui.add_space(TARGET);
        });
        let is_way_out = |i: &Intent| matches!(i, Intent::Go(_) | Intent::LeaveJob);
        if let Some(at) = out.iter().position(is_way_out) {
            let mut saved = Vec::new();
            if self.typed.on_the_way_out(v, &mut saved) {
                out.splice(at..at, saved);
            } else {
                // What cannot be saved is marked; the screen stays.
                out.remove(at);
            }
        }
    }

    fn left(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let w = v.words;
        card(ui, w.screen_word, |ui| look::ui(ui, v, out));
        card(ui, w.glass_word, |ui| glass::ui(ui, v, out));
        card(ui, w.air_word, |ui| self.typed.air(ui, v, out));
        card(ui, w.about, |ui| about::ui(ui, v));
    }

    fn right(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let w = v.words;
        card(ui, w.crew, |ui| self.crew.ui(ui, v, out));
        card(ui, w.shop_tablets, |ui| self.tablets.ui(ui, v, out));
        card(ui, w.this_tablet, |ui| self.typed.tablet(ui, v, out));
        card(ui, w.shop_hours_word, |ui| self.hours.ui(ui, v, out));
        card(ui, w.page_word, |ui| board_page::ui(ui, v, out));
        card(ui, w.backup_word, |ui| self.backup.ui(ui, v, out));
    }

    /// What was asked for was done: it is read anew from what is kept.
    pub fn after_tap(&mut self) {
        *self = Self::default();
    }
}

/// A group on a card under its heading.
fn card(ui: &mut Ui, title: &str, content: impl FnOnce(&mut Ui)) {
    let c = Theme::of(ui.ctx()).colours;
    Frame::new()
        .fill(c.card)
        .stroke(Stroke::new(2.0, c.line))
        .corner_radius(ROUND_AREA)
        .inner_margin(Margin::same(MARGIN as i8))
        .show(ui, |ui| {
            ui.set_width(ui.available_width());
            ui.spacing_mut().item_spacing = vec2(GAP, GAP);
            ui.push_id(title, |ui| {
                frame::line(ui, title, Type::Title, false);
                content(ui);
            });
        });
    ui.add_space(GAP);
}

/// Puts the settings, with one change, among what is asked for.
fn change(v: &View<'_>, out: &mut Vec<Intent>, change: impl FnOnce(&mut Settings)) {
    let mut settings = v.settings.clone();
    change(&mut settings);
    out.push(Intent::Settings(Box::new(settings)));
}
