//! The one next step, under the thumb: the biggest thing on the screen.
//!
//! Its line is what will be seen, so that a tap on it says: I see it.

use egui::{Rect, Sense, Ui, Vec2, pos2, vec2};

use super::{cached_shapes, paint, tap};
use crate::ui::theme::{ROUND_AREA, TARGET, Theme, Type};

/// The bar. It takes the width that is there.
pub struct BigBar<'a> {
    /// What is seen when the step is taken.
    pub title: &'a str,
    /// What else is seen; may be empty.
    pub more: &'a str,
    /// Least height in points.
    pub least_height: f32,
    /// Whether a tap goes anywhere.
    pub is_enabled: bool,
    /// Whether the second line is spoken only, for want of room.
    pub is_short: bool,
}

impl<'a> BigBar<'a> {
    /// A bar that takes a tap.
    pub fn new(title: &'a str, more: &'a str) -> Self {
        Self {
            title,
            more,
            least_height: 2.0 * TARGET,
            is_enabled: true,
            is_short: false,
        }
    }

    fn shows_more(&self) -> bool {
        !self.more.is_empty() && !self.is_short
    }

    /// Height that it takes at a width.
    pub fn height(&self, ui: &Ui, width: f32) -> f32 {
        let pad = 24.0_f32.min(width * 0.08);
        let room = width - 2.0 * pad;
        let ink = Theme::of(ui.ctx()).colours.ink;
        let title = paint::text(ui, self.title, Type::Bar, ink, room).size().y;
        let more = if self.shows_more() {
            6.0 + paint::text(ui, self.more, Type::Body, ink, room).size().y
        } else {
            0.0
        };
        (title + more + 32.0).max(self.least_height)
    }

    /// Draws it; the tap counts once in 600 ms.
    pub fn ui(&self, ui: &mut Ui) -> tap::Tapped {
        let c = Theme::of(ui.ctx()).colours;
        let width = ui.available_width();
        let pad = 24.0_f32.min(width * 0.08);
        let room = width - 2.0 * pad;
        let ink = if self.is_enabled {
            c.now.mark
        } else {
            c.ink_soft
        };
        let title = paint::text(ui, self.title, Type::Bar, ink, room);
        let more = self
            .shows_more()
            .then(|| paint::text(ui, self.more, Type::Body, ink, room));
        let gap = if more.is_some() { 6.0 } else { 0.0 };
        let text_h = title.size().y + gap + more.as_ref().map_or(0.0, |m| m.size().y);
        let height = (text_h + 32.0).max(self.least_height);
        let (rect, _) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
        let name = if self.more.is_empty() {
            self.title.to_owned()
        } else {
            format!("{}, {}", self.title, self.more)
        };
        let id = ui.scope_id().with("big bar");
        let tapped = tap::area(ui, rect, id, &name, self.is_enabled);
        let ground = if !self.is_enabled {
            c.metal
        } else if paint::is_pressed(&tapped.response) {
            c.now_pressed.ground
        } else {
            c.now.ground
        };
        let ink = if self.is_enabled && paint::is_pressed(&tapped.response) {
            c.now_pressed.mark
        } else {
            ink
        };
        let key = cached_shapes::key((cached_shapes::bits(rect), ground));
        cached_shapes::cached_shapes(ui, id, key, false, |ui| {
            ui.painter()
                .rect_filled(rect, f32::from(ROUND_AREA), ground);
        });
        let top = rect.center().y - text_h / 2.0;
        let at = pos2(rect.left() + pad, top);
        let below = Rect::from_min_size(at, Vec2::new(room, title.size().y)).bottom() + gap;
        ui.painter().galley_with_override_text_color(at, title, ink);
        if let Some(more) = more {
            let at = pos2(rect.left() + pad, below);
            ui.painter().galley_with_override_text_color(at, more, ink);
        }
        paint::focus_ring(ui, &tapped.response, f32::from(ROUND_AREA));
        tapped
    }
}
