//! The bays of this tablet: one row a job, open ones first.

use egui::{Rect, Sense, Ui, pos2, vec2};
use trayzero_core::job::JobPhase;
use uuid::Uuid;

use super::bay::told;
use super::board::handed_words;
use super::chooser::Chooser;
use super::frame::{self, MARGIN};
use super::{finished, first_day, first_use, record, shop_note, top};
use crate::data::store::JobSummary;
use crate::ui::first_use::FirstUse;
use crate::ui::intent::{Intent, Screen};
use crate::ui::theme::{GAP, ROUND_AREA, TARGET, Theme, Type};
use crate::ui::units;
use crate::ui::view::View;
use crate::ui::widgets::button::Button;
use crate::ui::widgets::{note, paint, tap};
use crate::ui::words::capital;

/// Draws the screen.
pub fn ui(ui: &mut Ui, v: &View<'_>, open_record: &mut Chooser, out: &mut Vec<Intent>) {
    let (rest, _) = top::ui(ui, v, out);
    let w = v.words;
    let inner = rest.shrink2(vec2(MARGIN, GAP));
    let names = [
        (w.new_job, Screen::NewJob),
        (w.board, Screen::Board),
        (w.layouts, Screen::Layouts),
        (w.settings, Screen::Settings),
    ];
    let per_row = if inner.width() >= 640.0 * Theme::of(ui.ctx()).scale() {
        4
    } else {
        2
    };
    let each = (inner.width() - GAP * (per_row as f32 - 1.0)) / per_row as f32;
    let height = names
        .iter()
        .map(|(n, _)| Button::new(n).height(ui, each))
        .fold(TARGET, f32::max);
    let rows = names.len() / per_row;
    let foot = rows as f32 * (height + GAP);
    let foot_rect = Rect::from_min_max(pos2(inner.left(), inner.bottom() - foot + GAP), inner.max);
    let list = Rect::from_min_max(inner.min, pos2(inner.right(), inner.bottom() - foot));
    let mut area = frame::child(ui, foot_rect, "foot");
    for row in names.chunks(per_row) {
        let rects = frame::columns(&mut area, per_row, height);
        for ((name, place), rect) in row.iter().zip(rects) {
            let mut button = Button::new(name);
            // On the first day its card says what comes next; one filled bar is enough.
            if *place == Screen::NewJob && !first_day::is_shown(v) {
                button = button.tint(Theme::of(ui.ctx()).colours.now);
            }
            if button.at(&mut area, rect).tapped {
                out.push(Intent::Go(*place));
            }
        }
    }
    let mut area = frame::child(ui, list, "list");
    frame::scrolling().show(&mut area, |ui| {
        ui.spacing_mut().item_spacing.y = GAP;
        if let Some(crate::ui::view::Notice::Fault { what, way_out }) = v.notice {
            note::ui(ui, what, way_out, Theme::of(ui.ctx()).colours.astray);
        }
        if let Some(crate::ui::view::Notice::Said(text)) = v.notice {
            note::ui(ui, text, "", Theme::of(ui.ctx()).colours.done);
        }
        first_day::ui(ui, v, out);
        if !first_day::is_shown(v) {
            first_use::ui(ui, v, FirstUse::Bays, out);
        }
        shop_note::trouble(ui, v);
        if v.jobs.is_empty() {
            frame::line(ui, w.no_jobs, Type::Title, true);
        }
        let mut jobs: Vec<_> = v.jobs.iter().map(|job| (job.job, &job.summary)).collect();
        jobs.sort_by_key(|(_, summary)| (summary.phase.is_over(), &summary.bay));
        jobs.extend(v.finished.iter().map(|card| (card.job, &card.summary)));
        for (job, summary) in jobs {
            row(ui, v, job, summary, out);
        }
        finished::more(ui, v, out);
        record::choose(ui, v, open_record, out);
    });
}

