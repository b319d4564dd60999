//! When the shop works: hours, the break, the days.

use egui::Ui;
use jiff::civil::Weekday;

use super::change;
use super::typed::save_these;
use crate::data::settings::Settings;
use crate::data::shop_hours::ShopHours;
use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::screens::sheets::chips;
use crate::ui::theme::{Theme, Type};
use crate::ui::view::View;
use crate::ui::widgets::note;
use crate::ui::widgets::text_field::TextField;

/// What is typed and chosen, until it is saved.
#[derive(Default)]
pub struct HoursForm {
    /// What stands in the fields, and what was kept when that was looked at last.
    texts: Option<TypedHours>,
}

struct TypedHours {
    now: HoursTexts,
    was: HoursTexts,
}

#[derive(Clone, PartialEq)]
struct HoursTexts {
    times: [String; 4],
    weekdays: [bool; 7],
    days_off: String,
}

impl HoursTexts {
    fn of(hours: &ShopHours) -> Self {
        let times = [
            hours.from_min,
            hours.to_min,
            hours.break_from_min,
            hours.break_to_min,
        ];
        Self {
            times: times.map(|minute| format!("{}:{:02}", minute / 60, minute % 60)),
            weekdays: hours.weekdays,
            days_off: hours.days_off.join(", "),
        }
    }

    /// The hours as typed, if they hold.
    fn hours(&self) -> Option<ShopHours> {
        let at = |place: usize| minute_of(&self.times[place]);
        let days = self.days_off.split(',').map(str::trim);
        let hours = ShopHours {
            from_min: at(0)?,
            to_min: at(1)?,
            break_from_min: at(2)?,
            break_to_min: at(3)?,
            weekdays: self.weekdays,
            days_off: days.filter(|d| !d.is_empty()).map(str::to_owned).collect(),
        };
        hours.holds().then_some(hours)
    }
}

/// Minutes since midnight of "7:30", "7.30" or "7".
fn minute_of(text: &str) -> Option<u16> {
    let text = text.trim();
    let (hour, minute) = text.split_once([':', '.']).unwrap_or((text, "0"));
    let (hour, minute): (u16, u16) = (hour.parse().ok()?, minute.parse().ok()?);
    (hour <= 24 && minute < 60).then_some(hour * 60 + minute)
}

impl HoursForm {
    fn typed(&mut self, v: &View<'_>) -> &mut TypedHours {
        let kept = HoursTexts::of(&v.settings.shop_hours);
        let typed = self.texts.get_or_insert_with(|| TypedHours {
            now: kept.clone(),
            was: kept.clone(),
        });
        // Fields that nobody has touched go with what is kept.
        if typed.now == typed.was {
            typed.now.clone_from(&kept);
        }
        typed.was = kept;
        typed
    }

    /// Puts hours that are typed and not saved yet into settings. False if they do not hold.
    pub fn put(&mut self, v: &View<'_>, settings: &mut Settings) -> bool {
        let typed = self.typed(v);
        if typed.now == typed.was {
            return true;
        }
        let hours = typed.now.hours();
        let holds = hours.is_some();
        settings.shop_hours = hours.unwrap_or_else(|| settings.shop_hours.clone());
        holds
    }

    /// Draws the group.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let w = v.words;
        let TypedHours { now: texts, was } = self.typed(v);
        frame::line(ui, w.shop_hours_more, Type::Body, true);
        let names = [w.work_from, w.work_to, w.break_from, w.break_to];
        for (at, name) in names.into_iter().enumerate() {
            TextField::new(name, &mut texts.times[at])
                .salt(name)
                .ui(ui, w);
        }
        frame::line(ui, w.days_worked, Type::Body, true);
        let days = Weekday::Monday.cycle_forward().take(7);
        let days: Vec<String> = days.map(|day| w.weekday(day).to_owned()).collect();
        if let Some(day) = chips::ui(ui, &days, 4, |day| texts.weekdays[day]) {
            texts.weekdays[day] = !texts.weekdays[day];
        }
        TextField::new(w.days_off, &mut texts.days_off)
            .salt("days off")
            .ui(ui, w);
        let typed = texts.hours();
        if typed.is_none() {
            let c = Theme::of(ui.ctx()).colours;
            note::ui(ui, w.bad_hours, "", c.astray);
        }
        let save = save_these(w, texts != was, typed.is_some());
        let tapped = ui.push_id("hours", |ui| save.ui(ui)).inner.tapped;
        if let (true, Some(hours)) = (tapped, typed) {
            was.clone_from(texts);
            change(v, out, |s| s.shop_hours = hours);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{HoursTexts, ShopHours, minute_of};

    #[test]
    fn hours_are_read_as_they_are_shown() {
        let usual = ShopHours::default();
        assert_eq!(HoursTexts::of(&usual).hours(), Some(usual));
        assert_eq!(minute_of("7.30"), Some(450));
        assert_eq!(minute_of("17"), Some(1_020));
        assert_eq!(minute_of("7:61"), None);
        assert_eq!(minute_of("noon"), None);
    }
}
