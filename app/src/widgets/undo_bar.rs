//! The way back from the step just taken.

use egui::accesskit::{Live, Role};
use egui::{Rect, Sense, Ui, WidgetInfo, pos2, vec2};

use super::button::Button;
use super::{paint, tap};
use crate::theme::{GAP, TARGET, Theme, Type};
use crate::words::Words;

/// The step just taken, with the way back; it stays until the next tap.
pub fn undo_bar(ui: &mut Ui, words: &Words, step: &str) -> tap::Tapped {
    let c = Theme::of(ui.ctx()).colours;
    let width = ui.available_width();
    let button_w = paint::text_line(ui, words.take_back, Type::Strong, c.ink, 600.0)
        .size()
        .x
        + 4.0 * GAP;
    let button_w = button_w.clamp(TARGET, width * 0.5);
    let text = words.undo_of(step);
    let galley = paint::text(ui, &text, Type::Body, c.ink, width - button_w - 3.0 * GAP);
    let height = galley.size().y.max(TARGET);
    let (rect, response) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Status, true, &text));
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_live(Live::Polite);
    });
    let at = pos2(rect.left() + GAP, rect.center().y - galley.size().y / 2.0);
    ui.painter().galley(at, galley, c.ink);
    let place = Rect::from_min_max(pos2(rect.right() - button_w, rect.top()), rect.max);
    ui.push_id("undo bar", |ui| Button::new(words.take_back).at(ui, place))
        .inner
}
