//! A valve as one would see it looking down at it, by the stage it has reached.
//!
//! Six arcs round the rim fill with the stages; the figure in the middle is what the
//! eye meets there: the bare stem tip, the spring closing, the half moons of the
//! locks apart, the ring of the new seal, the half moons together, a tick.

use egui::{Color32, Painter, Pos2, Shape, Stroke, Vec2, pos2, vec2};
use trayzero_core::job::{STAGES, Stage};

use super::paint;
use crate::ui::theme::Colours;

/// One shape of a mark, in units of the mark's radius, the middle at (0, 0), y down.
#[derive(Clone, Debug, PartialEq)]
pub enum MarkShape {
    /// An arc of the rim, clockwise from the top.
    Arc {
        /// Where it begins, degrees.
        from_deg: f32,
        /// Where it ends, degrees.
        to_deg: f32,
        /// Whether its stage is seen.
        full: bool,
    },
    /// A filled disc in the middle.
    Disc {
        /// Its radius.
        radius: f32,
    },
    /// A ring in the middle.
    Ring {
        /// Radius of its middle line.
        radius: f32,
        /// Its breadth.
        width: f32,
    },
    /// A line through points.
    Line {
        /// The points.
        points: Vec<[f32; 2]>,
        /// Its breadth.
        width: f32,
    },
    /// Half a filled disc, its flat side towards the middle.
    HalfMoon {
        /// How far its flat side is from the middle; negative: the left half.
        off: f32,
        /// Its radius.
        radius: f32,
    },
}

const RIM: f32 = 0.86;
const RIM_FULL: f32 = 0.2;
const RIM_BARE: f32 = 0.07;

/// The shapes of a mark.
pub fn shapes(stage: Option<Stage>) -> Vec<MarkShape> {
    let seen = stage.map_or(0, |s| s.index() + 1);
    let mut shapes: Vec<MarkShape> = (0..STAGES)
        .map(|i| MarkShape::Arc {
            from_deg: i as f32 * 60.0 + 5.0,
            to_deg: i as f32 * 60.0 + 55.0,
            full: i < seen,
        })
        .collect();
    shapes.extend(figure(stage));
    shapes
}

/// The figure in the middle of a mark.
pub fn figure(stage: Option<Stage>) -> Vec<MarkShape> {
    let line = |points: &[[f32; 2]], width| MarkShape::Line {
        points: points.to_vec(),
        width,
    };
    match stage {
        None => vec![MarkShape::Ring {
            radius: 0.13,
            width: 0.07,
        }],
        Some(Stage::Positioned) => vec![MarkShape::Disc { radius: 0.22 }],
        Some(Stage::SpringHeld) => vec![
            line(&[[-0.36, -0.42], [0.0, -0.12], [0.36, -0.42]], 0.15),
            line(&[[-0.36, 0.42], [0.0, 0.12], [0.36, 0.42]], 0.15),
        ],
        Some(Stage::LocksOut) => vec![
            MarkShape::HalfMoon {
                off: -0.17,
                radius: 0.36,
            },
            MarkShape::HalfMoon {
                off: 0.17,
                radius: 0.36,
            },
        ],
        Some(Stage::SealFitted) => vec![MarkShape::Ring {
            radius: 0.33,
            width: 0.19,
        }],
        Some(Stage::LocksIn) => vec![
            MarkShape::HalfMoon {
                off: -0.035,
                radius: 0.42,
            },
            MarkShape::HalfMoon {
                off: 0.035,
                radius: 0.42,
            },
        ],
        Some(Stage::Verified) => vec![line(&[[-0.36, 0.04], [-0.1, 0.3], [0.4, -0.3]], 0.2)],
    }
}

/// The three colours that a mark is painted with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MarkColours {
    /// Figure and full arcs.
    pub mark: Color32,
    /// Arcs whose stage is not seen yet.
    pub bare: Color32,
    /// The area inside the rim.
    pub ground: Color32,
}

impl MarkColours {
    /// The colours of a stage in a theme.
    pub fn of(colours: &Colours, stage: Option<Stage>) -> Self {
        Self {
            mark: stage.map_or(colours.edge, |s| colours.stage(s)),
            bare: colours.edge,
            ground: colours.stage_ground(stage),
        }
    }
}

