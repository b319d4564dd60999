//! Pictures that stay as they are from frame to frame.
//!
//! Strokes are made into triangles once and kept, until what they show changes: a frame
//! of a large engine then costs no more than its text.

use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::Arc;

use egui::cache::CacheTrait;
use egui::epaint::{Mesh, Tessellator};
use egui::{Id, IdMap, Shape, Ui};

use super::paint::{arc_steps, line_height, on_circle};
use crate::theme::{Theme, Type};

/// What was painted, ready to be painted again.
#[derive(Clone)]
struct Still {
    key: u64,
    /// How full the fonts' picture was; when it empties, letters have moved in it.
    fill: f32,
    shapes: Arc<Vec<Shape>>,
}

/// The pictures of the frame before. What is not painted in a frame is let go.
#[derive(Default)]
struct Stills {
    frame: u64,
    kept: IdMap<(u64, Still)>,
}

impl Stills {
    /// The picture of this name and key, if it still holds with the fonts' picture so full.
    fn get(&mut self, id: Id, key: u64, fill: f32) -> Option<Arc<Vec<Shape>>> {
        let frame = self.frame;
        let (painted, still) = self.kept.get_mut(&id)?;
        if still.key != key || fill < still.fill {
            return None;
        }
        (*painted, still.fill) = (frame, fill);
        Some(Arc::clone(&still.shapes))
    }
}

impl CacheTrait for Stills {
    fn update(&mut self) {
        let last = self.frame;
        self.kept.retain(|_, (painted, _)| *painted == last);
        self.frame += 1;
    }

    fn len(&self) -> usize {
        self.kept.len()
    }
}

/// A number for everything that a picture depends on.
pub fn key(parts: impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    parts.hash(&mut hasher);
    hasher.finish()
}

/// Bits of a length, for [`key`].
pub fn bits(rect: egui::Rect) -> [u32; 4] {
    [rect.min.x, rect.min.y, rect.max.x, rect.max.y].map(f32::to_bits)
}

/// Paints with `paint` what depends on nothing but `key`, the theme and the scale of the
/// screen; as long as they are the same, what was painted before is painted again.
///
/// `is_live` says that it is not so in this frame, because a finger is on it or the
/// keyboard; then everything is painted anew.
pub fn still(ui: &Ui, id: Id, key: u64, is_live: bool, paint: impl FnOnce(&Ui)) {
    let id = id.with("still");
    if is_live {
        paint(ui);
        return;
    }
    let theme = Theme::of(ui.ctx());
    // Fonts serve from a window's second frame on only; then lines have another height.
    let line = line_height(ui, Type::Title);
    let lengths = [ui.ctx().pixels_per_point(), theme.scale(), line].map(f32::to_bits);
    let key = self::key((key, theme.tone, lengths));
    // The method's name alone does not do, for the view borrows from the context.
    #[allow(clippy::redundant_closure_for_method_calls)]
    let fill = || ui.fonts(|f| f.font_atlas_fill_ratio());
    let now = fill();
    let kept = ui.memory_mut(|m| m.caches.cache::<Stills>().get(id, key, now));
    if let Some(shapes) = kept {
        ui.painter().extend(shapes.iter().cloned());
        return;
    }
    let layer = ui.layer_id();
    let painted = |ui: &Ui| {
        ui.ctx()
            .graphics(|g| g.get(layer).map_or(0, |list| list.all_entries().len()))
    };
    let before = painted(ui);
    paint(ui);
    let shapes: Vec<Shape> = ui.ctx().graphics(|g| {
        let list = g.get(layer);
        let new = list
            .into_iter()
            .flat_map(|list| list.all_entries().skip(before));
        new.map(|clipped| clipped.shape.clone()).collect()
    });
    let shapes = Arc::new(flattened(ui, shapes));
    let fill = fill();
    ui.memory_mut(|m| {
        let stills = m.caches.cache::<Stills>();
        let frame = stills.frame;
        stills.kept.insert(id, (frame, Still { key, fill, shapes }));
    });
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
