//! The crank as one sees it from the front: every cylinder's top, the next stop, and
//! the arc to turn.

use egui::accesskit::Role;
use egui::{Align2, Pos2, Sense, Shape, Stroke, Ui, Vec2, WidgetInfo, vec2};

use super::paint;
use crate::ui::theme::{Theme, Type};

/// A cylinder's top on the dial.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DialMark {
    /// The cylinder.
    pub cylinder: u8,
    /// Crank angle of its working position, 0 to 720 degrees.
    pub at_deg: f64,
    /// All its valves are verified.
    pub is_done: bool,
}

/// What the dial shows. Angles grow clockwise, as the crank turns seen from its front.
#[derive(Clone, Copy, Debug)]
pub struct CrankDial<'a> {
    /// Cylinders; two may share a place, one on each turn of the cycle.
    pub marks: &'a [DialMark],
    /// Where the crank is, 0 to 720 degrees.
    pub crank_deg: f64,
    /// How far to turn, degrees; negative: back.
    pub turn_deg: Option<f64>,
    /// The line in the middle, such as the degrees to turn.
    pub title: &'a str,
    /// The line under it, such as the way along the rim.
    pub more: &'a str,
    /// What a screen reader says of it.
    pub spoken: &'a str,
}

impl CrankDial<'_> {
    /// Draws it into a square of the given side, at least 200.
    pub fn ui(&self, ui: &mut Ui, side: f32) -> egui::Response {
        let side = side.max(200.0);
        let (rect, response) = ui.allocate_exact_size(Vec2::splat(side), Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::Image, true, self.spoken));
        let c = Theme::of(ui.ctx()).colours;
        let center = rect.center();
        let label = paint::line_height(ui, Type::Title);
        let rim = side / 2.0 - label - 12.0;
        let painter = ui.painter();
        painter.circle_filled(center, rim, c.metal);
        painter.circle_stroke(center, rim, Stroke::new(3.0, c.edge));
        for deg in (0..360).step_by(15) {
            let long = if deg % 90 == 0 { 14.0 } else { 7.0 };
            let ends = [
                paint::on_circle(center, rim - 2.0, deg as f32),
                paint::on_circle(center, rim - long, deg as f32),
            ];
            painter.line_segment(ends, Stroke::new(2.0, c.edge));
        }
        self.paint_turn(ui, center, rim - 30.0);
        self.paint_marks(ui, center, rim, label);
        paint_hand(ui, center, rim, self.crank_deg as f32);
        let hub = (rim * 0.5).min(110.0);
        painter.circle_filled(center, hub, c.card);
        painter.circle_stroke(center, hub, Stroke::new(2.0, c.line));
        let title = paint::text_line(ui, self.title, Type::Bar, c.ink, hub * 1.9);
        let more = paint::text_centred(ui, self.more, Type::Small, c.ink_soft, hub * 1.6);
        let height = title.size().y + more.size().y;
        let top = center - vec2(title.size().x / 2.0, height / 2.0);
        let below = center + vec2(0.0, title.size().y - height / 2.0);
        painter.galley(top, title, c.ink);
        painter.galley(below, more, c.ink_soft);
        response
    }

    /// The arc to turn; a second time round runs further inside.
    fn paint_turn(&self, ui: &Ui, center: Pos2, radius: f32) {
        let Some(turn) = self.turn_deg.filter(|t| t.abs() > 0.5) else {
            return;
        };
        let c = Theme::of(ui.ctx()).colours;
        let stroke = Stroke::new(10.0, c.now_mark);
        let from = self.crank_deg as f32;
        let turn = turn as f32;
        let steps = (turn.abs() / 5.0).ceil().max(2.0) as usize;
        let place = |i: usize| {
            let part = i as f32 / steps as f32;
            let inward = 16.0 * (turn.abs() * part / 360.0);
            paint::on_circle(center, radius - inward, from + turn * part)
        };
        let points: Vec<Pos2> = (0..=steps).map(place).collect();
        let tip = points[steps];
        let back = points[steps - 1];
        ui.painter().line(points, stroke);
        let ahead = (tip - back).normalized();
        let aside = vec2(-ahead.y, ahead.x);
        let arrow = vec![
            tip + ahead * 12.0,
            tip - ahead * 10.0 + aside * 15.0,
            tip - ahead * 10.0 - aside * 15.0,
        ];
        ui.painter()
            .add(Shape::convex_polygon(arrow, c.now_mark, Stroke::NONE));
    }

    fn paint_marks(&self, ui: &Ui, center: Pos2, rim: f32, label: f32) {
        let c = Theme::of(ui.ctx()).colours;
        let goal = self.crank_deg + self.turn_deg.unwrap_or(0.0);
        for mark in self.marks {
            let deg = mark.at_deg as f32;
            let turn = self.turn_deg.is_some();
            let is_goal = turn && angle_between(goal, mark.at_deg, 720.0) < 0.5;
            let tick = paint::on_circle(center, rim, deg);
            if is_goal {
                ui.painter().circle_filled(tick, 9.0, c.now_mark);
            } else if mark.is_done {
                ui.painter().circle_filled(tick, 7.0, c.stages[5]);
            } else {
                ui.painter().circle_filled(tick, 7.0, c.card);
                ui.painter()
                    .circle_stroke(tick, 6.0, Stroke::new(2.0, c.edge));
            }
        }
        for (deg, text, is_goal) in self.labels(goal) {
            let at = paint::on_circle(center, rim + 8.0 + label / 2.0, deg as f32);
            let (step, ink) = if is_goal {
                (Type::Title, c.now_mark)
            } else {
                (Type::Body, c.ink)
            };
            paint::label(ui, at, Align2::CENTER_CENTER, &text, step, ink);
        }
    }

    /// One label a place: the cylinders whose tops fall there, the goal by itself.
    fn labels(&self, goal: f64) -> Vec<(f64, String, bool)> {
        let mut places: Vec<(f64, Vec<&DialMark>)> = Vec::new();
        for mark in self.marks {
            let here =
                |p: &&mut (f64, Vec<&DialMark>)| angle_between(p.0, mark.at_deg, 360.0) < 4.0;
            match places.iter_mut().find(here) {
                Some(place) => place.1.push(mark),
                None => places.push((mark.at_deg, vec![mark])),
            }
        }
        places
            .into_iter()
            .map(|(deg, marks)| {
                let is_goal = |m: &&&DialMark| {
                    self.turn_deg.is_some() && angle_between(goal, m.at_deg, 720.0) < 0.5
                };
                if let Some(mark) = marks.iter().find(is_goal) {
                    return (deg, mark.cylinder.to_string(), true);
                }
                let names: Vec<String> = marks.iter().map(|m| m.cylinder.to_string()).collect();
                (deg, names.join(" · "), false)
            })
            .collect()
    }
}

fn angle_between(a: f64, b: f64, turn: f64) -> f64 {
    let off = (a - b).rem_euclid(turn);
    off.min(turn - off)
}

/// The crank's throw: a web from the middle to its pin.
fn paint_hand(ui: &Ui, center: Pos2, rim: f32, deg: f32) {
    let c = Theme::of(ui.ctx()).colours;
    let tip = paint::on_circle(center, rim - 6.0, deg);
    paint::round_line(ui.painter(), vec![center, tip], 14.0, c.ink);
    ui.painter().circle_filled(tip, 12.0, c.ink);
    ui.painter().circle_filled(tip, 5.0, c.card);
}
