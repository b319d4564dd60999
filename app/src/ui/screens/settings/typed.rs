//! Settings that are typed: ratings, the reminder, the bay, names and the shop folder.

use std::path::PathBuf;

use egui::Ui;

use super::change;
use crate::data::settings::{AIR_REMINDER_MIN, NAME_MAX, RATING_BAR, Settings};
use crate::data::written::Kind;
use crate::ui::intent::Intent;
use crate::ui::screens::board_key::in_groups;
use crate::ui::screens::chooser::{Chooser, LookFor};
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::units::{self, Figures, PRESSURE};
use crate::ui::view::View;
use crate::ui::widgets::button::Button;
use crate::ui::widgets::keyboard::Keys;
use crate::ui::widgets::paint;
use crate::ui::widgets::text_field::TextField;
use crate::ui::words::Words;

/// What stands in the fields.
#[derive(Default)]
pub struct Typed {
    fields: Option<SettingFields>,
    choose: Chooser,
}

/// What stands in the fields, and what was kept when that was looked at last.
struct SettingFields {
    now: Texts,
    kept: Texts,
}

#[derive(Clone)]
struct Texts {
    /// The units they are written in; in others they are written anew.
    units: Figures,
    /// Ratings of hose, regulator and tester, and the reminder.
    air: [String; 4],
    /// The tablet's name, its bay and the shop folder.
    tablet: [String; 3],
}

impl Texts {
    fn of(v: &View<'_>) -> Self {
        let s = v.settings;
        let pressure = |bar| units::pressure(bar, v.units);
        let folder = s.shop_folder.as_ref();
        Self {
            units: v.units,
            air: [
                pressure(s.hose_rating_bar),
                pressure(s.regulator_rating_bar),
                pressure(s.tester_rating_bar),
                s.air_reminder_min.to_string(),
            ],
            tablet: [
                v.tablet_name.to_owned(),
                s.default_bay.clone(),
                folder.map_or_else(String::new, |f| f.display().to_string()),
            ],
        }
    }
}

impl Texts {
    /// Writes what can be read as a pressure anew in other units.
    fn write_in(&mut self, units: Figures) {
        if self.units == units {
            return;
        }
        for text in &mut self.air[..3] {
            if let Ok(bar) = units::read(&PRESSURE, text, self.units) {
                *text = units::pressure(bar, units);
            }
        }
        self.units = units;
    }
}

impl SettingFields {
    /// A field that nobody has typed into goes with what is kept: a setting that was changed
    /// meanwhile is not put back by an old text.
    fn follow(&mut self, kept: Texts) {
        let Self { now, kept: was } = self;
        let now = now.air.iter_mut().chain(&mut now.tablet);
        let was = was.air.iter().chain(&was.tablet);
        for ((now, was), kept) in now.zip(was).zip(kept.air.iter().chain(&kept.tablet)) {
            if now == was {
                now.clone_from(kept);
            }
        }
        self.kept = kept;
    }
}

/// A rating as it is typed; what was not touched keeps its exact value.
fn rating(text: &str, was: &str, kept: f64, v: &View<'_>) -> Option<f64> {
    if text == was {
        return Some(kept);
    }
    let bar = units::read(&PRESSURE, text, v.units).ok()?;
    RATING_BAR.contains(&bar).then_some(bar)
}

/// The ratings and the reminder of settings as typed, if they are within what they may be.
struct ReadAir {
    ratings: [Option<f64>; 3],
    reminder: Option<u16>,
}

impl ReadAir {
    fn of(fields: &SettingFields, v: &View<'_>) -> Self {
        let s = v.settings;
        let bars = [
            s.hose_rating_bar,
            s.regulator_rating_bar,
            s.tester_rating_bar,
        ];
        let (now, kept) = (&fields.now.air, &fields.kept.air);
        let minutes = now[3].trim().parse().ok();
        Self {
            ratings: std::array::from_fn(|i| rating(&now[i], &kept[i], bars[i], v)),
            reminder: minutes.filter(|minutes| AIR_REMINDER_MIN.contains(minutes)),
        }
    }

    /// Puts them into settings. False if one cannot be.
    fn put(&self, settings: &mut Settings) -> bool {
        let (&[Some(hose), Some(regulator), Some(tester)], Some(minutes)) =
            (&self.ratings, self.reminder)
        else {
            return false;
        };
        settings.hose_rating_bar = hose;
        settings.regulator_rating_bar = regulator;
        settings.tester_rating_bar = tester;
        settings.air_reminder_min = minutes;
        true
    }
}

/// Puts bay and shop folder as typed into settings.
fn put_tablet([_, bay, folder]: &[String; 3], settings: &mut Settings) {
    bay.trim().clone_into(&mut settings.default_bay);
    let folder = folder.trim();
    settings.shop_folder = (!folder.is_empty()).then(|| PathBuf::from(folder));
}

fn is_name(text: &str) -> bool {
    text.chars().count() <= NAME_MAX && !text.chars().any(char::is_control)
}

