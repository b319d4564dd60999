//! Settings that are typed: ratings, the reminder, the bay, names and the shop folder.

use std::path::PathBuf;

use egui::Ui;

use super::change;
use crate::data::settings::{AIR_REMINDER_MIN, NAME_MAX, RATING_BAR};
use crate::data::written::Kind;
use crate::ui::intent::Intent;
use crate::ui::screens::board_key::in_groups;
use crate::ui::screens::chooser::{Chooser, LookFor};
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::units::{self, Figures};
use crate::ui::view::View;
use crate::ui::widgets::button::Button;
use crate::ui::widgets::keyboard::Keys;
use crate::ui::widgets::paint;
use crate::ui::widgets::text_field::TextField;

/// What stands in the fields, and what stood there when they were filled.
#[derive(Default)]
pub struct Typed {
    now: Option<Texts>,
    choose: Chooser,
}

#[derive(Clone)]
struct Texts {
    /// The units they are written in; in others they are written anew.
    units: Figures,
    hose: String,
    regulator: String,
    tester: String,
    reminder: String,
    bay: String,
    folder: String,
    tablet: String,
}

impl Texts {
    fn of(v: &View<'_>) -> Self {
        let s = v.settings;
        let pressure = |bar| units::pressure(bar, v.units);
        let folder = s.shop_folder.as_ref();
        Self {
            units: v.units,
            hose: pressure(s.hose_rating_bar),
            regulator: pressure(s.regulator_rating_bar),
            tester: pressure(s.tester_rating_bar),
            reminder: s.air_reminder_min.to_string(),
            bay: s.default_bay.clone(),
            folder: folder.map_or_else(String::new, |f| f.display().to_string()),
            tablet: v.tablet_name.to_owned(),
        }
    }
}

/// A rating as it is typed; what was not touched keeps its exact value.
fn rating(text: &str, was: &str, kept: f64, v: &View<'_>) -> Option<f64> {
    if text == was {
        return Some(kept);
    }
    let bar = units::read_pressure(text, v.units).ok()?;
    RATING_BAR.contains(&bar).then_some(bar)
}

/// The fields of one of the two groups, to see whether any was typed into.
fn air(t: &Texts) -> [&str; 4] {
    [&t.hose, &t.regulator, &t.tester, &t.reminder]
}

fn tablet(t: &Texts) -> [&str; 3] {
    [&t.tablet, &t.bay, &t.folder]
}

fn is_name(text: &str) -> bool {
    text.chars().count() <= NAME_MAX && !text.chars().any(char::is_control)
}

impl Typed {
    fn texts(&mut self, v: &View<'_>) -> &mut Texts {
        if self.now.as_ref().is_none_or(|t| t.units != v.units) {
            self.now = Some(Texts::of(v));
        }
        self.now.get_or_insert_with(|| Texts::of(v))
    }

    /// What is typed and not saved yet, saved on the way out: a choice that counts at once
    /// is not lost with *Back*. False if something typed cannot be saved as it stands.
    pub fn on_the_way_out(&mut self, v: &View<'_>, out: &mut Vec<Intent>) -> bool {
        let was = Texts::of(v);
        let Some(t) = self.now.clone().filter(|t| t.units == v.units) else {
            return true;
        };
        let mut settings = v.settings.clone();
        if air(&t) != air(&was) {
            let s = v.settings;
            let minutes = t.reminder.trim().parse().ok();
            let read = rating(&t.hose, &was.hose, s.hose_rating_bar, v)
                .zip(rating(
                    &t.regulator,
                    &was.regulator,
                    s.regulator_rating_bar,
                    v,
                ))
                .zip(rating(&t.tester, &was.tester, s.tester_rating_bar, v))
                .zip(minutes.filter(|m| AIR_REMINDER_MIN.contains(m)));
            let Some((((hose, regulator), tester), minutes)) = read else {
                return false;
            };
            settings.hose_rating_bar = hose;
            settings.regulator_rating_bar = regulator;
            settings.tester_rating_bar = tester;
            settings.air_reminder_min = minutes;
        }
        let is_named = is_name(&t.tablet) && !t.tablet.trim().is_empty();
        if !is_named || !is_name(&t.bay) {
            return false;
        }
        let folder = t.folder.trim();
        t.bay.trim().clone_into(&mut settings.default_bay);
        settings.shop_folder = (!folder.is_empty()).then(|| PathBuf::from(folder));
        if t.tablet != was.tablet {
            out.push(Intent::RenameTablet(t.tablet.trim().to_owned()));
        }
        if settings != *v.settings {
            out.push(Intent::Settings(Box::new(settings)));
        }
        true
    }

