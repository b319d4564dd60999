//! Ten big keys that type into a text, for hands in gloves.

use egui::accesskit::Role;
use egui::{Color32, Rect, Sense, Ui, WidgetInfo, pos2, vec2};

use super::button::Button;
use super::columns::columns;
use super::keyboard::rows::DIGIT;
use super::paint;
use crate::ui::theme::{GAP, TARGET, Theme, Type};
use crate::ui::words::Words;

/// The most characters that the keys type.
pub const KEYS_CHARS_MAX: usize = 12;

/// Two rows of digits.
const ROWS: [[&str; 5]; 2] = [["1", "2", "3", "4", "5"], ["6", "7", "8", "9", "0"]];

/// Draws the keys for a code: beside the digits what erases all and what deletes one.
pub fn code(ui: &mut Ui, words: &Words, text: &mut String) {
    let aside = pad(ui, [words.erase_all, words.delete], text);
    if Button::new(words.erase_all).at(ui, aside[0]).touched {
        text.clear();
    }
    if Button::new(words.delete).at(ui, aside[1]).touched {
        text.pop();
    }
}

/// Draws the keys for a figure: beside the digits the decimal sign and what deletes one.
pub fn figure(ui: &mut Ui, words: &Words, text: &mut String) {
    let aside = pad(ui, [words.decimal_point, words.delete], text);
    key(ui, words.decimal_point, aside[0], text);
    if Button::new(words.delete).at(ui, aside[1]).touched {
        text.pop();
    }
}

/// Draws the digits, in two rows; gives where two more keys go: beside them, or below where
/// there is no room beside.
fn pad(ui: &mut Ui, names: [&str; 2], text: &mut String) -> Vec<Rect> {
    let widths = names.map(|name| {
        let line = paint::text_line(ui, name, Type::Strong, Color32::PLACEHOLDER, f32::INFINITY);
        line.size().x + 3.0 * GAP
    });
    let beside = widths.into_iter().fold(DIGIT, f32::max);
    let digits = ui.available_width() - beside - GAP;
    let is_beside = digits >= 5.0 * DIGIT + 4.0 * GAP;
    let width = if is_beside {
        digits
    } else {
        ui.available_width()
    };
    let each = (width - 4.0 * GAP) / 5.0;
    let mut aside = Vec::new();
    for row in ROWS {
        let all = columns(ui, 1, DIGIT)[0];
        let mut left = all.left();
        for digit in row {
            let rect = Rect::from_min_size(pos2(left, all.top()), vec2(each, DIGIT));
            key(ui, digit, rect, text);
            left += each + GAP;
        }
        aside.push(all.with_min_x(left));
    }
    if is_beside {
        aside
    } else {
        columns(ui, 2, TARGET)
    }
}

/// A count: what is typed, beside it what deletes, and the digits. In a low room they are
/// lower, so that all of them are in sight.
pub fn count(ui: &mut Ui, words: &Words, text: &mut String) {
    let c = Theme::of(ui.ctx()).colours;
    let room = ui.clip_rect().height();
    let shown = if text.is_empty() {
        "\u{2013}".to_owned()
    } else {
        text.clone()
    };
    let figure = paint::text_line(ui, &shown, Type::Figure, c.ink, ui.available_width());
    let height = figure.size().y.max(TARGET);
    let places = columns(ui, 2, height);
    let at = pos2(
        places[0].left(),
        places[0].center().y - figure.size().y / 2.0,
    );
    ui.interact(places[0], ui.scope_id().with("figure"), Sense::hover())
        .widget_info(|| WidgetInfo::labeled(Role::Label, true, &shown));
    ui.painter().galley(at, figure, c.ink);
    if Button::new(words.delete).at(ui, places[1]).touched {
        text.pop();
    }
    let is_low = room < height + 2.0 * (DIGIT + GAP);
    for row in ROWS {
        let rects = columns(ui, row.len(), if is_low { TARGET } else { DIGIT });
        for (digit, rect) in row.iter().zip(rects) {
            key(ui, digit, rect, text);
        }
    }
}

/// One key. The same digit may come twice in a row, so a key is never deaf.
fn key(ui: &mut Ui, sign: &str, rect: Rect, text: &mut String) {
    let pressed = Button::new(sign).at(ui, rect).touched;
    if pressed && text.chars().count() < KEYS_CHARS_MAX {
        text.push_str(sign);
    }
}