impl Typed {
    fn fields(&mut self, v: &View<'_>) -> &mut SettingFields {
        let kept = Texts::of(v);
        let mut fields = self.fields.take().unwrap_or_else(|| SettingFields {
            now: kept.clone(),
            kept: kept.clone(),
        });
        fields.now.write_in(v.units);
        fields.kept.write_in(v.units);
        fields.follow(kept);
        self.fields.insert(fields)
    }

    /// Puts ratings and reminder that are typed and not saved yet into settings. False if
    /// they cannot be saved as they stand.
    pub fn put_air(&mut self, v: &View<'_>, settings: &mut Settings) -> bool {
        let fields = self.fields(v);
        fields.now.air == fields.kept.air || ReadAir::of(fields, v).put(settings)
    }

    /// The same for bay and shop folder; the name is no setting, but has to hold too.
    pub fn put_tablet(&mut self, v: &View<'_>, settings: &mut Settings) -> bool {
        let now = &self.fields(v).now.tablet;
        let holds = is_tablet(now);
        if holds {
            put_tablet(now, settings);
        }
        holds
    }

    /// The tablet's new name, if one is typed, holds and is not saved yet.
    pub fn renamed(&mut self, v: &View<'_>) -> Option<Intent> {
        let fields = self.fields(v);
        let name = &fields.now.tablet[0];
        let is_new = *name != fields.kept.tablet[0] && is_tablet(&fields.now.tablet);
        is_new.then(|| Intent::RenameTablet(name.trim().to_owned()))
    }

    /// Ratings between compressor and cylinder, and the reminder.
    pub fn air(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let w = v.words;
        let fields = self.fields(v);
        frame::line(ui, w.lowest_rating_counts, Type::Body, true);
        let names = [
            (w.hose_rating, "hose"),
            (w.regulator_rating, "regulator"),
            (w.tester_rating, "tester"),
        ];
        for (i, (name, salt)) in names.into_iter().enumerate() {
            TextField::new(name, &mut fields.now.air[i])
                .salt(salt)
                .keys(Keys::Figure)
                .ui(ui, w);
            range_line(ui, v, ReadAir::of(fields, v).ratings[i].is_some());
        }
        TextField::new(w.reminder_minutes, &mut fields.now.air[3])
            .salt("reminder")
            .keys(Keys::Whole)
            .ui(ui, w);
        let read = ReadAir::of(fields, v);
        range_line(ui, v, read.reminder.is_some());
        let mut settings = v.settings.clone();
        let is_new = fields.now.air != fields.kept.air;
        let is_good = read.put(&mut settings);
        let save = save_these(w, is_new, is_good);
        if save.ui(ui).tapped {
            fields.kept.air.clone_from(&fields.now.air);
            out.push(Intent::Settings(Box::new(settings)));
        }
    }

    /// Name, bay and shop folder of this tablet.
    pub fn tablet(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let w = v.words;
        self.fields(v);
        let Self { fields, choose } = self;
        let Some(fields) = fields else {
            return;
        };
        let [name, bay, folder] = &mut fields.now.tablet;
        TextField::new(w.tablet_name, name).salt("tablet").ui(ui, w);
        range_line(ui, v, is_tablet_name(name));
        TextField::new(w.default_bay, bay)
            .salt("bay")
            .choices(v.written.of(Kind::Bay))
            .ui(ui, w);
        range_line(ui, v, is_name(bay));
        TextField::new(w.shop_folder_path, folder)
            .salt("folder")
            .ui(ui, w);
        let chosen = ui.push_id("choose folder", |ui| {
            choose.ui(ui, v, folder, LookFor::Folder, out)
        });
        if let Some(chosen) = chosen.inner {
            *folder = chosen;
        }
        frame::line(ui, w.shop_folder_more, Type::Body, true);
        let key = format!("{}: {}", w.key_of_this_tablet, in_groups(v.tablet_key));
        frame::line(ui, &key, Type::Body, true);
        let (now, kept) = (&fields.now.tablet, &fields.kept.tablet);
        let save = save_these(w, now != kept, is_tablet(now));
        if !save.ui(ui).tapped {
            return;
        }
        if now[0] != kept[0] {
            out.push(Intent::RenameTablet(now[0].trim().to_owned()));
        }
        if now[1..] != kept[1..] {
            change(v, out, |settings| put_tablet(now, settings));
        }
        fields.kept.tablet.clone_from(&fields.now.tablet);
    }
}

/// What saves what was typed, once it is new and within what it may be.
pub fn save_these(w: &Words, is_new: bool, is_good: bool) -> Button<'_> {
    let missing = if is_good {
        w.nothing_changed
    } else {
        w.out_of_range
    };
    Button::new(w.save_these).wants(missing, !is_new || !is_good)
}

fn is_tablet_name(text: &str) -> bool {
    is_name(text) && !text.trim().is_empty()
}

/// Whether name and bay may be what was typed.
fn is_tablet([name, bay, _]: &[String; 3]) -> bool {
    is_tablet_name(name) && is_name(bay)
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
