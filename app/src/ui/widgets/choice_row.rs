//! One of a few, and on or off.

use egui::accesskit::Role;
use egui::{Rect, Sense, Stroke, StrokeKind, Ui, pos2, vec2};

use super::button::{grid, grid_height};
use super::{paint, tap};
use crate::ui::theme::{GAP, ROUND, TARGET, Theme, Type};

/// Room that each choice leaves for its tick, in points.
const TICK: f32 = 32.0;

/// Height of choices over the width that is there.
pub fn height(ui: &Ui, texts: &[&str]) -> f32 {
    grid_height(ui, texts, TICK)
}

/// Draws choices of equal width, the chosen one filled and ticked. Gives the index of
/// the one tapped, the chosen one included.
pub fn choice_row(ui: &mut Ui, texts: &[&str], chosen: Option<usize>) -> Option<usize> {
    let places = grid(ui, texts, TICK);
    let mut taken = None;
    for (index, (text, rect)) in texts.iter().zip(places).enumerate() {
        if choice(ui, rect, text, index, chosen == Some(index)) {
            taken = Some(index);
        }
    }
    taken
}

fn choice(ui: &mut Ui, rect: Rect, text: &str, index: usize, is_on: bool) -> bool {
    let id = ui.scope_id().with(("choice", index, text));
    let tapped = tap::switch(ui, rect, id, text, Role::RadioButton, is_on);
    let c = Theme::of(ui.ctx()).colours;
    let (ground, edge, width, step) = if paint::is_pressed(&tapped.response) {
        (c.pressed, c.now_mark, 2.0, Type::Strong)
    } else if is_on {
        (c.card, c.now_mark, 4.0, Type::Strong)
    } else {
        (c.paper, c.edge, 2.0, Type::Body)
    };
    ui.painter().rect(
        rect,
        f32::from(ROUND),
        ground,
        Stroke::new(width, edge),
        StrokeKind::Inside,
    );
    let room = rect.width() - 2.0 * GAP - 28.0;
    let galley = paint::text_centred(ui, text, step, c.ink, room);
    let at = pos2(
        rect.center().x + 12.0,
        rect.center().y - galley.size().y / 2.0,
    );
    ui.painter().galley(at, galley, c.ink);
    if is_on {
        tick(ui, pos2(rect.left() + 22.0, rect.center().y), 11.0);
    }
    paint::focus_ring(ui, &tapped.response, f32::from(ROUND));
    tapped.tapped
}

pub(super) fn tick(ui: &Ui, center: egui::Pos2, size: f32) {
    let mark = Theme::of(ui.ctx()).colours.now_mark;
    let points = [[-0.6, 0.05], [-0.15, 0.5], [0.7, -0.5]]
        .iter()
        .map(|p| center + vec2(p[0], p[1]) * size)
        .collect();
    paint::round_line(ui.painter(), points, 4.0, mark);
}

/// A line with a box to tick over the width that is there.
pub fn tick_row(ui: &mut Ui, text: &str, is_on: bool) -> tap::Tapped {
    let width = ui.available_width();
    let c = Theme::of(ui.ctx()).colours;
    let galley = paint::text(ui, text, Type::Body, c.ink, width - 56.0 - 2.0 * GAP);
    let height = (galley.size().y + 2.0 * GAP).max(TARGET);
    let (rect, place) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    let id = place.id.with("tick");
    let tapped = tap::switch(ui, rect, id, text, Role::CheckBox, is_on);
    if paint::is_pressed(&tapped.response) {
        ui.painter().rect_filled(rect, f32::from(ROUND), c.pressed);
    }
    let middle = pos2(rect.left() + 28.0, rect.center().y);
    let square = Rect::from_center_size(middle, vec2(30.0, 30.0));
    let edge = Stroke::new(2.0, if is_on { c.now_mark } else { c.edge });
    ui.painter()
        .rect(square, 6.0, c.card, edge, StrokeKind::Inside);
    if is_on {
        tick(ui, square.center(), 12.0);
    }
    let at = pos2(rect.left() + 56.0, rect.center().y - galley.size().y / 2.0);
    ui.painter().galley(at, galley, c.ink);
    paint::focus_ring(ui, &tapped.response, f32::from(ROUND));
    tapped
}
