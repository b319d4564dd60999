//! The message of the desk, where a screen has no place of its own for it. A refusal is
//! none of it: it stands where the finger is.

use egui::Ui;

use crate::ui::theme::{Theme, Tint};
use crate::ui::view::{Notice, View};
use crate::ui::widgets::note;

fn parts<'a>(ui: &Ui, notice: Option<&'a Notice>) -> Option<(&'a str, &'a str, Tint)> {
    let c = Theme::of(ui.ctx()).colours;
    match notice? {
        Notice::Refused { .. } => None,
        Notice::Fault { what, way_out } => Some((what, way_out, c.astray)),
        Notice::Said(text) => Some((text, "", c.done)),
    }
}

/// Draws the message, if there is one.
pub fn ui(ui: &mut Ui, v: &View<'_>) {
    if let Some((text, more, tint)) = parts(ui, v.notice) {
        note::ui(ui, text, more, tint);
    }
}

/// Height that it takes at a width; 0 without one.
pub fn height(ui: &Ui, v: &View<'_>, width: f32) -> f32 {
    parts(ui, v.notice).map_or(0.0, |(text, more, tint)| {
        note::height(ui, text, more, tint, width)
    })
}
