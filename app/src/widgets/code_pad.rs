//! A pad for sign-off codes: ten keys, and no figure ever shown.

use egui::{Sense, Ui, vec2};

use super::{keys, paint};
use crate::theme::{Theme, Type};
use crate::words::Words;

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
    keys::ui(ui, words, code, false);
}
