//! The cycle laid out flat: the stops in firing sequence, the crank on it, what is
//! done, where it goes next and how far.

use egui::accesskit::Role;
use egui::{Align2, Pos2, Rect, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::{cached_shapes, paint};
use crate::ui::theme::{Theme, Type};

/// One stop of the cycle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StripStop {
    /// The cylinder.
    pub cylinder: u8,
    /// Crank angle at which it is worked, 0 to 720 degrees.
    pub at_deg: f64,
    /// All its valves are verified.
    pub is_done: bool,
}

/// What the strip shows.
#[derive(Clone, Copy, Debug)]
pub struct CrankStrip<'a> {
    /// The stops, in any order.
    pub stops: &'a [StripStop],
    /// Where the crank is, 0 to 720 degrees, if that is known.
    pub crank_deg: Option<f64>,
    /// Where it goes next: angle from 0 to 720, and whether it turns back to get there.
    pub next: Option<(f64, bool)>,
    /// First line, such as where the crank is.
    pub title: &'a str,
    /// Second line, such as how far it goes next; may be empty.
    pub more: &'a str,
    /// Whether both lines are left out, for low screens; they are spoken still.
    pub is_low: bool,
    /// How far it goes next, in a few signs; shown at the end where the lines are left out.
    pub short: &'a str,
}

impl CrankStrip<'_> {
    /// Height that it takes.
    pub fn height(ui: &Ui) -> f32 {
        let lines = paint::line_height(ui, Type::Strong) + paint::line_height(ui, Type::Body);
        lines + Self::low_height(ui) + 4.0
    }

    /// Height that it takes without its lines.
    pub fn low_height(ui: &Ui) -> f32 {
        paint::line_height(ui, Type::Body) + 46.0
    }

    /// Draws it over the width that is there.
    pub fn ui(&self, ui: &mut Ui) -> egui::Response {
        let height = if self.is_low {
            Self::low_height(ui)
        } else {
            Self::height(ui)
        };
        let size = vec2(ui.available_width(), height);
        let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
        let name = format!("{}. {}", self.title, self.more);
        response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &name));
        let key = self.key(rect);
        cached_shapes::cached_shapes(ui, response.id, key, false, |ui| self.paint(ui, rect));
        response
    }

    /// All that its picture depends on.
    fn key(&self, rect: Rect) -> u64 {
        let deg = |deg: f64| deg.to_bits();
        let stops = self.stops.iter().fold(0, |all, stop| {
            cached_shapes::key((all, stop.cylinder, deg(stop.at_deg), stop.is_done))
        });
        cached_shapes::key((
            cached_shapes::bits(rect),
            stops,
            self.crank_deg.map(deg),
            self.next.map(|(to, is_back)| (deg(to), is_back)),
            (self.title, self.more, self.short, self.is_low),
        ))
    }

    fn paint(&self, ui: &Ui, rect: Rect) {
        let c = Theme::of(ui.ctx()).colours;
        if !self.is_low {
            let title = paint::text_line(ui, self.title, Type::Strong, c.ink, rect.width());
            let more = paint::text_line(ui, self.more, Type::Body, c.ink_soft, rect.width());
            let title_h = title.size().y;
            ui.painter().galley(rect.min, title, c.ink);
            ui.painter()
                .galley(rect.min + vec2(0.0, title_h), more, c.ink_soft);
        }
        if self.is_low {
            let at = rect.right_top();
            let ink = c.now_mark;
            paint::label(ui, at, Align2::RIGHT_TOP, self.short, Type::Strong, ink);
        }
        let line = Rect::from_min_max(pos2(rect.left(), rect.bottom() - 28.0), rect.max);
        self.paint_line(ui, line);
    }

    fn paint_line(&self, ui: &Ui, line: Rect) {
        let c = Theme::of(ui.ctx()).colours;
        let painter = ui.painter();
        let y = line.top();
        let ends = vec![pos2(line.left() + 4.0, y), pos2(line.right() - 4.0, y)];
        paint::round_line(painter, ends, 6.0, c.line);
        if let (Some(from), Some((to, is_back))) = (self.crank_deg, self.next)
            && !near(from, to)
        {
            paint_way(ui, line, from, to, is_back);
        }
        for (i, stop) in self.stops.iter().enumerate() {
            let at = pos2(strip_x(line, stop.at_deg), y);
            let is_here = self.crank_deg.is_some_and(|d| near(d, stop.at_deg));
            let is_next = self.next.is_some_and(|(d, _)| near(d, stop.at_deg)) && !is_here;
            paint_stop(ui, at, *stop, is_next);
            // Two that are worked at one place have their numbers side by side.
            let shares = |other: &&StripStop| near(other.at_deg, stop.at_deg);
            if self.stops[..i].iter().all(|other| !shares(&other)) {
                let here = self.stops.iter().filter(shares);
                let numbers: Vec<String> = here.map(|s| s.cylinder.to_string()).collect();
                let step = if is_here || is_next {
                    Type::Strong
                } else {
                    Type::Body
                };
                let ink = if stop.is_done && !is_here {
                    c.ink_soft
                } else {
                    c.ink
                };
                let above = at - vec2(0.0, 17.0);
                let text = numbers.join(" \u{b7} ");
                paint::label(ui, above, Align2::CENTER_BOTTOM, &text, step, ink);
            }
        }
        if let Some(deg) = self.crank_deg {
            let at = pos2(strip_x(line, deg), y);
            paint_crank(ui, at);
        }
    }
}

