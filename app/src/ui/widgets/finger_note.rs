//! A note where the finger is: what was refused with its way out, or what was said.

use std::sync::Arc;

use egui::accesskit::{Live, Role};
use egui::{
    Area, Galley, Id, Order, Pos2, Rect, Sense, Stroke, StrokeKind, Ui, Vec2, WidgetInfo, pos2,
    vec2,
};

use super::paint;
use crate::ui::theme::{GAP, ROUND_AREA, TARGET, Theme, Tint, Type};

/// Width of a note at 100 % text, in points.
const WIDTH: f32 = 440.0;
/// How far a note stands off the finger, in points.
const OFF: f32 = 44.0;

/// What is said, shown where the finger is.
pub struct FingerNote<'a> {
    /// What: why a step was refused, say.
    pub what: &'a str,
    /// The way out; may be empty.
    pub way_out: &'a str,
    /// What it means.
    pub tint: Tint,
    /// Whether it bears the sign that says: take care.
    pub has_sign: bool,
}

/// The lines of a note of a width.
struct NotePlan {
    lines: Vec<(Arc<Galley>, f32)>,
    left: f32,
    sign: f32,
    size: Vec2,
}

impl FingerNote<'_> {
    /// Shows it beside `finger` inside `bounds`, over everything. It swallows a tap that
    /// goes to it; the caller takes it away at the next tap, wherever that goes.
    pub fn ui(&self, ui: &Ui, finger: Pos2, bounds: Rect) {
        let plan = self.plan(ui, bounds.size() - Vec2::splat(2.0 * GAP));
        let rect = beside(finger, plan.size, bounds);
        let id = Id::unique("finger note");
        let name = format!("{} {}", self.what, self.way_out);
        Area::new(id)
            .order(Order::Foreground)
            .fixed_pos(rect.min)
            .constrain(false)
            .sense(Sense::hover())
            .fade_in(false)
            .show(ui.ctx(), |ui| {
                let (rect, _) = ui.allocate_exact_size(plan.size, Sense::hover());
                let response = ui.interact(rect, id.with("note"), Sense::click());
                response.widget_info(|| WidgetInfo::labeled(Role::Alert, true, name.trim()));
                ui.ctx().accesskit_node_builder(response.id, |node| {
                    node.set_live(Live::Assertive);
                });
                plan.paint(ui, rect, tail(finger, rect), bounds, self.tint);
                paint::focus_ring(ui, &response, f32::from(ROUND_AREA));
            });
    }

    /// The usual width, or all of the room where that is too high.
    fn plan(&self, ui: &Ui, room: Vec2) -> NotePlan {
        let scale = Theme::of(ui.ctx()).scale();
        let usual = (WIDTH * (1.0 + 0.35 * (scale - 1.0))).min(room.x);
        let plan = self.plan_of(ui, usual);
        if plan.size.y <= room.y {
            plan
        } else {
            self.plan_of(ui, room.x)
        }
    }

    fn plan_of(&self, ui: &Ui, width: f32) -> NotePlan {
        let c = Theme::of(ui.ctx()).colours;
        let sign = if self.has_sign {
            paint::line_height(ui, Type::Strong)
        } else {
            0.0
        };
        let left = if self.has_sign {
            sign + 4.0 * GAP
        } else {
            2.0 * GAP
        };
        let room = width - left - 2.0 * GAP;
        let lines = [
            (self.what, Type::Strong, 6.0),
            (self.way_out, Type::Body, 0.0),
        ];
        let lines: Vec<(Arc<Galley>, f32)> = lines
            .into_iter()
            .filter(|(text, ..)| !text.is_empty())
            .map(|(text, step, gap)| (paint::text(ui, text, step, c.ink, room), gap))
            .collect();
        let height: f32 = lines.iter().map(|(line, gap)| line.size().y + gap).sum();
        NotePlan {
            lines,
            left,
            sign,
            size: vec2(width, (height + 3.0 * GAP).max(TARGET)),
        }
    }
}

impl NotePlan {
    fn paint(self, ui: &Ui, rect: Rect, tail: Vec<Pos2>, bounds: Rect, tint: Tint) {
        let c = Theme::of(ui.ctx()).colours;
        let edge = Stroke::new(3.0, tint.mark);
        let painter = ui.painter().with_clip_rect(bounds);
        painter.rect(
            rect,
            f32::from(ROUND_AREA),
            tint.ground,
            edge,
            StrokeKind::Inside,
        );
        painter.add(egui::Shape::convex_polygon(tail, tint.mark, Stroke::NONE));
        let top = rect.top() + 1.5 * GAP;
        let middle = pos2(rect.left() + self.left / 2.0, top + self.sign / 2.0);
        if self.sign > 0.0 {
            paint::caution_sign(ui, middle, self.sign, tint.mark, tint.ground);
        }
        let mut at = pos2(rect.left() + self.left, top);
        for (line, gap) in self.lines {
            let down = line.size().y + gap;
            painter.galley(at, line, c.ink);
            at.y += down;
        }
    }
}

/// A place for a note: above the finger so that the hand does not hide it, below where
/// there is no room above, and always inside the bounds.
fn beside(finger: Pos2, size: Vec2, bounds: Rect) -> Rect {
    let inner = bounds.shrink(GAP);
    let above = finger.y - OFF - size.y;
    let y = if above >= inner.top() {
        above
    } else {
        finger.y + OFF
    };
    let x = finger.x - size.x / 2.0;
    let x = x.min(inner.right() - size.x).max(inner.left());
    let y = y.min(inner.bottom() - size.y).max(inner.top());
    Rect::from_min_size(pos2(x, y), size)
}

fn tail(finger: Pos2, rect: Rect) -> Vec<Pos2> {
    let x = finger.x.clamp(rect.left() + 28.0, rect.right() - 28.0);
    let (base, tip) = if finger.y > rect.bottom() {
        (rect.bottom() - 1.0, (rect.bottom() + 20.0).min(finger.y))
    } else if finger.y < rect.top() {
        (rect.top() + 1.0, (rect.top() - 20.0).max(finger.y))
    } else {
        (rect.bottom() - 1.0, rect.bottom() - 1.0)
    };
    vec![pos2(x - 14.0, base), pos2(x + 14.0, base), pos2(x, tip)]
}
