//! A pad for sign-off codes: ten keys, and no figure ever shown.

use egui::{Sense, Ui, vec2};

use super::keys;
use crate::ui::theme::Theme;
use crate::ui::words::Words;

/// Draws the pad over the width that is there; what is typed goes into `code`.
pub fn ui(ui: &mut Ui, words: &Words, code: &mut String) {
    let theme = Theme::of(ui.ctx());
    let width = ui.available_width();
    let (rect, response) = ui.allocate_exact_size(vec2(width, 40.0), Sense::hover());
    let spoken = format!("{}: {}", words.your_code, code.chars().count());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::accesskit::Role::Label, true, &spoken));
    let typed = code.chars().count();
    for index in 0..typed {
        let x = rect.center().x + 24.0 * (index as f32 - (typed as f32 - 1.0) / 2.0);
        let at = egui::pos2(x, rect.center().y);
        ui.painter().circle_filled(at, 7.0, theme.colours.ink);
    }
    keys::ui(ui, words, code, false);
}
