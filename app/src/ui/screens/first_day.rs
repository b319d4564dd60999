//! The first day: what an empty tablet needs before its first job, one tap each.

use egui::Ui;

use super::frame;
use crate::ui::intent::{Intent, Screen};
use crate::ui::theme::{Theme, Type};
use crate::ui::view::View;
use crate::ui::widgets::button::Button;

/// Under this the settings keep that it was put away.
const KEY: &str = "first day";

/// Whether somebody can sign: a foreman with a code.
fn has_people(v: &View<'_>) -> bool {
    v.crew
        .iter()
        .any(|member| member.is_foreman && member.has_code)
}

/// Whether it is shown: as long as there is no job and nobody has put it away.
pub fn is_shown(v: &View<'_>) -> bool {
    let s = v.settings;
    v.jobs.is_empty() && s.first_use_cards && !s.cards_seen.contains(KEY)
}

/// Draws it where it is shown.
pub fn ui(ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
    if !is_shown(v) {
        return;
    }
    let (w, s) = (v.words, v.settings);
    frame::line(ui, w.first_day, Type::Title, false);
    frame::line(ui, w.first_day_more, Type::Body, true);
    let has_folder = s.shop_folder.is_some();
    let steps = [
        (w.first_day_people, "", has_people(v), Screen::Settings),
        (
            w.first_day_folder,
            w.first_day_folder_more,
            has_folder,
            Screen::Settings,
        ),
        (w.first_day_job, "", false, Screen::NewJob),
    ];
    // The folder is for some shops only and holds nobody up.
    let next = if has_people(v) { 2 } else { 0 };
    let tint = Theme::of(ui.ctx()).colours.now;
    for (index, (name, more, is_there, screen)) in steps.into_iter().enumerate() {
        let text = format!("{} {name}", index + 1);
        let more = if is_there { w.is_there } else { more };
        let mut button = Button::new(&text).more(more);
        if index == next {
            button = button.tint(tint);
        }
        if button.ui(ui).tapped {
            out.push(Intent::Go(screen));
        }
    }
    let hide = format!("{}: {}", w.hide_card, w.first_day);
    if Button::new(w.hide_card).named(&hide).ui(ui).tapped {
        let mut settings = s.clone();
        settings.cards_seen.insert(KEY.to_owned());
        out.push(Intent::Settings(Box::new(settings)));
    }
}
