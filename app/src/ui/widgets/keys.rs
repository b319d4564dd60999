//! Ten big keys that type into a text, for hands in gloves.

use egui::{Rect, Ui};

use super::button::Button;
use super::columns::columns;
use super::keyboard::rows::DIGIT;
use crate::ui::theme::TARGET;
use crate::ui::words::Words;

/// The most characters that the keys type.
pub const KEYS_CHARS_MAX: usize = 12;

/// Draws the keys over the width that is there. `has_point` says whether there is a key
/// for the decimal sign; without it that place erases all.
pub fn ui(ui: &mut Ui, words: &Words, text: &mut String, has_point: bool) {
    for row in [["1", "2", "3"], ["4", "5", "6"], ["7", "8", "9"]] {
        let rects = columns(ui, 3, DIGIT);
        for (digit, rect) in row.iter().zip(rects) {
            key(ui, digit, rect, text);
        }
    }
    let rects = columns(ui, 3, DIGIT);
    if has_point {
        key(ui, words.decimal_point, rects[0], text);
    } else if Button::new(words.erase_all).at(ui, rects[0]).touched {
        text.clear();
    }
    key(ui, "0", rects[1], text);
    if Button::new(words.delete).at(ui, rects[2]).touched {
        text.pop();
    }
}

/// The same keys in three rows, for a sheet that has little room.
pub fn low(ui: &mut Ui, words: &Words, text: &mut String) {
    for row in [["1", "2", "3", "4", "5"], ["6", "7", "8", "9", "0"]] {
        let rects = columns(ui, row.len(), DIGIT);
        for (digit, rect) in row.iter().zip(rects) {
            key(ui, digit, rect, text);
        }
    }
    let rects = columns(ui, 2, TARGET);
    if Button::new(words.erase_all).at(ui, rects[0]).touched {
        text.clear();
    }
    if Button::new(words.delete).at(ui, rects[1]).touched {
        text.pop();
    }
}

/// One key. The same digit may come twice in a row, so a key is never deaf.
fn key(ui: &mut Ui, sign: &str, rect: Rect, text: &mut String) {
    let pressed = Button::new(sign).at(ui, rect).touched;
    if pressed && text.chars().count() < KEYS_CHARS_MAX {
        text.push_str(sign);
    }
}
