//! A field for words or a figure, with its label above it.

use egui::{Id, Margin, Response, TextEdit, Ui};

use super::keyboard::{self, Keys};
use super::{guard, paint};
use crate::ui::theme::{GAP, ROUND, TARGET, Theme, Type};
use crate::ui::words::Words;

/// A field that changes a text.
pub struct TextField<'a> {
    label: &'a str,
    text: &'a mut String,
    chars_max: usize,
    salt: Option<&'a str>,
    rows: usize,
    keys: Keys,
    choices: &'a [String],
    is_written: bool,
}

/// Height of a field of one line, with its label on one line above it.
pub fn height(ui: &Ui) -> f32 {
    let field = paint::line_height(ui, Type::Title) + 16.0;
    paint::line_height(ui, Type::Body) + GAP + field.max(TARGET)
}

impl<'a> TextField<'a> {
    /// A field under a label.
    pub fn new(label: &'a str, text: &'a mut String) -> Self {
        Self {
            label,
            text,
            chars_max: 500,
            salt: None,
            rows: 1,
            keys: Keys::Words,
            choices: &[],
            is_written: false,
        }
    }

    /// Keys below several fields write into this one: it has a ring, with the cursor or
    /// without.
    #[must_use]
    pub fn written_into(mut self, is_written: bool) -> Self {
        self.is_written = is_written;
        self
    }

    /// A name for the field where its label is not the only one of its kind on the screen.
    /// A field stays the same one wherever it comes to stand, and its cursor with it.
    #[must_use]
    pub fn salt(mut self, salt: &'a str) -> Self {
        self.salt = Some(salt);
        self
    }

    /// Several lines, at least so many.
    #[must_use]
    pub fn rows(mut self, rows: usize) -> Self {
        self.rows = rows;
        self.chars_max = 2_000;
        self
    }

    /// What it takes, for the keys on the glass.
    #[must_use]
    pub fn keys(mut self, keys: Keys) -> Self {
        self.keys = keys;
        self
    }

    /// What may be chosen instead of writing it, the likeliest first.
    #[must_use]
    pub fn choices(mut self, choices: &'a [String]) -> Self {
        self.choices = choices;
        self
    }

    /// Draws it over the width that is there; true when the text has changed.
    pub fn ui(self, ui: &mut Ui, words: &Words) -> bool {
        self.respond(ui, words).changed()
    }

    /// The same for who has to know whether the cursor is in it.
    pub fn respond(self, ui: &mut Ui, _words: &Words) -> Response {
        let theme = Theme::of(ui.ctx());
        let text = egui::RichText::new(self.label)
            .font(theme.font(Type::Body))
            .color(theme.colours.ink_soft);
        // Columns would space its words out over the line.
        let left = egui::Layout::top_down(egui::Align::Min);
        let label = ui.with_layout(left, |ui| ui.label(text)).inner;
        let line = paint::line_height(ui, Type::Title);
        let margin = ((TARGET - line) / 2.0).max(8.0) as i8;
        let mut field = if self.rows > 1 {
            TextEdit::multiline(self.text).desired_rows(self.rows)
        } else {
            TextEdit::singleline(self.text)
        };
        field = field.id(Id::unique(("field", self.salt.unwrap_or(self.label))));
        let field = field
            .font(theme.font(Type::Title))
            .margin(Margin::symmetric(16, margin))
            .char_limit(self.chars_max)
            .desired_width(f32::INFINITY)
            .min_size(egui::vec2(0.0, TARGET));
        let mut response = ui.add(field).labelled_by(label.id);
        let field = keyboard::Field {
            label: self.label,
            keys: self.keys,
            has_lines: self.rows > 1,
            choices: self.choices,
            chars_max: self.chars_max,
        };
        if keyboard::follow(&response, &field, self.text) {
            response.mark_changed();
        }
        if response.gained_focus() {
            response.scroll_to_me(None);
        }
        guard::note(ui.ctx(), response.id, response.interact_rect);
        if self.is_written {
            paint::ring(ui, response.rect, f32::from(ROUND));
        }
        paint::focus_ring(ui, &response, f32::from(ROUND));
        response
    }
}
