//! A pad for sign-off codes: ten keys, and no figure ever shown.

use egui::{Sense, Ui, vec2};

use super::button::Button;
use super::columns::columns;
use super::paint;
use crate::theme::{TARGET, Theme, Type};
use crate::words::Words;

/// The longest code that is taken.
pub const CODE_CHARS_MAX: usize = 12;

/// Draws the pad over the width that is there; what is typed goes into `code`.
pub fn ui(ui: &mut Ui, words: &Words, code: &mut String) {
    let theme = Theme::of(ui.ctx());
    let dots = "\u{25CF} ".repeat(code.chars().count());
    let width = ui.available_width();
    let (rect, response) = ui.allocate_exact_size(vec2(width, 40.0), Sense::hover());
    let spoken = format!("{}: {}", words.your_code, code.chars().count());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::accesskit::Role::Label, true, &spoken));
    paint::label(
        ui,
        rect.center(),
        egui::Align2::CENTER_CENTER,
        dots.trim_end(),
        Type::Title,
        theme.colours.ink,
    );
    let rows = [["1", "2", "3"], ["4", "5", "6"], ["7", "8", "9"]];
    for row in rows {
        let rects = columns(ui, 3, TARGET);
        for (digit, rect) in row.iter().zip(rects) {
            key(ui, digit, rect, code);
        }
    }
    let rects = columns(ui, 3, TARGET);
    if Button::new(words.erase_all)
        .at(ui, rects[0])
        .response
        .clicked()
    {
        code.clear();
    }
    key(ui, "0", rects[1], code);
    if Button::new(words.delete)
        .at(ui, rects[2])
        .response
        .clicked()
    {
        code.pop();
    }
}

/// One digit. A code may have the same digit twice in a row, so a key is never deaf.
fn key(ui: &mut Ui, digit: &str, rect: egui::Rect, code: &mut String) {
    let pressed = Button::new(digit).at(ui, rect).response.clicked();
    if pressed && code.chars().count() < CODE_CHARS_MAX {
        code.push_str(digit);
    }
}
