//! Small strokes that several widgets share.

use std::sync::Arc;

use egui::text::{LayoutJob, TextFormat, TextWrapping};
use egui::{Align2, Color32, Galley, Painter, Pos2, Rect, Response, Shape, Stroke, StrokeKind, Ui};

pub use super::arcs::{arc, on_circle};
use super::cached_shapes;
use super::memo::memo;
use crate::ui::glass;
use crate::ui::theme::{ROUND, Theme, Type};

/// A line with round ends.
pub fn round_line(painter: &Painter, points: Vec<Pos2>, width: f32, colour: Color32) {
    for point in &points {
        painter.circle_filled(*point, width / 2.0, colour);
    }
    painter.line(points, Stroke::new(width, colour));
}

/// A sector of a disc; degrees clockwise from the top.
pub fn wedge(painter: &Painter, center: Pos2, radius: f32, from: f32, to: f32, colour: Color32) {
    // A convex shape spans at most half a turn, so a larger sector is put together.
    let mut start = from;
    while start < to {
        let end = (start + 120.0).min(to);
        let mut points = vec![center];
        points.extend(arc(center, radius, start, end));
        painter.add(Shape::convex_polygon(points, colour, Stroke::NONE));
        start = end;
    }
}

/// A line cut into dashes of 8 points with gaps of 6.
pub fn dashed_rect(painter: &Painter, rect: Rect, stroke: Stroke) {
    let corners = [
        rect.left_top(),
        rect.right_top(),
        rect.right_bottom(),
        rect.left_bottom(),
        rect.left_top(),
    ];
    painter.extend(Shape::dashed_line(&corners, stroke, 8.0, 6.0));
}

/// Text laid out to at most `width` points, wrapped at words.
pub fn text(ui: &Ui, text: &str, step: Type, colour: Color32, width: f32) -> Arc<Galley> {
    wrapped(ui, text, step, colour, width, egui::Align::LEFT)
}

/// Text wrapped at words, in a font in which no word is broken.
fn wrapped(
    ui: &Ui,
    text: &str,
    step: Type,
    colour: Color32,
    width: f32,
    halign: egui::Align,
) -> Arc<Galley> {
    let key = cached_shapes::key((text, step, colour, width.to_bits(), halign));
    memo(ui, key, || {
        let in_font = |font: egui::FontId| {
            let format = TextFormat::simple(font, colour);
            let mut job = LayoutJob::single_section(text.to_owned(), format);
            job.wrap = TextWrapping::wrap_at_width(width.max(1.0));
            job.halign = halign;
            ui.painter().layout_job(job)
        };
        let usual = Theme::of(ui.ctx()).font(step);
        let galley = in_font(usual.clone());
        if galley.rows.len() <= 1 {
            return galley;
        }
        let font = fitting(ui, text, usual.clone(), width);
        if font == usual { galley } else { in_font(font) }
    })
}

/// Text in a font of its own, wrapped at words in at most so many lines.
pub fn text_afar(
    ui: &Ui,
    text: &str,
    font: egui::FontId,
    colour: Color32,
    (width, rows): (f32, usize),
) -> Arc<Galley> {
    let place = (width.to_bits(), rows, font.size.to_bits());
    let key = cached_shapes::key((text, place, &font.family, colour));
    memo(ui, key, || {
        let font = fitting(ui, text, font, width);
        let mut job = LayoutJob::single_section(text.to_owned(), TextFormat::simple(font, colour));
        job.wrap = TextWrapping::wrap_at_width(width.max(1.0));
        job.wrap.max_rows = rows;
        ui.painter().layout_job(job)
    })
}

/// The same font, or a smaller one where a single word would not fit into the width: a
/// word is never broken. It does not get smaller than small text at 100 %.
fn fitting(ui: &Ui, text: &str, mut font: egui::FontId, width: f32) -> egui::FontId {
    let measure = |part: &str| {
        let galley =
            ui.painter()
                .layout_no_wrap(part.to_owned(), font.clone(), Color32::PLACEHOLDER);
        galley.size().x
    };
    if measure(text) <= width {
        return font;
    }
    let widest = text.split_whitespace().map(measure).fold(0.0, f32::max);
    if widest > width {
        let least = Type::Small.points().min(font.size);
        font.size = (font.size * (width - 1.0) / widest).floor().max(least);
    }
    font
}

/// Text on one line, cut with an ellipsis where it does not fit.
pub fn text_line(ui: &Ui, text: &str, step: Type, colour: Color32, width: f32) -> Arc<Galley> {
    memo(
        ui,
        cached_shapes::key((text, step, colour, width.to_bits())),
        || {
            let font = Theme::of(ui.ctx()).font(step);
            let format = TextFormat::simple(font, colour);
            let mut job = LayoutJob::single_section(text.to_owned(), format);
            job.wrap = TextWrapping::truncate_at_width(width.max(1.0));
            ui.painter().layout_job(job)
        },
    )
}

/// One line of text at an anchor; gives the place it takes.
pub fn label(ui: &Ui, at: Pos2, anchor: Align2, text: &str, step: Type, colour: Color32) -> Rect {
    let galley = memo(ui, cached_shapes::key((text, step, colour)), || {
        let font = Theme::of(ui.ctx()).font(step);
        ui.painter().layout_no_wrap(text.to_owned(), font, colour)
    });
    let rect = anchor.anchor_size(at, galley.size());
    ui.painter().galley(rect.min, galley, colour);
    rect
}

