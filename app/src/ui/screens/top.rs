//! The top of every screen: where we are, and the figures that never leave.

use egui::{Rect, Sense, Ui, pos2, vec2};
use trayzero_core::job::JobPhase;

use super::bay::told;
use super::frame::{self, MARGIN};
use super::shop_note;
use crate::data::store::JobSummary;
use crate::power::Battery;
use crate::ui::intent::{Intent, Screen};
use crate::ui::theme::{GAP, TARGET, Theme, Type};
use crate::ui::units;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::counters::{AirView, Counter, CountersView};
use crate::ui::widgets::{note, paint};

/// The figures of the open job; where none is open, of all jobs together.
pub fn counters(v: &View<'_>) -> CountersView {
    let of_jobs = match &v.job {
        Some(job) => one_job(v, job),
        None => all_jobs(v),
    };
    let low = v.power.battery.filter(Battery::is_low);
    CountersView {
        low_battery: low.map(|battery| {
            let percent = battery.percent.round() as u32;
            let left = v.words.battery_left(percent, battery.minutes_left);
            (percent, format!("{}: {left}", v.words.battery_low))
        }),
        ..of_jobs
    }
}

fn one_job(v: &View<'_>, job: &JobView<'_>) -> CountersView {
    let air_in = |cylinder, reading| AirView {
        bay: None,
        is_several: false,
        cylinder,
        reading,
    };
    let known = job.state.air_on().map(|(cylinder, bar)| {
        let pressure = units::pressure_at_a_glance(bar, v.units);
        air_in(cylinder, Some((pressure, air_minutes(v, cylinder))))
    });
    let asked = told::air_asked(job).map(|cylinder| air_in(cylinder, None));
    CountersView {
        loose: job.state.loose(),
        aboard: job.state.aboard(),
        adrift: job.state.adrift(),
        air: asked.or(known),
        ..CountersView::default()
    }
}

/// What is loose, aboard and adrift in all jobs of this tablet, and the air on longest.
fn all_jobs(v: &View<'_>) -> CountersView {
    let summaries = || v.jobs.iter().map(|job| &job.summary);
    let longest = summaries()
        .filter_map(|s| Some((s, s.air?)))
        .min_by_key(|(_, air)| air.since_ms);
    let asked = summaries().find_map(|s| Some((s, s.air_asked()?)));
    let bays = summaries()
        .filter(|s| s.air.is_some() || s.air_asked().is_some())
        .count();
    let air_in = |job: &JobSummary, cylinder, reading| AirView {
        bay: Some(match bays {
            1 => job.bay.clone(),
            _ => v.words.n_bays(bays),
        }),
        is_several: bays > 1,
        cylinder,
        reading,
    };
    // With air on in several, the figure is that of the longest.
    let known = longest.map(|(job, air)| {
        let pressure = units::pressure_at_a_glance(air.bar, v.units);
        let minutes = v.minutes_since(air.since_ms);
        air_in(job, air.cylinder, Some((pressure, minutes)))
    });
    let asked = asked.map(|(job, cylinder)| air_in(job, cylinder, None));
    CountersView {
        loose: summaries().map(|s| s.loose).sum(),
        aboard: summaries().map(|s| s.aboard).sum(),
        adrift: summaries().map(|s| s.adrift).sum(),
        air: asked.or(known),
        ..CountersView::default()
    }
}

/// Whole minutes since air went on in a cylinder, where that is known.
pub fn air_minutes(v: &View<'_>, cylinder: u8) -> Option<i64> {
    v.minutes_since(v.job.as_ref()?.state.air_since_ms(cylinder)?)
}

