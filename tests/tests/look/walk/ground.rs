//! What lies under a text: opaque areas in the order of painting.

use std::sync::Arc;

use egui::epaint::{Mesh, Vertex};
use egui::{Color32, Pos2, Rect};

/// An opaque area, with its place in the order of painting.
pub struct Ground {
    pub order: usize,
    pub area: Area,
    /// Its colour; that of a mesh is in its corners.
    pub fill: Color32,
}

pub enum Area {
    Rect(Rect),
    Disc(Pos2, f32),
    Polygon(Vec<Pos2>),
    /// Triangles that are kept from frame to frame, and the part of them in sight.
    Mesh(Arc<Mesh>, Rect),
}

impl Ground {
    /// Whether a rectangle lies on it altogether.
    pub fn covers(&self, rect: Rect) -> bool {
        match &self.area {
            Area::Rect(area) => area.contains_rect(rect),
            Area::Mesh(..) => {
                let corners = [
                    rect.center(),
                    rect.left_top(),
                    rect.right_top(),
                    rect.left_bottom(),
                    rect.right_bottom(),
                ];
                corners.iter().all(|at| self.fill_at(*at).is_some())
            }
            Area::Disc(..) | Area::Polygon(_) => false,
        }
    }

    /// Its colour at a place, if the place lies on it.
    pub fn fill_at(&self, at: Pos2) -> Option<Color32> {
        let holds = match &self.area {
            Area::Rect(area) => area.contains(at),
            Area::Disc(centre, radius) => centre.distance(at) <= *radius,
            Area::Polygon(corners) => within(corners, at),
            Area::Mesh(mesh, bounds) => {
                return bounds.contains(at).then(|| opaque_at(mesh, at)).flatten();
            }
        };
        holds.then_some(self.fill)
    }
}

/// The colour of the last opaque triangle that a place lies on.
fn opaque_at(mesh: &Mesh, at: Pos2) -> Option<Color32> {
    let triangles = mesh.indices.chunks_exact(3).rev();
    let corners = triangles.map(|ids| [0, 1, 2].map(|i| mesh.vertices[ids[i] as usize]));
    corners
        .filter(|corners| corners.iter().all(|v| v.color.a() == 255))
        .find(|corners| on_triangle(corners, at))
        .map(|corners| corners[0].color)
}

/// Whether a place lies on a triangle: on the same side of all its edges.
fn on_triangle(corners: &[Vertex; 3], at: Pos2) -> bool {
    let side = |a: usize, b: usize| {
        let (a, b) = (corners[a].pos, corners[b].pos);
        (b.x - a.x) * (at.y - a.y) - (b.y - a.y) * (at.x - a.x)
    };
    let sides = [side(0, 1), side(1, 2), side(2, 0)];
    // One without any area holds nothing.
    let is_flat = sides.iter().sum::<f32>().abs() < 1e-3;
    !is_flat && (sides.iter().all(|s| *s >= 0.0) || sides.iter().all(|s| *s <= 0.0))
}

/// Whether a place lies within a polygon: a ray from it crosses the outline an odd number
/// of times.
fn within(corners: &[Pos2], at: Pos2) -> bool {
    let ends = corners.iter().zip(corners.iter().cycle().skip(1));
    let crossings = ends.filter(|(a, b)| {
        let is_level = (a.y > at.y) != (b.y > at.y);
        is_level && at.x < a.x + (at.y - a.y) / (b.y - a.y) * (b.x - a.x)
    });
    crossings.count() % 2 == 1
}
