//! The inks of the record and the forms drawn with them. Nothing is told by ink alone.

use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Rect};

/// An ink.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    /// Text and marks.
    Black,
    /// Text that may wait.
    Soft,
    /// Rules that part sections.
    Rule,
    /// Hairlines between rows.
    Hair,
    /// The ground of boxes.
    Tint,
    /// What must not be overlooked.
    Warn,
    /// The ground of a warning.
    WarnTint,
    /// Seen and safe.
    Done,
    /// The paper.
    White,
}

impl Ink {
    pub(super) fn colour(self) -> rgb::Color {
        let (r, g, b) = match self {
            Ink::Black => (0x17, 0x1D, 0x21),
            Ink::Soft => (0x53, 0x5B, 0x5C),
            Ink::Rule => (0x8A, 0x90, 0x8E),
            Ink::Hair => (0xD4, 0xD6, 0xD2),
            Ink::Tint => (0xF3, 0xF3, 0xEF),
            Ink::Warn => (0x9C, 0x2A, 0x12),
            Ink::WarnTint => (0xFB, 0xEE, 0xE9),
            Ink::Done => (0x1F, 0x5F, 0x4A),
            Ink::White => (0xFF, 0xFF, 0xFF),
        };
        rgb::Color::new(r, g, b)
    }
}

/// Four cubic curves come this close to a quarter of a circle.
const QUARTER: f32 = 0.552_284_8;

/// A rectangle.
pub fn rect(x: f32, y: f32, width: f32, height: f32) -> Option<Path> {
    let mut path = PathBuilder::new();
    path.push_rect(Rect::from_xywh(x, y, width, height)?);
    path.finish()
}

/// A line through points.
pub fn line(points: &[(f32, f32)]) -> Option<Path> {
    let mut path = PathBuilder::new();
    let (first, rest) = points.split_first()?;
    path.move_to(first.0, first.1);
    for (x, y) in rest {
        path.line_to(*x, *y);
    }
    path.finish()
}

/// A circle.
pub fn circle(x: f32, y: f32, radius: f32) -> Option<Path> {
    let mut path = PathBuilder::new();
    let k = radius * QUARTER;
    path.move_to(x, y - radius);
    path.cubic_to(x + k, y - radius, x + radius, y - k, x + radius, y);
    path.cubic_to(x + radius, y + k, x + k, y + radius, x, y + radius);
    path.cubic_to(x - k, y + radius, x - radius, y + k, x - radius, y);
    path.cubic_to(x - radius, y - k, x - k, y - radius, x, y - radius);
    path.close();
    path.finish()
}

/// An arc of a circle, clockwise, angles in degrees from the top; up to a third of it.
pub fn arc(x: f32, y: f32, radius: f32, from_deg: f32, to_deg: f32) -> Option<Path> {
    let (from, to) = (from_deg.to_radians(), to_deg.to_radians());
    let reach = radius * 4.0 / 3.0 * ((to - from) / 4.0).tan();
    let mut path = PathBuilder::new();
    let (sin_a, cos_a, sin_b, cos_b) = (from.sin(), from.cos(), to.sin(), to.cos());
    let start = (x + radius * sin_a, y - radius * cos_a);
    let end = (x + radius * sin_b, y - radius * cos_b);
    path.move_to(start.0, start.1);
    path.cubic_to(
        start.0 + reach * cos_a,
        start.1 + reach * sin_a,
        end.0 - reach * cos_b,
        end.1 - reach * sin_b,
        end.0,
        end.1,
    );
    path.finish()
}

/// Half a disc with an upright flat side at `flat_x`; `left` has it bulge to the left.
pub fn half_disc(flat_x: f32, y: f32, radius: f32, left: bool) -> Option<Path> {
    let bulge = if left { -radius } else { radius };
    let k = radius * QUARTER;
    let mut path = PathBuilder::new();
    path.move_to(flat_x, y - radius);
    path.cubic_to(
        flat_x + bulge * QUARTER,
        y - radius,
        flat_x + bulge,
        y - k,
        flat_x + bulge,
        y,
    );
    path.cubic_to(
        flat_x + bulge,
        y + k,
        flat_x + bulge * QUARTER,
        y + radius,
        flat_x,
        y + radius,
    );
    path.close();
    path.finish()
}
