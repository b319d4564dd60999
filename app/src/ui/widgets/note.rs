//! A note on a tinted ground: what stands in the way or was said, and the way out.

use egui::{Sense, Ui, vec2};

use super::paint;
use crate::ui::theme::{ROUND, Tint, Type};

/// Draws it over the width that is there.
pub fn ui(ui: &mut Ui, text: &str, more: &str, tint: Tint) {
    let width = ui.available_width();
    let height = height(ui, text, more, tint, width);
    let (rect, response) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    let spoken = format!("{text} {more}");
    response.widget_info(|| {
        egui::WidgetInfo::labeled(egui::accesskit::Role::Alert, true, spoken.trim())
    });
    ui.painter()
        .rect_filled(rect, f32::from(ROUND), tint.ground);
    let room = width - 32.0;
    let main = paint::text(ui, text, Type::Strong, tint.mark, room);
    let at = rect.min + vec2(16.0, 10.0);
    let below = at + vec2(0.0, main.size().y);
    ui.painter().galley(at, main, tint.mark);
    if !more.is_empty() {
        let galley = paint::text(ui, more, Type::Body, tint.mark, room);
        ui.painter().galley(below, galley, tint.mark);
    }
}

/// Height that it takes at a width.
pub fn height(ui: &Ui, text: &str, more: &str, tint: Tint, width: f32) -> f32 {
    let room = width - 32.0;
    let main = paint::text(ui, text, Type::Strong, tint.mark, room)
        .size()
        .y;
    let more = if more.is_empty() {
        0.0
    } else {
        paint::text(ui, more, Type::Body, tint.mark, room).size().y
    };
    main + more + 20.0
}