/// The title, and what goes below it: the most telling first, so that the last of it may
/// be left out where there is no room.
fn titles(v: &View<'_>) -> (String, Vec<String>) {
    let w = v.words;
    match (&v.job, v.screen) {
        (Some(job), Screen::Bay) => {
            let state = job.state;
            let mut title = format!("{} · {}", state.bay(), state.vehicle());
            if job.is_record {
                title = format!("{}: {title}", w.record);
            }
            let mut parts = Vec::new();
            let opened = v.record.filter(|_| job.is_record);
            let opened = opened.and_then(|record| record.opened());
            let fails = opened.map_or(0, |opened| opened.report.failures());
            if fails > 0 {
                parts.push(w.record_fails(fails));
            }
            if state.phase() != JobPhase::Open {
                parts.push(w.phase(state.phase()).to_owned());
            }
            parts.push(w.of_verified(state.verified_count(), state.valves().count()));
            if let Some(person) = state.technician() {
                parts.push(person.to_string());
            }
            parts.extend(state.order_number().map(|number| w.number_n(number)));
            if let Some(layout) = state.layout() {
                parts.push(layout.name.clone());
            }
            (title, parts)
        }
        (_, Screen::Bays) => (w.bays.to_owned(), Vec::new()),
        (_, Screen::NewJob) => (w.new_job.to_owned(), Vec::new()),
        (_, Screen::Board) => (w.board.to_owned(), Vec::new()),
        (_, Screen::Layouts) => (w.layouts.to_owned(), Vec::new()),
        (_, Screen::Settings) => (w.settings.to_owned(), Vec::new()),
        (_, Screen::Record) => (w.record.to_owned(), Vec::new()),
        (None, Screen::Bay) => (w.bay.to_owned(), Vec::new()),
    }
}

/// As many of the parts as fit on one line.
fn fitting(ui: &Ui, parts: &[String], room: f32) -> String {
    let ink = egui::Color32::PLACEHOLDER;
    (1..=parts.len())
        .rev()
        .map(|n| parts[..n].join(" · "))
        .find(|text| !paint::text_line(ui, text, Type::Body, ink, room).elided)
        .unwrap_or_default()
}

fn below_key() -> egui::Id {
    egui::Id::unique("trayzero below the figures")
}

/// The screen below the top, where something may lie over it.
pub fn below(ui: &Ui) -> Rect {
    let top: Option<f32> = ui.data(|d| d.get_temp(below_key()));
    let full = ui.max_rect();
    full.with_min_y(top.unwrap_or(full.top()))
}

/// The figures as they are shown.
fn shown(v: &View<'_>, is_blind: bool) -> CountersView {
    CountersView {
        is_blind,
        ..counters(v)
    }
}

/// Width of the figures where they stand beside the title. A low battery takes room of its own.
fn counters_beside(width: f32, scale: f32, figures: &CountersView) -> f32 {
    let most = if figures.low_battery.is_some() {
        690.0
    } else {
        560.0
    };
    (width * 0.5).min(most + 260.0 * (scale - 1.0))
}

/// Draws the top and gives the rectangle that is left, and a figure that was tapped.
pub fn ui(ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) -> (Rect, Option<Counter>) {
    ui_blind(ui, v, false, out)
}

