//! What is asked of somebody: how much, where, what for and since when.

use egui::{Sense, Ui, pos2, vec2};

use super::bay_tile::{need_sign, urgency_colour};
use super::{paint, tap};
use crate::ui::theme::{GAP, TARGET, Theme, Type};
use crate::ui::words::AskFace;

/// Height of the sign, in points.
const SIGN: f32 = 26.0;

/// Draws it over the width that is there; gives whether it was tapped.
pub fn ui(ui: &mut Ui, ask: &AskFace, takes_taps: bool) -> bool {
    let c = Theme::of(ui.ctx()).colours;
    let width = ui.available_width();
    let left = SIGN + 4.0 * GAP;
    let room = width - left - 2.0 * GAP;
    let place = format!("{} · {}", ask.bay, ask.vehicle);
    let where_ = paint::text(ui, &place, Type::Strong, c.ink, room);
    let ink = urgency_colour(ui, ask.urgency);
    let why = paint::text(ui, &ask.why, Type::Strong, ink, room);
    let text_high = where_.size().y + why.size().y;
    let size = vec2(width, (text_high + 2.0 * GAP).max(TARGET));
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let id = response.id.with("ask");
    let tapped = tap::area(ui, rect, id, &format!("{place}, {}", ask.why), takes_taps);
    if takes_taps {
        paint::control(ui, &tapped.response);
    }
    let sign = pos2(rect.left() + 2.0 * GAP + SIGN / 2.0, rect.center().y);
    let sign_place = egui::Rect::from_center_size(sign, vec2(SIGN, SIGN));
    if ui.clip_rect().contains_rect(sign_place) {
        need_sign(ui, sign, SIGN, ask.urgency);
    }
    let at = pos2(rect.left() + left, rect.center().y - text_high / 2.0);
    let below = at + vec2(0.0, where_.size().y);
    ui.painter().galley(at, where_, c.ink);
    ui.painter().galley(below, why, ink);
    tapped.tapped
}
