//! Ten big keys that type into a text, for hands in gloves.

use egui::accesskit::Role;
use egui::{Color32, Rect, Sense, Ui, WidgetInfo, pos2, vec2};

use super::button::Button;
use super::columns::columns;
use super::keyboard::rows::DIGIT;
use super::{paint, text_field};
use crate::ui::theme::{GAP, TARGET, Theme, Type};
use crate::ui::words::Words;

/// The most characters that the keys type.
pub const KEYS_CHARS_MAX: usize = 12;

/// Two rows of digits.
const ROWS: [[&str; 5]; 2] = [["1", "2", "3", "4", "5"], ["6", "7", "8", "9", "0"]];

/// Draws the keys for a code: beside the digits what erases all and what deletes one.
pub fn code(ui: &mut Ui, words: &Words, text: &mut String) {
    let aside = pad(ui, [words.erase_all, words.delete], text);
    erasing(ui, words, [aside[0], aside[1]], text);
}

/// Draws the two keys that take signs away.
pub fn erasing(ui: &mut Ui, words: &Words, places: [Rect; 2], text: &mut String) {
    if Button::new(words.erase_all).at(ui, places[0]).touched {
        text.clear();
    }
    if Button::new(words.delete).at(ui, places[1]).touched {
        text.pop();
    }
}

/// Width of the keys that take signs away.
pub fn erasing_widths(ui: &Ui, words: &Words) -> [f32; 2] {
    [words.erase_all, words.delete].map(|name| aside_width(ui, name))
}

/// Whether there is room for what takes signs away beside the digits.
pub fn has_room_beside(ui: &Ui, words: &Words) -> bool {
    room_beside(ui, [words.erase_all, words.delete]).is_some()
}

/// Draws the ten digits alone.
pub fn digits(ui: &mut Ui, text: &mut String) {
    let width = ui.available_width();
    rows(ui, width, text);
}

/// Draws the keys for a figure: beside the digits the decimal sign and what deletes one.
pub fn figure(ui: &mut Ui, words: &Words, text: &mut String) {
    let aside = pad(ui, [words.decimal_point, words.delete], text);
    key(ui, words.decimal_point, aside[0], text);
    if Button::new(words.delete).at(ui, aside[1]).touched {
        text.pop();
    }
}

/// Whether a figure's keys as they usually are have no room below what stands above them.
pub fn figure_is_low(ui: &Ui, words: &Words, above: f32) -> bool {
    let rows = 2.0 * (DIGIT + GAP);
    let beside = room_beside(ui, [words.decimal_point, words.delete]).is_some();
    let all = rows + if beside { 0.0 } else { TARGET + GAP };
    ui.clip_rect().height() < above + all + 2.0 * GAP
}

/// The least height of a field with its label and the keys of its figure.
pub fn figure_low_height(ui: &Ui) -> f32 {
    text_field::height(ui) + 2.0 * (DIGIT + GAP)
}

/// The same keys for a low room: two rows of six, and nothing beside them.
pub fn figure_low(ui: &mut Ui, words: &Words, text: &mut String) {
    let apart = ((ui.available_width() - 6.0 * DIGIT) / 5.0).clamp(2.0, GAP);
    let each = (ui.available_width() - 5.0 * apart) / 6.0;
    for (row, last) in ROWS.iter().zip([Some(words.decimal_point), None]) {
        let all = columns(ui, 1, DIGIT)[0];
        let place = |at: usize| {
            let left = all.left() + at as f32 * (each + apart);
            Rect::from_min_size(pos2(left, all.top()), vec2(each, DIGIT))
        };
        for (at, sign) in row.iter().chain(&last).enumerate() {
            key(ui, sign, place(at), text);
        }
        if last.is_none() {
            let delete = Button::new("").named(words.delete).at(ui, place(5));
            back_arrow(ui, delete.response.rect);
            if delete.touched {
                text.pop();
            }
        }
    }
}

/// The sign of a key that takes the last one away, where its word has no room.
fn back_arrow(ui: &Ui, rect: Rect) {
    let ink = Theme::of(ui.ctx()).colours.ink;
    let (tip, end) = (
        rect.center() - vec2(11.0, 0.0),
        rect.center() + vec2(11.0, 0.0),
    );
    let barbs = [-7.0, 7.0].map(|down| tip + vec2(8.0, down));
    paint::round_line(ui.painter(), vec![tip, end], 3.0, ink);
    paint::round_line(ui.painter(), vec![barbs[0], tip, barbs[1]], 3.0, ink);
}

/// Draws the digits, in two rows; gives where two more keys go: beside them, or below where
/// there is no room beside.
fn pad(ui: &mut Ui, names: [&str; 2], text: &mut String) -> Vec<Rect> {
    let beside = room_beside(ui, names);
    let aside = rows(ui, beside.unwrap_or(ui.available_width()), text);
    if beside.is_some() {
        aside
    } else {
        columns(ui, 2, TARGET)
    }
}

fn aside_width(ui: &Ui, name: &str) -> f32 {
    let line = paint::text_line(ui, name, Type::Strong, Color32::PLACEHOLDER, f32::INFINITY);
    (line.size().x + 3.0 * GAP).max(DIGIT)
}

/// Width of the digits where two more keys have room beside them.
fn room_beside(ui: &Ui, names: [&str; 2]) -> Option<f32> {
    let beside = names.map(|name| aside_width(ui, name));
    let digits = ui.available_width() - beside.into_iter().fold(0.0, f32::max) - GAP;
    (digits >= 5.0 * DIGIT + 4.0 * GAP).then_some(digits)
}

/// Two rows of digits over a width; gives what is left beside each.
fn rows(ui: &mut Ui, width: f32, text: &mut String) -> Vec<Rect> {
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
    aside
}

/// A count: what is typed, beside it what deletes, and the digits.
pub fn count(ui: &mut Ui, words: &Words, text: &mut String) {
    let c = Theme::of(ui.ctx()).colours;
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
    for row in ROWS {
        let rects = columns(ui, row.len(), DIGIT);
        for (digit, rect) in row.iter().zip(rects) {
            key(ui, digit, rect, text);
        }
    }
}

/// The least height of a count and its keys.
pub fn count_low_height(ui: &Ui) -> f32 {
    paint::line_height(ui, Type::Figure).max(TARGET) + 2.0 * (DIGIT + GAP)
}

/// One key. The same digit may come twice in a row, so a key is never deaf.
fn key(ui: &mut Ui, sign: &str, rect: Rect, text: &mut String) {
    let pressed = Button::new(sign).at(ui, rect).touched;
    if pressed && text.chars().count() < KEYS_CHARS_MAX {
        text.push_str(sign);
    }
}
