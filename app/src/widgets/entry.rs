//! A field for words or a figure, with its label above it.

use egui::{Margin, TextEdit, Ui};

use super::paint;
use crate::theme::{ROUND, TARGET, Theme, Type};
use crate::words::Words;

/// A field that changes a text.
pub struct Entry<'a> {
    label: &'a str,
    text: &'a mut String,
    chars_max: usize,
}

impl<'a> Entry<'a> {
    /// A field under a label.
    pub fn new(label: &'a str, text: &'a mut String) -> Self {
        Self {
            label,
            text,
            chars_max: 500,
        }
    }

    /// Draws it over the width that is there; true when the text has changed.
    pub fn ui(self, ui: &mut Ui, _words: &Words) -> bool {
        let theme = Theme::of(ui.ctx());
        let label = ui.label(
            egui::RichText::new(self.label)
                .font(theme.font(Type::Body))
                .color(theme.colours.ink_soft),
        );
        let line = paint::line_height(ui, Type::Title);
        let margin = ((TARGET - line) / 2.0).max(8.0) as i8;
        let field = TextEdit::singleline(self.text)
            .font(theme.font(Type::Title))
            .margin(Margin::symmetric(16, margin))
            .char_limit(self.chars_max)
            .desired_width(f32::INFINITY)
            .min_size(egui::vec2(0.0, TARGET));
        let response = ui.add(field).labelled_by(label.id);
        paint::focus_ring(ui, &response, f32::from(ROUND));
        response.changed()
    }
}
