//! Where the time goes: one bar a phase, its length in minutes.

use egui::{Rect, Sense, Ui, pos2, vec2};

use super::paint;
use crate::ui::theme::{ROUND_AREA, Theme, Type};

/// One bar: what it is, what is written at it, and how long.
pub struct PhaseBar {
    /// The phase.
    pub name: String,
    /// Its minutes in words.
    pub lasts: String,
    /// Minutes.
    pub minutes: f64,
}

/// Draws the bars under one another, the longest as wide as there is room.
pub fn ui(ui: &mut Ui, bars: &[PhaseBar]) {
    let longest = bars.iter().map(|bar| bar.minutes).fold(0.0, f64::max);
    for bar in bars {
        one(ui, bar, longest);
    }
}

fn one(ui: &mut Ui, bar: &PhaseBar, longest: f64) {
    let c = Theme::of(ui.ctx()).colours;
    let text = format!("{}: {}", bar.name, bar.lasts);
    let width = ui.available_width();
    let galley = paint::text(ui, &text, Type::Body, c.ink, width);
    let thick = 10.0 * Theme::of(ui.ctx()).scale();
    let size = vec2(width, galley.size().y + thick + 6.0);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &text));
    let below = rect.top() + galley.size().y + 3.0;
    ui.painter().galley(rect.min, galley, c.ink);
    let share = if longest > 0.0 {
        bar.minutes / longest
    } else {
        0.0
    };
    let end = rect.left() + width * share as f32;
    let whole = Rect::from_min_max(pos2(rect.left(), below), pos2(rect.right(), below + thick));
    let filled = Rect::from_min_max(whole.min, pos2(end, whole.bottom()));
    ui.painter().rect_filled(whole, ROUND_AREA, c.line);
    ui.painter().rect_filled(filled, ROUND_AREA, c.ink_soft);
}
