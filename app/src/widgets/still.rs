//! Pictures that stay as they are from frame to frame.
//!
//! Strokes are made into triangles once and kept, until what they show changes: a frame
//! of a large engine then costs no more than its text.

use std::sync::Arc;

use egui::epaint::{Mesh, Tessellator};
use egui::{Id, Shape, Ui};

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

/// A circle with no more corners than the eye can tell from a circle; any other shape as
/// it is. What is painted again in every frame is to be small.
fn leaner(ui: &Ui, shape: Shape) -> Shape {
    let Shape::Circle(circle) = shape else {
        return shape;
    };
    let corners = arc_steps(circle.radius * ui.ctx().pixels_per_point(), 360.0);
    let points = (0..corners)
        .map(|i| {
            let deg = 360.0 * i as f32 / corners as f32;
            on_circle(circle.center, circle.radius, deg)
        })
        .collect();
    Shape::convex_polygon(points, circle.fill, circle.stroke)
}
