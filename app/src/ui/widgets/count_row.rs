//! A line of a list that is counted: a tap on it says that there are as many; one less and
//! one more say how many there are instead.

use egui::accesskit::Role;
use egui::{Rect, Sense, Stroke, StrokeKind, Ui, pos2, vec2};

use super::button::Button;
use super::choice_row::tick;
use super::{paint, tap};
use crate::ui::theme::{GAP, ROUND, TARGET, Theme, Type};
use crate::ui::words::Words;

/// How many, and whether somebody has counted them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counted {
    /// How many.
    pub count: u32,
    /// Whether that was counted.
    pub is_counted: bool,
}

/// Draws a line over the width that is there; a tap changes it. `text` says how many of
/// what, `name` the many.
pub fn ui(ui: &mut Ui, words: &Words, text: &str, name: &str, line: &mut Counted, most: u32) {
    let c = Theme::of(ui.ctx()).colours;
    let width = ui.available_width();
    let buttons = 2.0 * TARGET + GAP;
    let room = (width - buttons - GAP).max(TARGET);
    let galley = paint::text(ui, text, Type::Body, c.ink, (room - 56.0 - GAP).max(1.0));
    let height = (galley.size().y + 2.0 * GAP).max(TARGET);
    let (rect, place) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    let left = Rect::from_min_size(rect.min, vec2(room, height));
    let id = place.id.with(("count row", name));
    let tapped = tap::switch(ui, left, id, text, Role::CheckBox, line.is_counted);
    if tapped.tapped {
        line.is_counted = !line.is_counted;
    }
    if paint::is_pressed(&tapped.response) {
        ui.painter().rect_filled(left, f32::from(ROUND), c.pressed);
    }
    let square =
        Rect::from_center_size(pos2(left.left() + 28.0, left.center().y), vec2(30.0, 30.0));
    let edge = if line.is_counted { c.now_mark } else { c.edge };
    let stroke = Stroke::new(2.0, edge);
    ui.painter()
        .rect(square, 6.0, c.card, stroke, StrokeKind::Inside);
    if line.is_counted {
        tick(ui, square.center(), 12.0);
    }
    let at = pos2(left.left() + 56.0, left.center().y - galley.size().y / 2.0);
    ui.painter().galley(at, galley, c.ink);
    paint::focus_ring(ui, &tapped.response, f32::from(ROUND));
    let button = |x: f32| {
        Rect::from_center_size(
            pos2(x + TARGET / 2.0, rect.center().y),
            vec2(TARGET, TARGET),
        )
    };
    let less_name = format!("{name}: {}", words.minus_one);
    let more_name = format!("{name}: {}", words.plus_one);
    let less = Button::new("\u{2212}")
        .named(&less_name)
        .enabled(line.count > 0);
    let more = Button::new("+")
        .named(&more_name)
        .enabled(line.count < most);
    // Counting is many taps in a row, so these two are not deaf after a tap.
    let change = if less.at(ui, button(rect.right() - buttons)).touched {
        line.count.saturating_sub(1)
    } else if more.at(ui, button(rect.right() - TARGET)).touched {
        line.count + 1
    } else {
        return;
    };
    *line = Counted {
        count: change,
        is_counted: true,
    };
}
