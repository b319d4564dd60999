//! A pad for sign-off codes: ten keys, or the letters of a word, and nothing that is typed is
//! ever shown.

use egui::{Rect, Sense, Ui, pos2, vec2};

use super::button::Button;
use super::columns::columns;
use super::keyboard::rows;
use super::{keys, paint};
use crate::ui::theme::{GAP, TARGET, Theme, Type};
use crate::ui::words::Words;

/// The most characters that the pad types.
const CODE_CHARS_MAX: usize = 24;

/// Width of the key that changes between digits and letters.
const OTHER_KEYS: f32 = 88.0;

/// The least width for the dots that stand for what is typed.
const DOTS: f32 = 96.0;

/// Draws the pad over the width that is there; what `whose` types goes into `code`. The
/// next person begins with the digits: which keys somebody's code is typed with is theirs.
pub fn ui(ui: &mut Ui, words: &Words, whose: &str, code: &mut String) {
    labelled(ui, words, "", whose, code);
}

/// The same with a label beside what is typed, where nothing above says whose code it is.
pub fn labelled(ui: &mut Ui, words: &Words, label: &str, whose: &str, code: &mut String) {
    let width = ui.available_width();
    // Where nothing has room beside the digits, what takes signs away lies above them.
    let erasing = keys::erasing_widths(ui, words);
    let all = OTHER_KEYS + 2.0 * GAP + erasing.iter().sum::<f32>();
    let is_above = !keys::has_room_beside(ui, words) && width - all >= DOTS;
    let room = width - GAP - if is_above { all } else { OTHER_KEYS };
    let c = Theme::of(ui.ctx()).colours;
    let label = paint::text(ui, label, Type::Body, c.ink_soft, room);
    // Long words of a large text leave no room beside them. In a narrow pad they stand where
    // what is typed will.
    let is_beside = label.size().x <= room / 2.0;
    let gives_way = is_above && !is_beside && label.size().x <= room;
    let in_row = is_beside || gives_way;
    let above = if in_row { 0.0 } else { label.size().y };
    let (rect, response) = ui.allocate_exact_size(vec2(width, above + TARGET), Sense::hover());
    let spoken = format!("{}: {}", words.your_code, code.chars().count());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::accesskit::Role::Label, true, &spoken));
    let row = rect.with_min_y(rect.top() + above);
    let left = row.with_max_x(row.left() + room);
    let right = Rect::from_min_size(left.right_top() + vec2(GAP, 0.0), vec2(OTHER_KEYS, TARGET));
    let taken = if is_beside { label.size().x } else { 0.0 };
    let label_top = if in_row {
        row.center().y - label.size().y / 2.0
    } else {
        rect.top()
    };
    if !gives_way || code.is_empty() {
        let at = pos2(rect.left(), label_top);
        ui.painter().galley(at, label, c.ink_soft);
    }
    dots(
        ui,
        left.with_min_x(left.left() + taken),
        code.chars().count(),
    );
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
    if is_above {
        let clear =
            Rect::from_min_size(right.right_top() + vec2(GAP, 0.0), vec2(erasing[0], TARGET));
        let delete =
            Rect::from_min_size(clear.right_top() + vec2(GAP, 0.0), vec2(erasing[1], TARGET));
        keys::erasing(ui, words, [clear, delete], code);
    }
    match (has_letters, is_above) {
        (true, _) => letters(ui, words, code),
        (false, true) => keys::digits(ui, code),
        (false, false) => keys::code(ui, words, code),
    }
    if has_letters && !is_above {
        let rects = columns(ui, 2, TARGET);
        keys::erasing(ui, words, [rects[0], rects[1]], code);
    }
}

/// How much is typed.
fn dots(ui: &Ui, rect: Rect, typed: usize) {
    let ink = Theme::of(ui.ctx()).colours.ink;
    let apart = (rect.width() / typed.max(1) as f32).min(24.0);
    for index in 0..typed {
        let x = rect.center().x + apart * (index as f32 - (typed as f32 - 1.0) / 2.0);
        let at = pos2(x, rect.center().y);
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
}
