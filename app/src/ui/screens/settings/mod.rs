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
mod pictures;
mod tablets;
mod typed;

use egui::style::ScrollAnimation;
use egui::{Align, Frame, Margin, Rect, Stroke, Ui, vec2};

use super::frame::{self, MARGIN};
use super::{first_use, notice, top};
use crate::data::settings::Settings;
use crate::ui::first_use::FirstUse;
use crate::ui::intent::{Intent, Screen};
use crate::ui::theme::{GAP, ROUND_AREA, TARGET, Theme, Type};
use crate::ui::view::View;
use crate::ui::widgets::button::button_row;
use crate::ui::widgets::note;

/// What the screen keeps: what is typed and not yet saved.
#[derive(Default)]
pub struct SettingsScreen {
    typed: typed::Typed,
    crew: crew::CrewForm,
    tablets: tablets::TabletsForm,
    hours: hours::HoursForm,
    pictures: pictures::PicturesForm,
    backup: backup::BackupForm,
    /// What the forms for people and for tablets showed last.
    faces: [FormFace; 2],
    /// Which forms have asked for something in the last frame.
    sent: Sent,
    /// Where the person was about to go when something typed could not be kept, and in which
    /// groups that stands.
    leaving: Option<(Screen, String)>,
}

/// What a form shows: its list, or what somebody has opened in it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum FormFace {
    #[default]
    List,
    One,
    Asking,
    Agreeing,
}

/// Forms that end with what they ask for.
#[derive(Default)]
struct Sent {
    crew: bool,
    tablets: bool,
    backup: bool,
}

impl SettingsScreen {
    /// Draws the screen.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let (rest, _) = top::ui(ui, v, out);
        self.keep_on_the_way_out(v, out);
        self.sent = Sent::default();
        let inner = rest.shrink2(vec2(MARGIN, GAP));
        let inner = self.ask_before_leaving(ui, inner, v, out);
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
    }

    /// On the way out what was typed and holds is kept, like a choice that counts at once.
    /// Where something does not hold or is half done the screen stays and names it.
    fn keep_on_the_way_out(&mut self, v: &View<'_>, out: &mut Vec<Intent>) {
        let way_out = out.iter().position(|i| matches!(i, Intent::Go(_)));
        let Some((at, Intent::Go(to))) = way_out.map(|at| (at, &out[at])) else {
            return;
        };
        let to = *to;
        let mut settings = v.settings.clone();
        let w = v.words;
        let not_kept = [
            (w.crew, self.crew.is_begun()),
            (w.shop_tablets, self.tablets.is_begun()),
            (w.this_tablet, !self.typed.put_tablet(v, &mut settings)),
            (w.shop_hours_word, !self.hours.put(v, &mut settings)),
            (w.backup_word, self.backup.is_begun()),
            (w.air_word, !self.typed.put_air(v, &mut settings)),
        ];
        let groups = not_kept.into_iter().filter(|(_, is_left)| *is_left);
        let groups: Vec<&str> = groups.map(|(group, _)| group).collect();
        if !groups.is_empty() {
            self.leaving = Some((to, groups.join(" \u{b7} ")));
            out.remove(at);
        }
        let renamed = self.typed.renamed(v);
        let changed = settings != *v.settings;
        let changed = changed.then(|| Intent::Settings(Box::new(settings)));
        out.splice(at..at, renamed.into_iter().chain(changed));
    }

    /// Asks what to do with what cannot be kept, above everything; gives the room below.
    fn ask_before_leaving(
        &mut self,
        ui: &mut Ui,
        inner: Rect,
        v: &View<'_>,
        out: &mut Vec<Intent>,
    ) -> Rect {
        let Some((to, groups)) = &self.leaving else {
            return inner;
        };
        let w = v.words;
        let mut area = frame::child(ui, inner, "leaving");
        area.spacing_mut().item_spacing.y = GAP;
        let c = Theme::of(area.ctx()).colours;
        note::ui(&mut area, w.unsaved_work, groups, c.open);
        match button_row(&mut area, &[w.keep_editing, w.throw_away]) {
            Some(0) => self.leaving = None,
            Some(_) => {
                out.push(Intent::Go(*to));
                *self = Self::default();
            }
            None => {}
        }
        inner.with_min_y(area.min_rect().bottom() + GAP)
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
        let [crew, tablets] = &mut self.faces;
        let before = out.len();
        show_anew(ui, crew, self.crew.face());
        card(ui, w.crew, |ui| self.crew.ui(ui, v, out));
        self.sent.crew = out.len() > before;
        let before = out.len();
        show_anew(ui, tablets, self.tablets.face());
        card(ui, w.shop_tablets, |ui| self.tablets.ui(ui, v, out));
        self.sent.tablets = out.len() > before;
        card(ui, w.this_tablet, |ui| self.typed.tablet(ui, v, out));
        card(ui, w.pictures_word, |ui| self.pictures.ui(ui, v, out));
        card(ui, w.shop_hours_word, |ui| self.hours.ui(ui, v, out));
        card(ui, w.page_word, |ui| board_page::ui(ui, v, out));
        let before = out.len();
        card(ui, w.backup_word, |ui| self.backup.ui(ui, v, out));
        self.sent.backup = out.len() > before;
    }

    /// What was asked for was done: its form begins anew. What is typed elsewhere stays.
    pub fn after_tap(&mut self) {
        let sent = std::mem::take(&mut self.sent);
        if sent.crew {
            self.crew = crew::CrewForm::default();
        }
        if sent.tablets {
            self.tablets = tablets::TabletsForm::default();
        }
        if sent.backup {
            self.backup = backup::BackupForm::default();
        }
    }
}

/// Brings a form that shows something else now to the top: from the foot of a long list its
/// first line would be out of sight.
fn show_anew(ui: &Ui, was: &mut FormFace, now: FormFace) {
    if std::mem::replace(was, now) != now {
        let at = Rect::from_min_size(ui.cursor().min, vec2(1.0, 1.0));
        ui.scroll_to_rect_animation(at, Some(Align::TOP), ScrollAnimation::none());
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