fn near(a: f64, b: f64) -> bool {
    let off = (a - b).rem_euclid(720.0);
    off.min(720.0 - off) < 0.5
}

fn paint_stop(ui: &Ui, at: Pos2, stop: StripStop, is_next: bool) {
    let c = Theme::of(ui.ctx()).colours;
    let painter = ui.painter();
    if stop.is_done {
        painter.circle_filled(at, 11.0, c.stages[5]);
        let tick = [[-4.5, 0.5], [-1.0, 4.0], [5.0, -3.5]]
            .iter()
            .map(|p| at + vec2(p[0], p[1]))
            .collect();
        paint::round_line(painter, tick, 3.0, c.done.ground);
    } else if is_next {
        painter.circle_filled(at, 11.0, c.card);
        painter.circle_stroke(at, 10.0, Stroke::new(4.0, c.now_mark));
    } else {
        painter.circle_filled(at, 9.0, c.card);
        painter.circle_stroke(at, 8.0, Stroke::new(3.0, c.edge));
    }
}

/// The crank: a large disc with its pin, seen from the front.
fn paint_crank(ui: &Ui, at: Pos2) {
    let c = Theme::of(ui.ctx()).colours;
    let painter = ui.painter();
    painter.circle_filled(at, 17.0, c.card);
    painter.circle_filled(at, 15.0, c.now.ground);
    painter.circle_filled(at, 5.0, c.now.mark);
}

fn strip_x(line: Rect, deg: f64) -> f32 {
    let inner = line.shrink2(vec2(24.0, 0.0));
    // Half a stop of room at both ends keeps the first stop off the edge.
    inner.left() + inner.width() * ((deg + 30.0) / 780.0) as f32
}

/// The way to the next stop, over the end of the cycle where it must.
fn paint_way(ui: &Ui, line: Rect, from: f64, to: f64, is_back: bool) {
    let c = Theme::of(ui.ctx()).colours;
    let y = line.top() + 20.0;
    let (x0, x1) = (strip_x(line, from), strip_x(line, to));
    let forward = if is_back { -1.0 } else { 1.0 };
    let is_straight = (x1 - x0) * forward > 0.0;
    let parts = if is_straight {
        vec![(x0, x1)]
    } else if is_back {
        vec![(x0, line.left()), (line.right(), x1)]
    } else {
        vec![(x0, line.right()), (line.left(), x1)]
    };
    for (a, b) in parts {
        ui.painter()
            .line_segment([pos2(a, y), pos2(b, y)], Stroke::new(4.0, c.now_mark));
    }
    let tip = pos2(x1, y);
    let arrow = vec![
        tip + vec2(4.0 * forward, 0.0),
        tip + vec2(-10.0 * forward, -8.0),
        tip + vec2(-10.0 * forward, 8.0),
    ];
    ui.painter()
        .add(Shape::convex_polygon(arrow, c.now_mark, Stroke::NONE));
}
