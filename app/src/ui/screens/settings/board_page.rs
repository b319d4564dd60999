//! The page of the board in the shop folder: whether it is kept, and what it tells.

use egui::Ui;

use super::change;
use super::look::one_of;
use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::View;

/// Draws the group. Each choice counts at once.
pub fn ui(ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
    let (w, now) = (v.words, v.settings);
    frame::line(ui, w.page_more, Type::Body, true);
    let all = [false, true];
    let names = [w.page_off, w.page_on];
    if let Some(new) = one_of(ui, w.page_kept_word, &names, &all, now.board_page) {
        change(v, out, |s| s.board_page = new);
    }
    let names = [w.page_without_names, w.page_with_names];
    if let Some(new) = one_of(ui, w.page_names_word, &names, &all, now.board_page_names) {
        change(v, out, |s| s.board_page_names = new);
    }
}
