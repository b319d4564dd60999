//! Rounded rectangles as triangles.
//!
//! Rings lead from the soft edge outside to the ground inside. The ground is a middle of two
//! triangles and a narrow fan at either side: one fan over the whole would be long slivers,
//! which a screen fills more slowly than so large an area.

use egui::emath::GuiRounding;
use egui::epaint::{Mesh, RectShape};
use egui::{Color32, Pos2, StrokeKind, Vec2};

use super::arcs::{arc_steps, on_circle};

/// How the edges of what is painted are softened.
#[derive(Clone, Copy, Debug)]
pub struct Edge {
    /// Pixels per point.
    pub pixels: f32,
    /// Breadth of the soft edge in points; 0 for none.
    pub soft: f32,
}

/// Corners of the outline, clockwise from the lower right: the middle of each one's circle,
/// and the way out of it.
struct Outline {
    points: Vec<(Pos2, Vec2)>,
    radius: f32,
}

/// Adds a rectangle to a mesh, as egui would lay it. Gives whether it did: it does for four
/// corners that are rounded alike, with the line inside, if any.
pub fn add(shape: &RectShape, edge: Edge, mesh: &mut Mesh) -> bool {
    let Some(outline) = Outline::of(shape, edge) else {
        return false;
    };
    let (fill, line) = (shape.fill, shape.stroke);
    let half = edge.soft / 2.0;
    let clear = Color32::TRANSPARENT;
    let rings: &[(f32, Color32)] = if line.is_empty() {
        &[(half, clear), (-half, fill)]
    } else {
        &[
            (half, clear),
            (-half, line.color),
            (half - line.width, line.color),
            (-half - line.width, fill),
        ]
    };
    let count = outline.points.len() as u32;
    let first = mesh.vertices.len() as u32;
    for (off, colour) in rings {
        for (middle, way) in &outline.points {
            mesh.colored_vertex(*middle + *way * (outline.radius + off), *colour);
        }
    }
    for ring in 0..rings.len() as u32 - 1 {
        let (outer, inner) = (first + ring * count, first + (ring + 1) * count);
        for at in 0..count {
            let next = (at + 1) % count;
            mesh.add_triangle(outer + at, outer + next, inner + at);
            mesh.add_triangle(inner + at, outer + next, inner + next);
        }
    }
    if fill != clear {
        add_ground(first + (rings.len() as u32 - 1) * count, count, mesh);
    }
    true
}

/// The area within the innermost ring, which has `count` points from `first` on.
fn add_ground(first: u32, count: u32, mesh: &mut Mesh) {
    let quarter = count / 4;
    // Lower right, lower left, upper left, upper right.
    let corner = |number: u32| first + number * quarter;
    let (right, left) = (corner(3), corner(1));
    mesh.add_triangle(left, left + 2 * quarter - 1, right);
    mesh.add_triangle(left, right, corner(1) - 1);
    for at in 1..2 * quarter - 1 {
        mesh.add_triangle(left, left + at, left + at + 1);
        let on_right = |at: u32| first + (3 * quarter + at) % count;
        mesh.add_triangle(right, on_right(at), on_right(at + 1));
    }
}

