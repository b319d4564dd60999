//! A pad for sign-off codes: ten keys, or the letters of a word, and nothing that is typed is
//! ever shown.

use egui::{Rect, Sense, Ui, vec2};

use super::button::Button;
use super::columns::columns;
use super::keyboard::rows;
use super::keys;
use crate::ui::theme::{GAP, TARGET, Theme};
use crate::ui::words::Words;

/// The most characters that the pad types.
const CODE_CHARS_MAX: usize = 24;

/// Width of the key that changes between digits and letters.
const OTHER_KEYS: f32 = 88.0;

/// Draws the pad over the width that is there; what `whose` types goes into `code`. The
/// next person begins with the digits: which keys somebody's code is typed with is theirs.
pub fn ui(ui: &mut Ui, words: &Words, whose: &str, code: &mut String) {
    let width = ui.available_width();
    let (rect, response) = ui.allocate_exact_size(vec2(width, TARGET), Sense::hover());
    let spoken = format!("{}: {}", words.your_code, code.chars().count());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::accesskit::Role::Label, true, &spoken));
    let (left, right) = rect.split_left_right_at_x(rect.right() - OTHER_KEYS);
    dots(ui, left, code.chars().count());
    let id = ui.scope_id().with("letters of a code");
    let with_letters = ui.data(|d| d.get_temp::<String>(id));
    let has_letters = with_letters.as_deref() == Some(whose);
    if with_letters.is_some() && !has_letters {
        ui.data_mut(|d| d.remove_temp::<String>(id));
    }
    let other = if has_letters { "123" } else { "abc" };
    if Button::new(other).at(ui, right).touched {
        ui.data_mut(|d| {
            if has_letters {
                d.remove_temp::<String>(id);
            } else {
                d.insert_temp(id, whose.to_owned());
            }
        });
        ui.ctx().request_repaint();
    }
    if has_letters {
        letters(ui, words, code);
    } else {
        keys::code(ui, words, code);
    }
}

/// How much is typed.
fn dots(ui: &Ui, rect: Rect, typed: usize) {
    let ink = Theme::of(ui.ctx()).colours.ink;
    let apart = (rect.width() / typed.max(1) as f32).min(24.0);
    for index in 0..typed {
        let x = rect.center().x + apart * (index as f32 - (typed as f32 - 1.0) / 2.0);
        let at = egui::pos2(x, rect.center().y);
        ui.painter().circle_filled(at, 7.0, ink);
    }
}

/// The letters of a word in as many rows as the width takes; small ones alone, so that a word
/// is the same on every tablet.
fn letters(ui: &mut Ui, words: &Words, code: &mut String) {
    let wide = ui.available_width();
    let most = (((wide + GAP) / (TARGET + GAP)) as usize).max(1);
    let mut all: Vec<char> = rows::letters(words.language).concat().chars().collect();
    // In rows of another length than a keyboard's nobody finds them by its order.
    all.sort_unstable();
    for row in all.chunks(most) {
        for (letter, rect) in row.iter().zip(columns(ui, most, TARGET)) {
            let is_pressed = Button::new(&letter.to_string()).at(ui, rect).touched;
            if is_pressed && code.chars().count() < CODE_CHARS_MAX {
                code.push(*letter);
            }
        }
    }
    let rects = columns(ui, 2, TARGET);
    if Button::new(words.erase_all).at(ui, rects[0]).touched {
        code.clear();
    }
    if Button::new(words.delete).at(ui, rects[1]).touched {
        code.pop();
    }
}
