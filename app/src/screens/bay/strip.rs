//! The crank strip: where the crank is, what comes next and how far to turn.

use egui::{Rect, Ui};
use trayzero_core::engine::Layout;

use crate::screens::frame;
use crate::screens::sheets::{Sheet, Sheets};
use crate::theme::{Theme, Type};
use crate::view::{JobView, View};
use crate::widgets::crank_strip::{CrankStrip, StripStop};
use crate::widgets::paint;

/// Height that the strip takes.
pub fn height(ui: &Ui) -> f32 {
    2.0 * paint::line_height(ui, Type::Body) + 84.0 + 16.0 * (Theme::of(ui.ctx()).scale() - 1.0)
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
    let w = v.words;
    let state = job.state;
    let wrench = if state.wrench_on() { w.wrench_on } else { w.wrench_off };
    let here = match state.crank() {
        Some(at) => w.crank_at(at.cylinder, at.offset_deg),
        None => w.crank_unknown.to_owned(),
    };
    let next = job
        .next_stop()
        .filter(|stop| Some(*stop) != state.crank())
        .map(|stop| {
            let turn = state.turn_to(stop);
            let rim = layout
                .rim_diameter_mm
                .map(|d| std::f64::consts::PI * d / 360.0 * turn.abs());
            w.turn_then(stop.cylinder, turn, rim)
        })
        .unwrap_or_default();
    let mut stops: Vec<StripStop> = layout
        .cylinders()
        .filter_map(|cylinder| {
            Some(StripStop {
                cylinder,
                deg: layout.tdc_deg(cylinder)?,
                is_done: state.cylinder_verified(cylinder),
                is_next: job.next_stop().is_some_and(|s| s.cylinder == cylinder),
                is_here: state.crank().is_some_and(|c| c.cylinder == cylinder),
            })
        })
        .collect();
    stops.sort_by(|a, b| a.deg.total_cmp(&b.deg));
    let mut area = frame::child(ui, rect, "crank strip");
    let strip = CrankStrip {
        title: &format!("{here} · {wrench}"),
        more: &next,
        stops: &stops,
        crank_deg: state.crank_deg(),
    };
    if strip.ui(&mut area, w, rect.size()).tapped {
        sheets.open(Sheet::Crank);
    }
}
