//! What must stay true while a valve is open: it stands right above the bar, with the sign
//! that says: take care.

use std::sync::Arc;

use egui::accesskit::Role;
use egui::{Galley, Sense, Ui, WidgetInfo, pos2, vec2};

use super::{cached_shapes, paint};
use crate::ui::theme::{GAP, ROUND, Tint, Type};

/// Width below which the sign gives its room to the words, in heights of a line.
const NARROW: f32 = 13.0;

struct CautionPlan {
    galley: Arc<Galley>,
    /// Room at the left, for the sign where there is one.
    left: f32,
    /// Height of the sign; 0 where there is none.
    sign: f32,
}

fn plan(ui: &Ui, text: &str, tint: Tint, width: f32) -> CautionPlan {
    let line = paint::line_height(ui, Type::Strong);
    let has_sign = width >= NARROW * line;
    let left = if has_sign {
        line + 2.5 * GAP
    } else {
        2.0 * GAP
    };
    let room = width - left - 1.5 * GAP;
    CautionPlan {
        galley: paint::text(ui, text, Type::Strong, tint.mark, room),
        left,
        sign: if has_sign { line * 0.9 } else { 0.0 },
    }
}

/// Height that it takes at a width.
pub fn height(ui: &Ui, text: &str, tint: Tint, width: f32) -> f32 {
    plan(ui, text, tint, width).galley.size().y + 2.0 * GAP
}

/// Draws it over the width that is there; wraps where it is long.
pub fn ui(ui: &mut Ui, text: &str, tint: Tint) {
    let width = ui.available_width();
    let CautionPlan { galley, left, sign } = plan(ui, text, tint, width);
    let size = vec2(width, galley.size().y + 2.0 * GAP);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, text));
    let parts = (cached_shapes::bits(rect), [left, sign].map(f32::to_bits));
    let key = cached_shapes::key((parts, tint.ground, tint.mark));
    cached_shapes::cached_shapes(ui, response.id, key, false, |ui| {
        ui.painter()
            .rect_filled(rect, f32::from(ROUND), tint.ground);
        if sign > 0.0 {
            let middle = pos2(rect.left() + left / 2.0, rect.center().y);
            paint::caution_sign(ui, middle, sign, tint.mark, tint.ground);
        }
    });
    let at = pos2(rect.left() + left, rect.top() + GAP);
    ui.painter().galley(at, galley, tint.mark);
}
