//! What must stay true while a valve is open: it stands right above the bar.

use egui::accesskit::Role;
use egui::{Sense, Ui, WidgetInfo, pos2, vec2};

use super::paint;
use crate::theme::{GAP, ROUND, Tint, Type};

/// What must stay true, right above the bar; wraps where it is long.
pub fn caution_line(ui: &mut Ui, text: &str, tint: Tint) {
    let width = ui.available_width();
    let sign = paint::line_height(ui, Type::Strong);
    let left = sign + 3.0 * GAP;
    let galley = paint::text(ui, text, Type::Strong, tint.mark, width - left - 2.0 * GAP);
    let size = vec2(width, galley.size().y + 2.0 * GAP);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, text));
    ui.painter()
        .rect_filled(rect, f32::from(ROUND), tint.ground);
    let middle = pos2(rect.left() + left / 2.0, rect.center().y);
    paint::caution_sign(ui, middle, sign * 0.9, tint.mark, tint.ground);
    let at = pos2(rect.left() + left, rect.top() + GAP);
    ui.painter().galley(at, galley, tint.mark);
}
