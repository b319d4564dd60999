//! Pictures that stay as they are from frame to frame.
//!
//! Strokes are made into triangles once and kept, until what they show changes: a frame
//! of a large engine then costs no more than its text.

use std::mem::{replace, take};
use std::sync::Arc;

use egui::epaint::{CircleShape, Mesh, Tessellator};
use egui::layers::ShapeIdx;
use egui::{Id, Shape, Ui};

use super::arcs::{arc_steps, on_circle};
use super::memo::memo;
pub use super::memo::{bits, key};
use super::rounded;

/// A picture ready to be painted again.
type CachedShapes = Arc<Vec<Shape>>;

/// Paints with `paint` what depends on nothing but `key`, the theme and the scale of the
/// screen; as long as they are the same, what was painted before is painted again.
///
/// `is_live` says that it is not so in this frame, because a finger is on it or the
/// keyboard; then everything is painted anew.
pub fn cached_shapes(ui: &Ui, id: Id, key: u64, is_live: bool, paint: impl FnOnce(&Ui)) {
    // What is measured unseen leaves no shapes that could be kept.
    if is_live || !ui.is_visible() {
        paint(ui);
        return;
    }
    let shapes: CachedShapes = memo(ui, self::key((id, key)), || taken(ui, paint));
    ui.painter().extend(shapes.iter().cloned());
}

/// Paints, and takes what was painted.
fn taken(ui: &Ui, paint: impl FnOnce(&Ui)) -> CachedShapes {
    let layer = ui.layer_id();
    let ctx = ui.ctx();
    let before = ctx.graphics_mut(|g| g.entry(layer).next_idx());
    paint(ui);
    let shapes = ctx.graphics_mut(|g| {
        let list = g.entry(layer);
        let mut shapes = Vec::new();
        for at in before.0..list.next_idx().0 {
            list.mutate_shape(ShapeIdx(at), |painted| {
                shapes.push(replace(&mut painted.shape, Shape::Noop));
            });
        }
        shapes
    });
    Arc::new(flattened(ui, shapes))
}

/// The same shapes with all that is no text made into triangles. Text stays, for where
/// its letters lie in the font's picture may change.
fn flattened(ui: &Ui, shapes: Vec<Shape>) -> Vec<Shape> {
    let options = ui.ctx().tessellation_options(|o| *o);
    let pixels = ui.pixels_per_point();
    let soft = if options.feathering {
        options.feathering_size_in_pixels / pixels
    } else {
        0.0
    };
    // Without discs prepared in the font's picture, every corner is of plain colour.
    let mut tessellator = Tessellator::new(pixels, options, [1, 1], Vec::new());
    let edge = rounded::Edge { pixels, soft };
    let mut flat = Vec::new();
    let mut mesh = Mesh::default();
    for shape in shapes {
        match shape {
            Shape::Text(_) => {
                if !mesh.is_empty() {
                    flat.push(Shape::mesh(take(&mut mesh)));
                }
                flat.push(shape);
            }
            Shape::Rect(rect) => {
                if !rounded::add(&rect, edge, &mut mesh) {
                    tessellator.tessellate_rect(&rect, &mut mesh);
                }
            }
            Shape::Circle(circle) => {
                tessellator.tessellate_shape(leaner(&circle, pixels), &mut mesh);
            }
            other => tessellator.tessellate_shape(other, &mut mesh),
        }
    }
    if !mesh.is_empty() {
        flat.push(Shape::mesh(mesh));
    }
    flat
}

/// A circle with no more corners than the eye can tell from a circle. What is painted again
/// in every frame is to be small.
fn leaner(circle: &CircleShape, pixels_per_point: f32) -> Shape {
    let corners = arc_steps(circle.radius * pixels_per_point, 360.0);
    let points = (0..corners)
        .map(|i| {
            let deg = 360.0 * i as f32 / corners as f32;
            on_circle(circle.center, circle.radius, deg)
        })
        .collect();
    Shape::convex_polygon(points, circle.fill, circle.stroke)
}
