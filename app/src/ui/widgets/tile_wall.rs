//! All bays at once: as many tiles as there are, each as large as they let it be. Where
//! they are many, those that need somebody take twice the room.

use egui::{Rect, Sense, Ui, Vec2, pos2, vec2};
use uuid::Uuid;

use super::bay_tile::{BayTile, FIGURE_LEAST, width_least};
use super::memo::{key, memo};
use crate::ui::theme::{GAP, Theme};
use crate::ui::words::{TileFace, Urgency};

/// The largest figure, in points: with one bay alone it would fill the screen.
const FIGURE_MOST: f32 = 132.0;
/// With more bays than this not every number of columns is tried.
const VERY_MANY: usize = 60;
/// A figure to the width of its tile, and to its height, at most.
const FIGURE_WIDTH: f32 = 0.16;
const FIGURE_HEIGHT: f32 = 0.36;
/// For rounding, in points.
const SLACK: f32 = 0.5;
/// With more bays than this those that need somebody take twice the room.
const MANY: usize = 12;

/// All bays.
#[derive(Clone, Copy, Debug)]
pub struct TileWall<'a> {
    /// The tiles, the one that needs somebody most first.
    pub faces: &'a [TileFace],
    /// What each says besides, where there is room; empty where nothing is said.
    pub more: &'a [Vec<String>],
    /// Whether a tap opens a bay.
    pub takes_taps: bool,
}

/// Where everything stands.
#[derive(Clone, Debug)]
struct WallPlan {
    /// From the wall's own left top corner, by tile.
    places: Vec<Rect>,
    figure: f32,
    height: f32,
}

impl TileWall<'_> {
    /// Draws it into the width that is there and, where they fit, a height; gives the job
    /// whose tile was tapped.
    pub fn ui(&self, ui: &mut Ui, height: f32) -> Option<Uuid> {
        let width = ui.available_width();
        let dependent = (self.faces, width.to_bits(), height.to_bits());
        let plan = memo(ui, key(("tile wall", dependent)), || {
            self.plan(ui, vec2(width, height))
        });
        let (rect, _) = ui.allocate_exact_size(vec2(width, plan.height), Sense::hover());
        let mut taken = None;
        for (at, (face, place)) in self.faces.iter().zip(&plan.places).enumerate() {
            let place = place.translate(rect.min.to_vec2());
            if !ui.is_rect_visible(place) && !self.takes_taps {
                continue;
            }
            let more = self.more.get(at).map_or(&[][..], Vec::as_slice);
            let tile = BayTile { face, more };
            if tile.ui(ui, place, plan.figure, self.takes_taps) {
                taken = Some(face.job);
            }
        }
        taken
    }

    /// The largest figure with which all of them fit; where not even the least one serves,
    /// the wall is higher than its place and scrolls.
    fn plan(&self, ui: &Ui, room: Vec2) -> WallPlan {
        let least = FIGURE_LEAST * Theme::of(ui.ctx()).scale();
        let most = ((room.x + GAP) / (width_least(least) + GAP)).floor();
        let most = (most.max(1.0) as usize).min(self.faces.len().max(1) * 2);
        // What each number of columns can come to at best; the most promising first.
        let mut tries: Vec<(usize, f32)> = (1..=most)
            .map(|columns| (columns, figure_bound(room, columns, self.cells(columns))))
            .filter(|(_, bound)| *bound >= least)
            .collect();
        tries.sort_by(|a, b| b.1.total_cmp(&a.1));
        let mut best: Option<WallPlan> = None;
        for (columns, mut figure) in tries {
            while figure >= least && best.as_ref().is_none_or(|best| figure > best.figure) {
                let plan = self.plan_with(ui, room, columns, figure);
                if plan.height <= room.y + SLACK {
                    best = Some(plan);
                    break;
                }
                let next = (figure * 0.9).floor();
                figure = if figure > least { next.max(least) } else { 0.0 };
            }
        }
        best.unwrap_or_else(|| {
            // Of very many the most columns are the lowest anyway.
            let from = if self.faces.len() > VERY_MANY {
                most
            } else {
                1
            };
            let plans = (from..=most).map(|columns| self.plan_with(ui, room, columns, least));
            let lowest = plans.min_by(|a, b| a.height.total_cmp(&b.height));
            lowest.unwrap_or_else(|| self.plan_with(ui, room, most, least))
        })
    }

    /// Cells that all tiles take in so many columns.
    fn cells(&self, columns: usize) -> usize {
        let spans = self.faces.iter().map(|face| self.span(face, columns));
        spans.sum()
    }

    fn span(&self, face: &TileFace, columns: usize) -> usize {
        let is_many = self.faces.len() > MANY && columns >= 4;
        if is_many && face.urgency != Urgency::Calm {
            2
        } else {
            1
        }
    }

    fn plan_with(&self, ui: &Ui, room: Vec2, columns: usize, figure: f32) -> WallPlan {
        let each = (room.x - GAP * (columns as f32 - 1.0)) / columns as f32;
        let span = |face: &TileFace| self.span(face, columns);
        let wide = |face: &TileFace| {
            let cells = span(face) as f32;
            each * cells + GAP * (cells - 1.0)
        };
        // Which row and cell each has, and how high each row is.
        let (mut cells, mut rows): (Vec<(usize, usize)>, Vec<f32>) = (Vec::new(), Vec::new());
        let mut next = columns;
        for face in self.faces {
            if next + span(face) > columns {
                next = 0;
                rows.push(0.0);
            }
            let row = rows.len() - 1;
            cells.push((row, next));
            next += span(face);
            let tile = BayTile { face, more: &[] };
            rows[row] = rows[row].max(tile.height(ui, wide(face), figure));
        }
        let gaps = GAP * (rows.len() as f32 - 1.0).max(0.0);
        let height: f32 = rows.iter().sum::<f32>() + gaps;
        // What is over goes to all rows alike.
        let spare = ((room.y - height) / rows.len().max(1) as f32).max(0.0);
        let mut tops = Vec::with_capacity(rows.len());
        let mut y = 0.0;
        for row in &mut rows {
            *row += spare;
            tops.push(y);
            y += *row + GAP;
        }
        let place = |(face, (row, cell)): (&TileFace, &(usize, usize))| {
            let at = pos2((each + GAP) * *cell as f32, tops[*row]);
            Rect::from_min_size(at, vec2(wide(face), rows[*row]))
        };
        WallPlan {
            places: self.faces.iter().zip(&cells).map(place).collect(),
            figure,
            height: (y - GAP).max(0.0),
        }
    }
}

/// The largest figure that a tile can have in so many columns: its width and the height of
/// a row leave no more.
fn figure_bound(room: Vec2, columns: usize, cells: usize) -> f32 {
    let each = (room.x - GAP * (columns as f32 - 1.0)) / columns as f32;
    let rows = cells.div_ceil(columns).max(1) as f32;
    let high = (room.y + GAP) / rows - GAP;
    (each * FIGURE_WIDTH)
        .min(high * FIGURE_HEIGHT)
        .clamp(0.0, FIGURE_MOST)
        .floor()
}
