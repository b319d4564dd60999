//! The fields of a layout, in five parts.

mod bench;
mod engine;
mod lists;
mod supplies;
mod valves;

use egui::style::ScrollAnimation;
use egui::{Align, Rect, Ui, vec2};

use super::read::{FieldTrouble, FieldTroubleKind, ReadLayout};
use super::text::LayoutText;
use crate::ui::theme::{GAP, Theme, Type};
use crate::ui::view::View;
use crate::ui::widgets::paint;
use crate::ui::widgets::text_field::TextField;
use crate::ui::words::Words;

/// A part of the form.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum EditorPart {
    /// Name, banks, firing order.
    #[default]
    Engine,
    /// Valves, locks, springs, guides.
    Valves,
    /// Dimensions, torque, pressure, times.
    Figures,
    /// Working positions, adaptors, remarks.
    Positions,
    /// Kit and order list.
    Supplies,
}

impl EditorPart {
    /// Every part in order.
    pub const ALL: [EditorPart; 5] = [
        EditorPart::Engine,
        EditorPart::Valves,
        EditorPart::Figures,
        EditorPart::Positions,
        EditorPart::Supplies,
    ];

    /// Its name.
    pub fn name(self, w: &Words) -> &'static str {
        match self {
            EditorPart::Engine => w.engine_part,
            EditorPart::Valves => w.valves_word,
            EditorPart::Figures => w.figures_word,
            EditorPart::Positions => w.positions_word,
            EditorPart::Supplies => w.kit_word,
        }
    }

    /// The part in which a field stands.
    pub fn of(field: &str) -> EditorPart {
        let key = field.split(['.', '[']).next().unwrap_or_default();
        match key {
            "intake_valves" | "exhaust_valves" | "locks_per_valve" | "springs_per_valve"
            | "follower" | "shims_per_valve" | "intake_seat_mm" | "exhaust_seat_mm" | "spring"
            | "guide" => EditorPart::Valves,
            "bore_mm"
            | "stroke_mm"
            | "rod_mm"
            | "breakaway_torque_nm"
            | "breakaway_measured"
            | "pressure_rating_bar"
            | "fitting_push_n"
            | "rim_diameter_mm"
            | "handling_min" => EditorPart::Figures,
            "working_positions" | "adaptors" | "remarks" => EditorPart::Positions,
            "kit" | "order_list" => EditorPart::Supplies,
            _ => EditorPart::Engine,
        }
    }
}

/// What the form keeps besides the texts: the part and the line that are open.
#[derive(Debug, Default)]
pub struct FormState {
    /// The part that is shown.
    pub part: EditorPart,
    /// The list and the line of it that is open.
    open: Option<(&'static str, usize)>,
    /// The field that is to come into sight.
    wanted: Option<String>,
}

impl FormState {
    /// Draws the fields of the part that is shown.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, reading: &ReadLayout, text: &mut LayoutText) {
        let wanted = self.wanted.take();
        let form = Fields { v, reading, wanted };
        match self.part {
            EditorPart::Engine => engine::ui(ui, &form, text),
            EditorPart::Valves => valves::ui(ui, &form, text),
            EditorPart::Figures => bench::ui(ui, &form, text),
            EditorPart::Positions => lists::ui(ui, &form, text, &mut self.open),
            EditorPart::Supplies => supplies::ui(ui, &form, text, &mut self.open),
        }
    }

    /// Shows the part, opens the line and scrolls to where a field stands.
    pub fn go_to(&mut self, field: &str) {
        self.wanted = Some(field.to_owned());
        self.part = EditorPart::of(field);
        let (key, rest) = field.split_once('[').unwrap_or((field, ""));
        let index = rest.split(']').next().and_then(|n| n.parse().ok());
        let list = lists::KEYS.iter().find(|k| **k == key);
        self.open = list.copied().zip(index);
    }
}

/// One field: its label, its path, its text.
pub(super) type FieldEditor<'a> = (&'a str, &'a str, &'a mut String);

/// Draws fields with what is amiss below each.
pub(super) struct Fields<'a> {
    pub v: &'a View<'a>,
    pub reading: &'a ReadLayout,
    /// The field that is to come into sight.
    wanted: Option<String>,
}

impl Fields<'_> {
    /// One field over the whole width.
    pub fn one(&self, ui: &mut Ui, (label, path, text): FieldEditor<'_>) {
        TextField::new(label, text).salt(path).ui(ui, self.v.words);
        self.trouble(ui, path);
    }

    /// Fields beside each other where they fit, else below each other.
    pub fn some(&self, ui: &mut Ui, fields: &mut [FieldEditor<'_>]) {
        let least = 230.0 * Theme::of(ui.ctx()).scale();
        let fit = ((ui.available_width() + GAP) / (least + GAP)).floor();
        let columns = (fit.max(1.0) as usize).min(fields.len()).min(3);
        if columns < 2 {
            for (label, path, text) in fields {
                self.one(ui, (*label, *path, &mut **text));
            }
            return;
        }
        for row in fields.chunks_mut(columns) {
            ui.scope(|ui| {
                // Columns are rounded up to whole points; that must not widen the form.
                ui.set_max_width(ui.available_width() - columns as f32);
                ui.columns(columns, |places| {
                    for (place, (label, path, text)) in places.iter_mut().zip(row) {
                        self.one(place, (*label, *path, &mut **text));
                    }
                });
            });
        }
    }

    /// What is amiss with a field, if anything. The line keeps its room, so that nothing
    /// moves under the finger when the fault goes.
    pub fn trouble(&self, ui: &mut Ui, path: &str) {
        match self.reading.at(path) {
            Some(trouble) => self.trouble_line(ui, trouble),
            None => ui.add_space(paint::line_height(ui, Type::Strong)),
        }
    }

    /// What is amiss with a field itself, not with what is in it.
    pub fn own_trouble(&self, ui: &mut Ui, path: &str) {
        if let Some(trouble) = self.reading.exactly(path) {
            self.trouble_line(ui, trouble);
        }
    }

    fn trouble_line(&self, ui: &mut Ui, trouble: &FieldTrouble) {
        let mark = Theme::of(ui.ctx()).colours.astray.mark;
        let text = format!("! {}", sentence(self.v.words, &trouble.what));
        let top = ui.cursor().min;
        paint::say(ui, &text, Type::Strong, mark);
        if self.wanted.as_ref() == Some(&trouble.field) {
            // The field stands above what is amiss with it.
            let line = Rect::from_min_max(top, ui.cursor().min + vec2(1.0, 0.0));
            ui.scroll_to_rect_animation(line, Some(Align::Center), ScrollAnimation::none());
        }
    }
}

/// What is amiss, as a sentence.
pub(super) fn sentence(w: &Words, what: &FieldTroubleKind) -> String {
    match what {
        FieldTroubleKind::Empty => w.stands_empty.to_owned(),
        FieldTroubleKind::NoNumber(text) => w.no_number(text),
        FieldTroubleKind::NoCylinder(text) => w.no_cylinder_number(text),
        FieldTroubleKind::Rule { value, rule } if value.is_empty() => w.layout_rule(rule),
        FieldTroubleKind::Rule { value, rule } => format!("{value}: {}", w.layout_rule(rule)),
    }
}
