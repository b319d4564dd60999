//! The one next step, under the thumb: the biggest thing on the screen.
//!
//! Its line is what will be seen, so that a tap on it says: I see it.

use egui::{Rect, Sense, Ui, Vec2, pos2, vec2};

use super::{cached_shapes, paint, tap};
use crate::ui::glass::{self, PedalPress};
use crate::ui::theme::{GAP, ROUND_AREA, TARGET, Theme, Type};

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
    /// Whether the pedal may take it: never where somebody signs.
    pub takes_pedal: bool,
    /// Whether it is no larger than it must be: in a low room, beside the way out.
    pub is_low: bool,
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
            takes_pedal: false,
            is_low: false,
        }
    }

    /// The same bar for a low room: its name, or while something is missing that alone.
    #[must_use]
    pub fn low(mut self) -> Self {
        self.is_low = true;
        self.least_height = TARGET;
        self
    }

    /// The steps of both lines, and the room above and below them.
    fn sizes(&self) -> (Type, Type, f32) {
        if self.is_low {
            (Type::Strong, Type::Small, 2.0 * GAP)
        } else {
            (Type::Bar, Type::Body, 32.0)
        }
    }

    /// A bar that takes a tap unless something is missing: then that is its second line.
    pub fn unless(title: &'a str, more: &'a str, missing: Option<&'a str>) -> Self {
        let mut bar = Self::new(title, missing.unwrap_or(more));
        bar.is_enabled = missing.is_none();
        bar
    }

    /// The pedal may take it too.
    #[must_use]
    pub fn by_pedal(mut self) -> Self {
        self.takes_pedal = true;
        self
    }

    fn shows_more(&self) -> bool {
        !self.more.is_empty() && !self.is_short && !self.is_low
    }

    /// The line that is always there.
    fn shown(&self) -> &'a str {
        let is_missing = self.is_low && !self.is_enabled && !self.more.is_empty();
        if is_missing { self.more } else { self.title }
    }

    /// Height that it takes at a width.
    pub fn height(&self, ui: &Ui, width: f32) -> f32 {
        let pad = 24.0_f32.min(width * 0.08);
        let room = width - 2.0 * pad;
        let ink = Theme::of(ui.ctx()).colours.ink;
        let (large, small, around) = self.sizes();
        let title = paint::text(ui, self.shown(), large, ink, room).size().y;
        let more = if self.shows_more() {
            6.0 + paint::text(ui, self.more, small, ink, room).size().y
        } else {
            0.0
        };
        (title + more + around).max(self.least_height)
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
        let (large, small, around) = self.sizes();
        let title = paint::text(ui, self.shown(), large, ink, room);
        let more = self
            .shows_more()
            .then(|| paint::text(ui, self.more, small, ink, room));
        let gap = if more.is_some() { 6.0 } else { 0.0 };
        let text_h = title.size().y + gap + more.as_ref().map_or(0.0, |m| m.size().y);
        let height = (text_h + around).max(self.least_height);
        let (rect, _) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
        let name = if self.more.is_empty() {
            self.title.to_owned()
        } else {
            format!("{}, {}", self.title, self.more)
        };
        let id = ui.scope_id().with("big bar");
        let mut tapped = tap::area(ui, rect, id, &name, self.is_enabled);
        if self.takes_pedal && self.is_enabled && glass::pedal(ui.ctx()) == Some(PedalPress::Short)
        {
            tapped.tapped |= tap::counts(ui.ctx(), id);
        }
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
        if self.takes_pedal && glass::has_pedal(ui.ctx()) {
            paint_pedal(ui, rect, ink);
        }
        paint::focus_ring(ui, &tapped.response, f32::from(ROUND_AREA));
        tapped
    }
}

/// A small pedal in the bar's corner: it is known, and takes the step too.
fn paint_pedal(ui: &Ui, bar: Rect, ink: egui::Color32) {
    let at = bar.right_bottom() - vec2(24.0, 18.0);
    let line = |points: Vec<egui::Pos2>| paint::round_line(ui.painter(), points, 3.0, ink);
    line(vec![at - vec2(14.0, -6.0), at + vec2(10.0, 6.0)]);
    line(vec![at - vec2(14.0, -4.0), at + vec2(8.0, -8.0)]);
}