/// Paints a mark of the given radius.
pub fn paint(
    painter: &Painter,
    center: Pos2,
    radius: f32,
    stage: Option<Stage>,
    colours: MarkColours,
) {
    painter.circle_filled(center, radius * RIM, colours.ground);
    for shape in shapes(stage) {
        paint_shape(painter, center, radius, shape, colours);
    }
}

/// Paints the figure of a mark without its rim.
pub fn paint_figure(
    painter: &Painter,
    center: Pos2,
    radius: f32,
    stage: Option<Stage>,
    colours: MarkColours,
) {
    for shape in figure(stage) {
        paint_shape(painter, center, radius, shape, colours);
    }
}

fn paint_shape(
    painter: &Painter,
    center: Pos2,
    radius: f32,
    shape: MarkShape,
    colours: MarkColours,
) {
    let to = |p: Vec2| center + p * radius;
    match shape {
        MarkShape::Arc {
            from_deg,
            to_deg,
            full,
        } => {
            let (width, colour) = if full {
                (radius * RIM_FULL, colours.mark)
            } else {
                ((radius * RIM_BARE).max(1.5), colours.bare)
            };
            let points = paint::arc(center, radius * RIM, from_deg, to_deg);
            painter.line(points, Stroke::new(width, colour));
        }
        MarkShape::Disc { radius: r } => {
            painter.circle_filled(center, r * radius, colours.mark);
        }
        MarkShape::Ring { radius: r, width } => {
            let stroke = Stroke::new((width * radius).max(1.5), colours.mark);
            painter.circle_stroke(center, r * radius, stroke);
        }
        MarkShape::Line { points, width } => {
            let points = points.iter().map(|p| to(vec2(p[0], p[1]))).collect();
            paint::round_line(painter, points, width * radius, colours.mark);
        }
        MarkShape::HalfMoon { off, radius: r } => {
            let points = half_moon(off, r).into_iter().map(to).collect();
            painter.add(Shape::convex_polygon(points, colours.mark, Stroke::NONE));
        }
    }
}

/// The outline of half a disc, in units of a mark's radius.
pub(super) fn half_moon(off: f32, radius: f32) -> Vec<Vec2> {
    const STEPS: usize = 20;
    (0..=STEPS)
        .map(|i| {
            let angle = std::f32::consts::PI * (i as f32 / STEPS as f32 - 0.5);
            let x = off.abs() + radius * angle.cos();
            vec2(x * off.signum(), radius * angle.sin())
        })
        .collect()
}

/// Paints a mark that is too small for a figure: hollow, filling like a clock face, or
/// full; an unlocked valve is a full disc in a ring that stands off.
pub fn paint_small(
    painter: &Painter,
    center: Pos2,
    radius: f32,
    stage: Option<Stage>,
    colours: &Colours,
) {
    let mark = stage.map_or(colours.edge, |s| colours.stage(s));
    let outline = Stroke::new(2.0, mark);
    match stage {
        None => {
            painter.circle_stroke(center, radius - 1.0, outline);
        }
        Some(Stage::LocksOut | Stage::SealFitted) => {
            painter.circle_filled(center, radius, colours.open.ground);
            painter.circle_stroke(center, radius - 1.0, Stroke::new(2.5, colours.open.mark));
            painter.circle_filled(center, radius * 0.5, colours.open.mark);
        }
        Some(Stage::Verified) => {
            painter.circle_filled(center, radius, mark);
            let tick = [[-0.42, 0.04], [-0.1, 0.34], [0.44, -0.3]];
            let points = tick
                .iter()
                .map(|p| pos2(center.x + p[0] * radius, center.y + p[1] * radius))
                .collect();
            // Too small for its ends to be seen round.
            painter.line(points, Stroke::new(radius * 0.26, colours.done.ground));
        }
        Some(other) => {
            painter.circle_stroke(center, radius - 1.0, outline);
            let full = 60.0 * (other.index() + 1) as f32;
            paint::wedge(painter, center, radius * 0.68, 0.0, full, mark);
        }
    }
}
