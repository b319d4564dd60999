//! The first day: what an empty tablet needs before its first job, one tap each.

use egui::{Rect, Sense, Ui, vec2};

use super::frame;
use crate::ui::intent::{Intent, Screen};
use crate::ui::theme::{GAP, Theme, Type};
use crate::ui::view::View;
use crate::ui::widgets::button::Button;

/// Under this the settings keep that it was put away.
const KEY: &str = "first day";

/// Whether somebody can sign: a foreman with a code.
fn has_people(v: &View<'_>) -> bool {
    v.crew
        .iter()
        .any(|member| member.is_foreman() && member.has_code)
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
    let room = ui.clip_rect().height();
    frame::line(ui, w.first_day, Type::Title, false);
    let mut steps = steps(v);
    let places = places(ui, v, &mut steps, room);
    let tint = Theme::of(ui.ctx()).colours.now;
    for (step, place) in steps.iter().zip(places) {
        let button = step.button();
        let button = if step.is_next {
            button.tint(tint)
        } else {
            button
        };
        if button.at(ui, place).tapped {
            out.push(Intent::Go(step.screen));
        }
    }
    frame::line(ui, w.first_day_more, Type::Body, true);
    let hide = format!("{}: {}", w.hide_card, w.first_day);
    if Button::new(w.hide_card).named(&hide).ui(ui).tapped {
        let mut settings = s.clone();
        settings.cards_seen.insert(KEY.to_owned());
        out.push(Intent::Settings(Box::new(settings)));
    }
}

/// One of the three things.
struct DayStep<'a> {
    text: String,
    more: &'a str,
    is_next: bool,
    screen: Screen,
}

impl DayStep<'_> {
    fn button(&self) -> Button<'_> {
        Button::new(&self.text).more(self.more)
    }
}

fn steps<'a>(v: &View<'a>) -> [DayStep<'a>; 3] {
    let w = v.words;
    let has_people = has_people(v);
    let step = |name: &str, more, is_there: bool, screen| DayStep {
        text: name.to_owned(),
        more: if is_there { w.is_there } else { more },
        is_next: false,
        screen,
    };
    // A place that is named and has never answered may be none.
    let is_named = v.settings.shop_folder.is_some();
    let has_folder = is_named && v.shop.last_good_ms.is_some();
    let folder_more = if is_named {
        w.first_day_folder_silent
    } else {
        w.first_day_folder_more
    };
    let mut steps = [
        step(w.first_day_people, "", has_people, Screen::Settings),
        step(
            w.first_day_folder,
            folder_more,
            has_folder,
            Screen::Settings,
        ),
        step(w.first_day_job, "", false, Screen::NewJob),
    ];
    // The folder is for some shops only and holds nobody up.
    steps[if has_people { 2 } else { 0 }].is_next = true;
    for (index, step) in steps.iter_mut().enumerate() {
        step.text = format!("{} {}", index + 1, step.text);
    }
    steps
}

/// Places of the steps: one below the other, or side by side where that is the only way to
/// have all of them in sight. There a second line that says no more than what a step is for
/// gives way.
fn places(ui: &mut Ui, v: &View<'_>, steps: &mut [DayStep<'_>; 3], room: f32) -> Vec<Rect> {
    let width = ui.available_width();
    let room = room - frame::title_height(ui, v.words.first_day, width) - GAP;
    let heights = |steps: &[DayStep<'_>; 3], width: f32| {
        steps.each_ref().map(|step| step.button().height(ui, width))
    };
    let below = heights(steps, width);
    if below.iter().sum::<f32>() + 2.0 * GAP > room {
        let tallest = |steps: &[DayStep<'_>; 3]| {
            let all = heights(steps, (width - 2.0 * GAP) / 3.0);
            all.into_iter().fold(0.0, f32::max)
        };
        if tallest(steps) > room && v.settings.shop_folder.is_none() {
            steps[1].more = "";
        }
        let beside = tallest(steps);
        if beside <= room {
            return frame::columns(ui, 3, beside);
        }
    }
    let row = |height| {
        ui.allocate_exact_size(vec2(width, height), Sense::hover())
            .0
    };
    below.map(row).to_vec()
}