/// The same; while a blind count is under way it shows nothing of what is expected.
pub fn ui_blind(
    ui: &mut Ui,
    v: &View<'_>,
    is_blind: bool,
    out: &mut Vec<Intent>,
) -> (Rect, Option<Counter>) {
    let full = ui.max_rect();
    let theme = Theme::of(ui.ctx());
    let (title, parts) = titles(v);
    let is_home = v.screen == Screen::Bays;
    let back_width = if is_home {
        0.0
    } else {
        back_width(ui, v) + GAP
    };
    let wide = full.width() >= 900.0 + 500.0 * (theme.scale() - 1.0);
    let figures = shown(v, is_blind);
    let counters_width = if wide {
        counters_beside(full.width(), theme.scale(), &figures)
    } else {
        full.width() - 2.0 * MARGIN
    };
    let text_room = if wide {
        full.width() - counters_width - back_width - 3.0 * MARGIN
    } else {
        full.width() - back_width - 2.0 * MARGIN
    };
    let name = paint::text(ui, &title, Type::Heading, theme.colours.ink, text_room);
    let more = fitting(ui, &parts, text_room);
    let under = paint::text_line(ui, &more, Type::Body, theme.colours.ink_soft, text_room);
    // On a low screen with large text the second line is spoken only.
    let is_low = !wide && full.height() < full.width();
    let shows_more = !more.is_empty() && !is_low;
    let text_height = name.size().y + if shows_more { under.size().y } else { 0.0 };
    let row = text_height.max(TARGET);
    let top = full.top() + GAP;
    if !is_home {
        let rect = Rect::from_min_size(
            pos2(full.left() + MARGIN, top + (row - TARGET) / 2.0),
            vec2(back_width - GAP, TARGET),
        );
        back(ui, v, rect, out);
    }
    let left = full.left() + MARGIN + back_width;
    let text_rect = Rect::from_min_size(pos2(left, top), vec2(text_room, row));
    heading(ui, text_rect, &title, &parts.join(" · "));
    let text_top = top + (row - text_height) / 2.0;
    let name_height = name.size().y;
    ui.painter()
        .galley(pos2(left, text_top), name, theme.colours.ink);
    if shows_more {
        let at = pos2(left, text_top + name_height);
        ui.painter().galley(at, under, theme.colours.ink_soft);
    }
    let counters_top = if wide { top } else { top + row + GAP };
    let at = pos2(full.right() - MARGIN - counters_width, counters_top);
    let rect = Rect::from_min_size(at, vec2(counters_width, full.height()));
    let mut area = frame::child(ui, rect, "counters");
    let tapped = figures.ui(&mut area, v.words, counters_width);
    let bottom = area.min_rect().bottom().max(top + row) + GAP;
    let bottom = out_of_touch(ui, v, bottom);
    ui.painter().hline(
        full.x_range(),
        bottom,
        egui::Stroke::new(2.0, theme.colours.line),
    );
    let rest = Rect::from_min_max(pos2(full.left(), bottom + 2.0), full.max);
    ui.data_mut(|d| d.insert_temp(below_key(), rest.top()));
    (rest, tapped)
}

/// The line below the figures that says whose may be old; gives where it ends.
fn out_of_touch(ui: &mut Ui, v: &View<'_>, top: f32) -> f32 {
    let Some(text) = shop_note::out_of_touch(v) else {
        return top;
    };
    let full = ui.max_rect();
    let left_top = pos2(full.left() + MARGIN, top);
    let rect = Rect::from_min_max(left_top, full.max - vec2(MARGIN, 0.0));
    let mut area = frame::child(ui, rect, "out of touch");
    let tint = Theme::of(ui.ctx()).colours.open;
    note::ui(&mut area, &text, "", tint);
    area.min_rect().bottom() + GAP
}

fn back_width(ui: &Ui, v: &View<'_>) -> f32 {
    let ink = Theme::of(ui.ctx()).colours.ink;
    let room = ui.max_rect().width() * 0.4;
    let text = paint::text_line(ui, v.words.back, Type::Strong, ink, room);
    (text.size().x + 32.0).max(TARGET * 1.6)
}

/// The way back: to the open job, or to the bays.
fn back(ui: &mut Ui, v: &View<'_>, rect: Rect, out: &mut Vec<Intent>) {
    if Button::new(v.words.back).at(ui, rect).tapped {
        out.push(match v.screen {
            Screen::Bay => Intent::LeaveJob,
            Screen::Record => Intent::CloseRecord,
            _ if v.job.is_some() => Intent::Go(Screen::Bay),
            _ => Intent::Go(Screen::Bays),
        });
    }
}

fn heading(ui: &mut Ui, rect: Rect, title: &str, more: &str) {
    let response = ui.interact(rect, ui.scope_id().with("heading"), Sense::hover());
    let spoken = if more.is_empty() {
        title.to_owned()
    } else {
        format!("{title}, {more}")
    };
    response
        .widget_info(|| egui::WidgetInfo::labeled(egui::accesskit::Role::Heading, true, &spoken));
}