/// What somebody has to look at in a job, the most urgent first.
fn asked_of(v: &View<'_>, s: &JobSummary) -> String {
    let w = v.words;
    let left_open = told::left_open(w, s.phase, s.stands_open == Some(true));
    let mut parts: Vec<String> = left_open.map(capital).into_iter().collect();
    if s.adrift > 0 {
        parts.push(format!("{} {}", s.adrift, w.adrift));
    }
    if s.conflicts > 0 {
        let asked = w.dangers(&s.dangers);
        let count = w.block_conflicts(s.conflicts);
        parts.push(match asked.as_str() {
            "" => count,
            _ => format!("{count}: {asked}"),
        });
    }
    if !s.phase.is_over() {
        let waits = s.foreman.iter();
        parts.extend(waits.map(|(c, loss)| capital(&w.block_foreman(*c, *loss))));
    }
    parts.join(" · ")
}

/// How far a job is, who works at it, and what is loose or on in it.
fn told_of(v: &View<'_>, s: &JobSummary) -> String {
    let w = v.words;
    let phase = s.phase;
    let mut parts = vec![w.of_verified(s.verified, s.valves)];
    if phase != JobPhase::Open {
        parts.push(w.phase(phase).to_owned());
    }
    parts.push(s.technician.clone());
    parts.extend(s.order_number.iter().map(|number| w.number_n(number)));
    parts.extend(handed_words(v, s));
    if s.loose > 0 {
        parts.push(format!("{} {}", s.loose, w.loose));
    }
    if let Some(air) = s.air.filter(|_| s.air_asked().is_none()) {
        let pressure = units::pressure_at_a_glance(air.bar, v.units);
        parts.push(format!("{}, {pressure}", w.air_on_cylinder(air.cylinder)));
    }
    parts.join(" · ")
}

/// One job: bay and vehicle, what has to be looked at, and what else is told of it.
fn row(ui: &mut Ui, v: &View<'_>, job: Uuid, s: &JobSummary, out: &mut Vec<Intent>) {
    let theme = Theme::of(ui.ctx());
    let c = theme.colours;
    let title = format!("{} · {}", s.bay, s.vehicle);
    let (asked, more) = (asked_of(v, s), told_of(v, s));
    let width = ui.available_width();
    let room = width - 2.0 * MARGIN - 12.0;
    let name = paint::text(ui, &title, Type::Title, c.ink, room);
    let loud = (!asked.is_empty()).then(|| paint::text(ui, &asked, Type::Strong, c.ink, room));
    let loud_height = loud.as_ref().map_or(0.0, |text| text.size().y);
    let under = paint::text(ui, &more, Type::Body, c.ink_soft, room);
    let height = (name.size().y + loud_height + under.size().y + 28.0).max(TARGET);
    let (rect, _) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    let id = ui.scope_id().with(job);
    let said = [&*title, &*asked, &*more]
        .into_iter()
        .filter(|text| !text.is_empty());
    let spoken = said.collect::<Vec<_>>().join(", ");
    let tapped = tap::area(ui, rect, id, &spoken, true);
    paint::control(ui, &tapped.response);
    let is_left_open = told::left_open(v.words, s.phase, s.stands_open == Some(true)).is_some();
    let tint = if s.adrift > 0 || s.conflicts > 0 || is_left_open {
        Some(c.astray.mark)
    } else if s.air.is_some() {
        Some(c.air.mark)
    } else if s.loose > 0 || !asked.is_empty() {
        Some(c.open.mark)
    } else if s.phase == JobPhase::Closed {
        Some(c.done.mark)
    } else {
        None
    };
    if let Some(tint) = tint {
        let stripe = Rect::from_min_max(
            rect.min + vec2(6.0, 10.0),
            pos2(rect.left() + 12.0, rect.bottom() - 10.0),
        );
        ui.painter().rect_filled(stripe, 3.0, tint);
    }
    let at = rect.min + vec2(MARGIN + 8.0, 14.0);
    let loud_at = at + vec2(0.0, name.size().y);
    let below = loud_at + vec2(0.0, loud_height);
    ui.painter().galley(at, name, c.ink);
    if let Some(loud) = loud {
        ui.painter().galley(loud_at, loud, c.ink);
    }
    ui.painter().galley(below, under, c.ink_soft);
    paint::focus_ring(ui, &tapped.response, f32::from(ROUND_AREA));
    if tapped.tapped {
        out.push(Intent::OpenJob(job));
    }
}