/// Height of one line of a step of the type scale.
pub fn line_height(ui: &Ui, step: Type) -> f32 {
    memo(ui, cached_shapes::key(("line", step)), || {
        let font = Theme::of(ui.ctx()).font(step);
        ui.painter().fonts_mut(|f| f.row_height(&font))
    })
}

/// The ring that shows where the keyboard is: ink, four points, standing off.
pub fn focus_ring(ui: &Ui, response: &Response, radius: f32) {
    if response.has_focus() {
        let colours = Theme::of(ui.ctx()).colours;
        let rect = response.rect.expand(1.0);
        let painter = ui.painter();
        painter.rect_stroke(
            rect,
            radius,
            Stroke::new(3.0, colours.paper),
            StrokeKind::Outside,
        );
        painter.rect_stroke(
            rect,
            radius,
            Stroke::new(4.0, colours.ink),
            StrokeKind::Inside,
        );
    }
}

/// The ring round what keys that lie elsewhere write into, thinner than the keyboard's.
pub fn ring(ui: &Ui, rect: Rect, radius: f32) {
    let stroke = Stroke::new(3.0, Theme::of(ui.ctx()).colours.now_mark);
    ui.painter()
        .rect_stroke(rect, radius, stroke, StrokeKind::Inside);
}

/// Whether a finger is on it right now.
pub fn is_pressed(response: &Response) -> bool {
    response.is_pointer_button_down_on() || glass::pressed_since(response).is_some()
}

/// The usual outline of a control: card, an edge, the pressed ground under a finger.
pub fn control(ui: &Ui, response: &Response) {
    let colours = Theme::of(ui.ctx()).colours;
    let (ground, edge) = if is_pressed(response) {
        (colours.pressed, colours.now_mark)
    } else {
        (colours.card, colours.edge)
    };
    plate(ui, response, ground, edge);
    focus_ring(ui, response, f32::from(ROUND));
}

/// The body of a control: its ground with an edge round it.
pub fn plate(ui: &Ui, response: &Response, ground: Color32, edge: Color32) {
    let key = cached_shapes::key((cached_shapes::bits(response.rect), ground, edge));
    cached_shapes::cached_shapes(ui, response.id, key, is_pressed(response), |ui| {
        ui.painter().rect(
            response.rect.shrink(1.0),
            f32::from(ROUND),
            ground,
            Stroke::new(2.0, edge),
            StrokeKind::Inside,
        );
    });
}

/// Radius of a badge with its rim.
pub const BADGE: f32 = 15.0;

/// A small round sign with one character.
pub fn badge(ui: &Ui, at: Pos2, sign: &str, tint: crate::ui::theme::Tint) {
    let colours = Theme::of(ui.ctx()).colours;
    ui.painter().circle_filled(at, BADGE, colours.card);
    ui.painter().circle_filled(at, 13.0, tint.mark);
    label(
        ui,
        at,
        Align2::CENTER_CENTER,
        sign,
        Type::Strong,
        tint.ground,
    );
}

/// Text wrapped at words, each line centred; its place is given by the middle of its top.
pub fn text_centred(ui: &Ui, text: &str, step: Type, colour: Color32, width: f32) -> Arc<Galley> {
    wrapped(ui, text, step, colour, width, egui::Align::Center)
}

/// As much of a text, from its beginning to a comma or colon, as has room in so many lines.
pub fn whole_part<'t>(ui: &Ui, text: &'t str, step: Type, width: f32, lines: usize) -> &'t str {
    let rows = |part: &str| {
        let galley = self::text(ui, part, step, Color32::PLACEHOLDER, width);
        galley.rows.len()
    };
    let mut part = text;
    while !part.is_empty() && rows(part) > lines {
        part = part.rfind([':', ',']).map_or("", |end| &part[..end]);
    }
    part
}

/// A triangle with a bar and a point: take care. `height` is that of the triangle.
pub fn caution_sign(ui: &Ui, center: Pos2, height: f32, mark: Color32, ground: Color32) {
    let half = height / 2.0;
    let corner = |x: f32, y: f32| Pos2::new(center.x + x * half, center.y + y * half);
    let triangle = vec![corner(0.0, -1.0), corner(1.12, 0.9), corner(-1.12, 0.9)];
    let painter = ui.painter();
    painter.add(Shape::convex_polygon(
        triangle,
        mark,
        Stroke::new(2.0, mark),
    ));
    let bar = vec![corner(0.0, -0.35), corner(0.0, 0.25)];
    round_line(painter, bar, height * 0.11, ground);
    painter.circle_filled(corner(0.0, 0.6), height * 0.07, ground);
}

/// Text for egui's own labels, in a step of the type scale.
pub fn rich(theme: &Theme, text: &str, step: Type, colour: Color32) -> egui::RichText {
    egui::RichText::new(text)
        .font(theme.font(step))
        .color(colour)
}

/// A label over the width that is there, told to a screen reader as text.
pub fn say(ui: &mut Ui, text: &str, step: Type, colour: Color32) -> Response {
    let theme = Theme::of(ui.ctx());
    ui.add(egui::Label::new(rich(&theme, text, step, colour)).wrap())
}
