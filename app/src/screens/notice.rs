//! The message of the desk, where a screen has no place of its own for it.

use egui::Ui;

use crate::theme::{Theme, Tint};
use crate::view::{Notice, View};
use crate::widgets::note;

fn parts<'a>(ui: &Ui, notice: &'a Notice) -> (&'a str, &'a str, Tint) {
    let c = Theme::of(ui.ctx()).colours;
    match notice {
        Notice::Refused { why, way_out, .. } => (why, way_out, c.astray),
        Notice::Fault { what, way_out } => (what, way_out, c.astray),
        Notice::Said(text) => (text, "", c.done),
    }
}

/// Draws the message, if there is one.
pub fn ui(ui: &mut Ui, v: &View<'_>) {
    if let Some(notice) = v.notice {
        let (text, more, tint) = parts(ui, notice);
        note::ui(ui, text, more, tint);
    }
}

/// Height that it takes at a width; 0 without one.
pub fn height(ui: &Ui, v: &View<'_>, width: f32) -> f32 {
    v.notice.map_or(0.0, |notice| {
        let (text, more, tint) = parts(ui, notice);
        note::height(ui, text, more, tint, width)
    })
}
