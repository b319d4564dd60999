//! A count with one less and one more: for figures below some dozens.

use egui::{Rect, Sense, Ui, pos2, vec2};

use super::button::Button;
use super::paint;
use crate::ui::theme::{GAP, TARGET, Theme, Type};
use crate::ui::words::Words;

/// Draws a name, its count and the two buttons over the width that is there; gives the
/// count after a tap.
pub fn ui(ui: &mut Ui, words: &Words, name: &str, count: u32, most: u32) -> Option<u32> {
    let theme = Theme::of(ui.ctx());
    let width = ui.available_width();
    let figure = 64.0 + 24.0 * (theme.scale() - 1.0);
    let buttons = 2.0 * TARGET + figure + 2.0 * GAP;
    let room = (width - buttons - GAP).max(1.0);
    let text = paint::text(ui, name, Type::Body, theme.colours.ink, room);
    let height = text.size().y.max(TARGET);
    let (rect, response) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    response.widget_info(|| {
        egui::WidgetInfo::labeled(
            egui::accesskit::Role::Label,
            true,
            format!("{name}: {count}"),
        )
    });
    let mid = rect.center().y;
    ui.painter().galley(
        pos2(rect.left(), mid - text.size().y / 2.0),
        text,
        theme.colours.ink,
    );
    let button = |x: f32| Rect::from_min_size(pos2(x, mid - TARGET / 2.0), vec2(TARGET, TARGET));
    let less_at = rect.right() - buttons;
    let more_at = rect.right() - TARGET;
    paint::label(
        ui,
        pos2((less_at + TARGET + more_at) / 2.0, mid),
        egui::Align2::CENTER_CENTER,
        &count.to_string(),
        Type::Title,
        theme.colours.ink,
    );
    let less_name = format!("{name}: {}", words.minus_one);
    let more_name = format!("{name}: {}", words.plus_one);
    // Counting up is many taps in a row, so these two are not deaf after a tap.
    let less = Button::new("\u{2212}").named(&less_name).enabled(count > 0);
    let more = Button::new("+").named(&more_name).enabled(count < most);
    if less.at(ui, button(less_at)).touched {
        return Some(count.saturating_sub(1));
    }
    more.at(ui, button(more_at)).touched.then_some(count + 1)
}