impl Outline {
    fn of(shape: &RectShape, edge: Edge) -> Option<Self> {
        const FULLER: f32 = 0.4; // egui makes corners so much rounder.
        let rect = shape.rect.round_to_pixels(edge.pixels);
        let half = rect.size().min_elem() / 2.0;
        let line = shape.stroke;
        let within = line.width + edge.soft;
        let asked = f32::from(shape.corner_radius.nw);
        let radius = (asked + FULLER).min(half);
        let is_plain = shape.corner_radius.is_same()
            && asked > 0.0
            && radius > within
            && half > within + 1.0 / edge.pixels
            && (shape.stroke_kind == StrokeKind::Inside || line.is_empty())
            && shape.round_to_pixels.is_none()
            && shape.brush.is_none()
            && (shape.blur_width, shape.angle) == (0.0, 0.0);
        if !is_plain {
            return None;
        }
        let inner = rect.shrink(radius);
        let steps = arc_steps(radius * edge.pixels, 90.0);
        let corners = [
            (inner.right_bottom(), 90.0),
            (inner.left_bottom(), 180.0),
            (inner.left_top(), 270.0),
            (inner.right_top(), 0.0),
        ];
        let points = corners
            .into_iter()
            .flat_map(|(middle, from)| {
                (0..=steps).map(move |at| {
                    let deg = from + 90.0 * at as f32 / steps as f32;
                    (middle, on_circle(Pos2::ZERO, 1.0, deg).to_vec2())
                })
            })
            .collect();
        Some(Self { points, radius })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::f32::consts::TAU;

    use egui::epaint::{TessellationOptions, Tessellator};
    use egui::{CornerRadius, Rect, Shape, Stroke, pos2, vec2};

    use super::*;

    const EDGE: Edge = Edge {
        pixels: 1.0,
        soft: 1.0,
    };

    fn area(mesh: &Mesh, of: Color32) -> f32 {
        let corners = |ids: &[u32]| [0, 1, 2].map(|i| mesh.vertices[ids[i] as usize]);
        let triangles = mesh.indices.chunks_exact(3).map(corners);
        triangles
            .filter(|t| t.iter().all(|v| v.color == of))
            .map(|[a, b, c]| {
                let (ab, ac) = (b.pos - a.pos, c.pos - a.pos);
                (ab.x * ac.y - ab.y * ac.x).abs() / 2.0
            })
            .sum()
    }

    fn shape(size: Vec2, radius: u8, line: f32) -> RectShape {
        let rect = Rect::from_min_size(pos2(7.0, 9.0), size);
        let stroke = Stroke::new(line, Color32::RED);
        let corners = CornerRadius::same(radius);
        RectShape::new(rect, corners, Color32::BLUE, stroke, StrokeKind::Inside)
    }

    /// What egui makes of the same shape covers as much, but for the fifth of a pixel that
    /// a corner may be off.
    #[test]
    fn a_rounded_rectangle_covers_what_egui_would_cover() {
        for (size, radius, line) in [
            (vec2(300.0, 70.0), 10, 2.0),
            (vec2(60.0, 500.0), 14, 3.0),
            (vec2(90.0, 40.0), 20, 0.0),
            (vec2(40.0, 40.0), 99, 4.0),
        ] {
            let shape = shape(size, radius, line);
            let mut ours = Mesh::default();
            assert!(add(&shape, EDGE, &mut ours));
            assert!(ours.is_valid());
            let mut theirs = Mesh::default();
            let options = TessellationOptions::default();
            let mut tessellator = Tessellator::new(1.0, options, [1, 1], Vec::new());
            tessellator.tessellate_shape(Shape::Rect(shape), &mut theirs);
            let off = 0.2 * TAU * f32::from(radius).min(size.min_elem() / 2.0);
            for colour in [Color32::BLUE, Color32::RED] {
                let (a, b) = (area(&ours, colour), area(&theirs, colour));
                assert!((a - b).abs() <= off, "{size} {radius} {line}: {a} {b}");
            }
            let bounds = ours.calc_bounds();
            assert!((bounds.min - theirs.calc_bounds().min).length() < 0.3);
            assert!((bounds.max - theirs.calc_bounds().max).length() < 0.3);
            assert!(ours.vertices.len() <= theirs.vertices.len());
        }
    }

    #[test]
    fn other_rectangles_are_left_to_egui() {
        let mut mesh = Mesh::default();
        let sharp = shape(vec2(50.0, 50.0), 0, 1.0);
        let thin = shape(vec2(50.0, 4.0), 9, 2.0);
        let mut outside = shape(vec2(50.0, 50.0), 9, 2.0);
        outside.stroke_kind = StrokeKind::Outside;
        for shape in [sharp, thin, outside] {
            assert!(!add(&shape, EDGE, &mut mesh));
        }
        assert!(mesh.is_empty());
    }
}
