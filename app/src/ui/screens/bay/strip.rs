//! The crank strip: where the crank is, what comes next and how far to turn.

use egui::{Rect, Ui};
use trayzero_core::engine::Layout;
use trayzero_core::job::CrankAt;

use super::told;
use crate::ui::screens::frame::{self, MARGIN};
use crate::ui::screens::sheets::{Sheet, Sheets};
use crate::ui::theme::{ROUND_AREA, Theme, Type};
use crate::ui::units;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::crank_strip::{CrankStrip, StripStop};
use crate::ui::widgets::{paint, tap};

/// Height that the strip takes.
pub fn height(ui: &Ui) -> f32 {
    CrankStrip::height(ui) + 2.0 * MARGIN
}

/// Height that it takes without its lines, for low screens.
pub fn low_height(ui: &Ui) -> f32 {
    CrankStrip::low_height(ui) + MARGIN / 2.0
}

/// The first of some texts that fits on one line, or the last of them.
fn first_fitting(ui: &Ui, texts: &[&str], step: Type, room: f32) -> String {
    let ink = egui::Color32::PLACEHOLDER;
    let fits = |text: &&&str| !paint::text_line(ui, text, step, ink, room).elided;
    let found = texts.iter().find(fits).or(texts.last());
    found.map_or_else(String::new, |text| (*text).to_owned())
}

/// Where the crank stands and what comes next, in words.
struct StripLines {
    here: String,
    wrench: &'static str,
    next: String,
    /// The same without the length on the rim.
    next_short: String,
    /// The turn alone.
    turn: String,
}

fn lines(v: &View<'_>, job: &JobView<'_>, layout: &Layout, stop: Option<CrankAt>) -> StripLines {
    let w = v.words;
    let state = job.state;
    let wrench = told::wrench(v, job);
    let here = told::crank(v, job);
    // While nobody knows where the crank stands, nobody knows how far to turn it.
    let unknown = stop.filter(|_| state.crank().is_none());
    if let Some(stop) = unknown {
        let next = w.find_top(stop.cylinder);
        return StripLines {
            here,
            wrench,
            next_short: next.clone(),
            next,
            turn: w.unknown.to_owned(),
        };
    }
    // Where either top serves, two cylinders are worked at one place.
    if let Some(stop) = stop.filter(|stop| state.turn_to(*stop).abs() < 0.5) {
        let next = w.no_turn(stop.cylinder);
        return StripLines {
            here,
            wrench,
            next_short: next.clone(),
            next,
            turn: w.degrees(0.0),
        };
    }
    let then = |say: &dyn Fn(CrankAt, f64) -> String| {
        stop.map(|stop| say(stop, state.turn_to(stop)))
            .unwrap_or_default()
    };
    StripLines {
        here,
        wrench,
        next: then(&|stop, turn| {
            let rim = units::along_rim(layout, turn, v.units);
            w.turn_then(stop.cylinder, turn, rim.as_deref())
        }),
        next_short: then(&|stop, turn| w.turn_then(stop.cylinder, turn, None)),
        turn: then(&|_, turn| w.degrees(turn)),
    }
}

/// Every cylinder where it is worked: as the order has it, as the crank stands, or at its
/// first position.
fn stops(job: &JobView<'_>, layout: &Layout, stop: Option<CrankAt>) -> Vec<StripStop> {
    let state = job.state;
    let offset_of = |cylinder: u8| {
        let known = [stop, state.crank()];
        let chosen = known.into_iter().flatten().find(|c| c.cylinder == cylinder);
        let first = || layout.offsets_deg(cylinder).first().copied();
        chosen
            .map(|c| c.offset_deg)
            .or_else(first)
            .unwrap_or_default()
    };
    let all = layout.cylinders().filter_map(|cylinder| {
        Some(StripStop {
            cylinder,
            at_deg: layout.working_deg(cylinder, offset_of(cylinder))?,
            is_done: state.cylinder_verified(cylinder),
        })
    });
    all.collect()
}

/// Draws it; a tap opens the crank's sheet.
pub fn ui(
    ui: &mut Ui,
    rect: Rect,
    v: &View<'_>,
    job: &JobView<'_>,
    layout: &Layout,
    sheets: &mut Sheets,
) {
    if rect.height() < 1.0 {
        return;
    }
    let state = job.state;
    let is_known = told::turn_is_known(job);
    let stop = job.next_stop().filter(|stop| Some(*stop) != state.crank());
    let stop = stop.filter(|_| is_known);
    let lines = lines(v, job, layout, stop);
    let next_deg = stop.and_then(|s| layout.working_deg(s.cylinder, s.offset_deg));
    let is_low = rect.height() < height(ui) - 0.5;
    let inner = if is_low {
        frame::card(ui, rect);
        rect.shrink2(egui::vec2(MARGIN, MARGIN / 4.0))
    } else {
        frame::card(ui, rect)
    };
    let title = format!("{} · {}", lines.here, lines.wrench);
    let name = format!("{title}. {}", lines.next);
    // Where a line does not fit, the half of it that matters more stays.
    let half = if lines.wrench == v.words.wrench_off {
        &lines.here
    } else {
        lines.wrench
    };
    let shown = first_fitting(ui, &[&title, half], Type::Strong, inner.width());
    let next = [&*lines.next, &lines.next_short];
    let shown_next = first_fitting(ui, &next, Type::Body, inner.width());
    let tapped = tap::area(ui, rect, ui.scope_id().with("crank strip"), &name, true);
    if paint::is_pressed(&tapped.response) {
        let ground = Theme::of(ui.ctx()).colours.pressed;
        ui.painter()
            .rect_filled(rect.shrink(2.0), f32::from(ROUND_AREA), ground);
    }
    paint::focus_ring(ui, &tapped.response, f32::from(ROUND_AREA));
    let mut area = frame::child(ui, inner, "crank strip");
    CrankStrip {
        stops: &stops(job, layout, stop),
        crank_deg: state.crank_deg().filter(|_| is_known),
        next: next_deg.map(|deg| (deg, stop.is_some_and(|s| state.turn_to(s) < 0.0))),
        title: &shown,
        more: &shown_next,
        is_low,
        short: &lines.turn,
    }
    .ui(&mut area);
    if tapped.tapped {
        sheets.open(Sheet::Crank);
    }
}
