//! Equal columns in a row.

use egui::{Rect, Sense, Ui, pos2, vec2};

use crate::ui::theme::GAP;

/// Rectangles of `count` columns of equal width in a row of a height.
pub fn columns(ui: &mut Ui, count: usize, height: f32) -> Vec<Rect> {
    let width = ui.available_width();
    let (rect, _) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    let each = (width - GAP * (count as f32 - 1.0)) / count as f32;
    (0..count)
        .map(|i| {
            let left = rect.left() + i as f32 * (each + GAP);
            Rect::from_min_size(pos2(left, rect.top()), vec2(each, height))
        })
        .collect()
}
