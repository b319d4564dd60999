//! Pictures that stay as they are from frame to frame.
//!
//! Strokes are made into triangles once and kept, until what they show changes: a frame
//! of a large engine then costs no more than its text.

use std::sync::Arc;

use egui::emath::GuiRounding;
use egui::epaint::{Mesh, PathStroke, RectShape, Tessellator};
use egui::{Id, Pos2, Shape, StrokeKind, Ui};

use super::kept::kept;
pub use super::kept::{bits, key};
use super::paint::{arc_steps, on_circle};

/// A picture ready to be painted again.
type Still = Arc<Vec<Shape>>;

/// Paints with `paint` what depends on nothing but `key`, the theme and the scale of the
/// screen; as long as they are the same, what was painted before is painted again.
///
/// `is_live` says that it is not so in this frame, because a finger is on it or the
/// keyboard; then everything is painted anew.
pub fn still(ui: &Ui, id: Id, key: u64, is_live: bool, paint: impl FnOnce(&Ui)) {
    if is_live {
        paint(ui);
        return;
    }
    let mut is_new = false;
    let shapes: Still = kept(ui, self::key((id, key)), || {
        is_new = true;
        painted(ui, paint)
    });
    if !is_new {
        ui.painter().extend(shapes.iter().cloned());
    }
}

/// Paints, and gives what was painted.
fn painted(ui: &Ui, paint: impl FnOnce(&Ui)) -> Still {
    let layer = ui.layer_id();
    let before = ui
        .ctx()
        .graphics(|g| g.get(layer).map_or(0, |list| list.all_entries().len()));
    paint(ui);
    let shapes: Vec<Shape> = ui.ctx().graphics(|g| {
        let list = g.get(layer);
        let new = list
            .into_iter()
            .flat_map(|list| list.all_entries().skip(before));
        new.map(|clipped| clipped.shape.clone()).collect()
    });
    Arc::new(flattened(ui, shapes))
}

/// The same shapes with all that is no text made into triangles. Text stays, for where
/// its letters lie in the font's picture may change.
fn flattened(ui: &Ui, shapes: Vec<Shape>) -> Vec<Shape> {
    let options = ui.ctx().tessellation_options(|o| *o);
    // Without discs prepared in the font's picture, every corner is of plain colour.
    let mut tessellator =
        Tessellator::new(ui.ctx().pixels_per_point(), options, [1, 1], Vec::new());
    let mut flat = Vec::new();
    let mut mesh = Mesh::default();
    for shape in shapes {
        if matches!(shape, Shape::Text(_)) {
            if !mesh.is_empty() {
                flat.push(Shape::mesh(std::mem::take(&mut mesh)));
            }
            flat.push(shape);
        } else {
            tessellator.tessellate_shape(leaner(ui, shape), &mut mesh);
        }
    }
    if !mesh.is_empty() {
        flat.push(Shape::mesh(mesh));
    }
    flat
}

/// A circle or a rounded rectangle with no more corners than the eye can tell from round;
/// any other shape as it is. What is painted again in every frame is to be small.
fn leaner(ui: &Ui, shape: Shape) -> Shape {
    let pixels = ui.pixels_per_point();
    match shape {
        Shape::Circle(circle) => {
            let corners = arc_steps(circle.radius * pixels, 360.0);
            let points = (0..corners)
                .map(|i| {
                    let deg = 360.0 * i as f32 / corners as f32;
                    on_circle(circle.center, circle.radius, deg)
                })
                .collect();
            Shape::convex_polygon(points, circle.fill, circle.stroke)
        }
        Shape::Rect(rect) => match rounded(&rect, pixels) {
            Some(points) => {
                let stroke = PathStroke::from(rect.stroke).inside();
                Shape::convex_polygon(points, rect.fill, stroke)
            }
            None => Shape::Rect(rect),
        },
        other => other,
    }
}

/// The outline of a rectangle with four corners that are rounded alike and its line inside, if any,
/// as egui would lay it; `None` for any other.
fn rounded(shape: &RectShape, pixels_per_point: f32) -> Option<Vec<Pos2>> {
    const FULLER: f32 = 0.4; // egui makes corners so much rounder.
    let rect = shape.rect.round_to_pixels(pixels_per_point);
    let half = rect.size().min_elem() / 2.0;
    let line = shape.stroke.width;
    let asked = f32::from(shape.corner_radius.nw);
    let is_plain = shape.corner_radius.is_same()
        && asked > 0.0
        && (shape.stroke_kind == StrokeKind::Inside || shape.stroke.is_empty())
        && shape.round_to_pixels.is_none()
        && shape.brush.is_none()
        && (shape.blur_width, shape.angle) == (0.0, 0.0)
        && half > line + 2.0 / pixels_per_point;
    if !is_plain {
        return None;
    }
    let radius = (asked + FULLER).max(line + 0.1).min(half);
    let inner = rect.shrink(radius);
    let steps = arc_steps(radius * pixels_per_point, 90.0);
    let corners = [
        (inner.right_bottom(), 90.0),
        (inner.left_bottom(), 180.0),
        (inner.left_top(), 270.0),
        (inner.right_top(), 0.0),
    ];
    let mut points: Vec<Pos2> = corners
        .into_iter()
        .flat_map(|(center, from)| {
            (0..=steps)
                .map(move |i| on_circle(center, radius, from + 90.0 * i as f32 / steps as f32))
        })
        .collect();
    // Where a side is round all along, two corners meet in a point.
    points.dedup_by(|a, b| a.distance(*b) < 0.01);
    if points
        .first()
        .zip(points.last())
        .is_some_and(|(a, b)| a.distance(*b) < 0.01)
    {
        points.pop();
    }
    Some(points)
}