    /// Ratings between compressor and cylinder, and the reminder.
    pub fn air(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let (w, s, was) = (v.words, v.settings, Texts::of(v));
        let texts = self.texts(v);
        frame::line(ui, w.lowest_rating_counts, Type::Body, true);
        TextField::new(w.hose_rating, &mut texts.hose)
            .salt("hose")
            .keys(Keys::Figure)
            .ui(ui, w);
        let hose = rating(&texts.hose, &was.hose, s.hose_rating_bar, v);
        range_line(ui, v, hose.is_some());
        TextField::new(w.regulator_rating, &mut texts.regulator)
            .salt("regulator")
            .keys(Keys::Figure)
            .ui(ui, w);
        let regulator = rating(&texts.regulator, &was.regulator, s.regulator_rating_bar, v);
        range_line(ui, v, regulator.is_some());
        TextField::new(w.tester_rating, &mut texts.tester)
            .salt("tester")
            .keys(Keys::Figure)
            .ui(ui, w);
        let tester = rating(&texts.tester, &was.tester, s.tester_rating_bar, v);
        range_line(ui, v, tester.is_some());
        TextField::new(w.reminder_minutes, &mut texts.reminder)
            .salt("reminder")
            .keys(Keys::Whole)
            .ui(ui, w);
        let reminder = texts.reminder.trim().parse().ok();
        let reminder = reminder.filter(|minutes| AIR_REMINDER_MIN.contains(minutes));
        range_line(ui, v, reminder.is_some());
        let is_changed = air(texts) != air(&was);
        let all = hose.zip(regulator).zip(tester).zip(reminder);
        let all = all.filter(|_| is_changed);
        let save = Button::new(w.save_these).enabled(all.is_some());
        if let (true, Some((((hose, regulator), tester), minutes))) = (save.ui(ui).tapped, all) {
            self.now = None;
            change(v, out, |s| {
                s.hose_rating_bar = hose;
                s.regulator_rating_bar = regulator;
                s.tester_rating_bar = tester;
                s.air_reminder_min = minutes;
            });
        }
    }

    /// Name, bay and shop folder of this tablet.
    pub fn tablet(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let (w, was) = (v.words, Texts::of(v));
        self.texts(v);
        let Self { now, choose } = self;
        let Some(texts) = now else {
            return;
        };
        TextField::new(w.tablet_name, &mut texts.tablet)
            .salt("tablet")
            .ui(ui, w);
        let tablet_good = is_name(&texts.tablet) && !texts.tablet.trim().is_empty();
        range_line(ui, v, tablet_good);
        TextField::new(w.default_bay, &mut texts.bay)
            .salt("bay")
            .choices(v.written.of(Kind::Bay))
            .ui(ui, w);
        range_line(ui, v, is_name(&texts.bay));
        TextField::new(w.shop_folder_path, &mut texts.folder)
            .salt("folder")
            .ui(ui, w);
        let chosen = ui.push_id("choose folder", |ui| {
            choose.ui(ui, v, &texts.folder, LookFor::Folder, out)
        });
        if let Some(chosen) = chosen.inner {
            texts.folder = chosen;
        }
        frame::line(ui, w.shop_folder_more, Type::Body, true);
        let key = format!("{}: {}", w.key_of_this_tablet, in_groups(v.tablet_key));
        frame::line(ui, &key, Type::Body, true);
        let is_changed = tablet(texts) != tablet(&was);
        let is_good = tablet_good && is_name(&texts.bay);
        let save = Button::new(w.save_these).enabled(is_changed && is_good);
        if !save.ui(ui).tapped {
            return;
        }
        let texts = texts.clone();
        if texts.tablet != was.tablet {
            out.push(Intent::RenameTablet(texts.tablet.trim().to_owned()));
        }
        if texts.bay != was.bay || texts.folder != was.folder {
            let folder = texts.folder.trim();
            change(v, out, |s| {
                texts.bay.trim().clone_into(&mut s.default_bay);
                s.shop_folder = (!folder.is_empty()).then(|| PathBuf::from(folder));
            });
        }
        self.now = None;
    }
}

/// Says below a field that what stands there is not within what it may be. The line keeps
/// its room, so that nothing moves under the finger.
fn range_line(ui: &mut Ui, v: &View<'_>, is_good: bool) {
    if is_good {
        ui.add_space(paint::line_height(ui, Type::Strong));
    } else {
        let mark = Theme::of(ui.ctx()).colours.astray.mark;
        let text = format!("! {}", v.words.out_of_range);
        paint::say(ui, &text, Type::Strong, mark);
    }
}
