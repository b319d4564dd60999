//! One figure week by week: an upright bar a week with its figure above it.

use egui::{Align2, Rect, Sense, Stroke, Ui, pos2, vec2};

use super::paint;
use crate::ui::theme::{GAP, Theme, Type};

/// The highest bar at 100 %, in points.
const HIGHEST: f32 = 84.0;

/// The bar of one week.
pub struct WeekBar {
    /// The week by its number.
    pub week: String,
    /// How high it is.
    pub value: f64,
    /// Its figure in words; empty where there is none.
    pub says: String,
}

/// Draws the bars under their name, over the width that is there. All of it is one picture to
/// whoever cannot see it, told week by week.
pub fn ui(ui: &mut Ui, name: &str, week_word: &str, bars: &[WeekBar]) {
    let theme = Theme::of(ui.ctx());
    let c = theme.colours;
    let width = ui.available_width();
    let title = paint::text(ui, name, Type::Strong, c.ink, width);
    let line = paint::line_height(ui, Type::Small);
    let high = HIGHEST * theme.scale();
    let size = vec2(width, title.size().y + 2.0 * line + high + 2.0 * GAP);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| {
        let told = bars.iter().filter(|bar| !bar.says.is_empty());
        let told: Vec<String> = told
            .map(|bar| format!("{week_word} {}: {}", bar.week, bar.says))
            .collect();
        let text = format!("{name}. {}", told.join(", "));
        egui::WidgetInfo::labeled(egui::Role::Image, true, text)
    });
    let bottom = rect.bottom() - line - GAP;
    ui.painter().galley(rect.min, title, c.ink);
    ui.painter()
        .hline(rect.x_range(), bottom, Stroke::new(3.0, c.edge));
    let most = bars.iter().map(|bar| bar.value).fold(0.0, f64::max);
    let pitch = rect.width() / bars.len().max(1) as f32;
    let thick = (pitch * 0.6).min(64.0 * theme.scale());
    for (at, bar) in bars.iter().enumerate() {
        let x = rect.left() + pitch * (at as f32 + 0.5);
        let share = if most > 0.0 { bar.value / most } else { 0.0 };
        let top = bottom - high * share as f32;
        let filled = Rect::from_min_max(pos2(x - thick / 2.0, top), pos2(x + thick / 2.0, bottom));
        ui.painter().rect_filled(filled, 2.0, c.ink_soft);
        let above = pos2(x, top - 2.0);
        paint::label(
            ui,
            above,
            Align2::CENTER_BOTTOM,
            &bar.says,
            Type::Small,
            c.ink,
        );
        let below = pos2(x, rect.bottom());
        paint::label(
            ui,
            below,
            Align2::CENTER_BOTTOM,
            &bar.week,
            Type::Small,
            c.ink_soft,
        );
    }
}
