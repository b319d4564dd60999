//! A refusal where the finger is, with its way out.

use egui::accesskit::{Live, Role};
use egui::{Area, Id, Order, Pos2, Rect, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2};

use super::{paint, tap};
use crate::theme::{GAP, ROUND_AREA, TARGET, Theme, Type};

/// Why a step was refused and the way out, shown where the finger is.
pub struct RefusalNote<'a> {
    /// The permanent code.
    pub code: &'a str,
    /// Why.
    pub why: &'a str,
    /// The way out.
    pub way_out: &'a str,
}

impl RefusalNote<'_> {
    /// Shows it beside `finger` inside `bounds`; gives whether it was tapped away. The
    /// caller also takes it away at the next tap elsewhere.
    pub fn ui(&self, ui: &Ui, finger: Pos2, bounds: Rect) -> bool {
        let c = Theme::of(ui.ctx()).colours;
        let width = 440.0_f32.min(bounds.width() - 2.0 * GAP);
        let sign = paint::line_height(ui, Type::Strong);
        let left = sign + 4.0 * GAP;
        let room = width - left - 2.0 * GAP;
        let why = paint::text(ui, self.why, Type::Strong, c.ink, room);
        let way = paint::text(ui, self.way_out, Type::Body, c.ink, room);
        let code = paint::text_line(ui, self.code, Type::Small, c.ink_soft, room);
        let text_h = why.size().y + 6.0 + way.size().y + 4.0 + code.size().y;
        let size = vec2(width, (text_h + 4.0 * GAP).max(TARGET));
        let rect = beside(finger, size, bounds);
        let id = Id::unique("refusal note");
        let name = format!("{} {}", self.why, self.way_out);
        let shown = Area::new(id)
            .order(Order::Foreground)
            .fixed_pos(rect.min)
            .constrain(false)
            .interactable(true)
            .fade_in(false)
            .show(ui.ctx(), |ui| {
                let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
                let response = ui.interact(rect, id.with("note"), Sense::click());
                response.widget_info(|| WidgetInfo::labeled(Role::Alert, true, &name));
                ui.ctx().accesskit_node_builder(response.id, |node| {
                    node.set_live(Live::Assertive);
                });
                let tail = tail(finger, rect);
                let edge = Stroke::new(3.0, c.astray.mark);
                let painter = ui.painter().with_clip_rect(bounds);
                painter.rect(
                    rect,
                    f32::from(ROUND_AREA),
                    c.astray.ground,
                    edge,
                    StrokeKind::Inside,
                );
                painter.add(egui::Shape::convex_polygon(
                    tail,
                    c.astray.mark,
                    Stroke::NONE,
                ));
                let at = pos2(
                    rect.left() + left / 2.0,
                    rect.top() + 2.0 * GAP + sign / 2.0,
                );
                paint::caution_sign(ui, at, sign, c.astray.mark, c.astray.ground);
                let mut at = pos2(rect.left() + left, rect.top() + 2.0 * GAP);
                for (galley, gap) in [(why, 6.0), (way, 4.0), (code, 0.0)] {
                    let down = galley.size().y + gap;
                    painter.galley(at, galley, c.ink);
                    at.y += down;
                }
                paint::focus_ring(ui, &response, f32::from(ROUND_AREA));
                tap::taken(ui, response).tapped
            });
        shown.inner
    }
}

/// A place for a note: above the finger so that the hand does not hide it, below where
/// there is no room above, and always inside the bounds.
fn beside(finger: Pos2, size: egui::Vec2, bounds: Rect) -> Rect {
    let off = 44.0;
    let inner = bounds.shrink(GAP);
    let above = finger.y - off - size.y;
    let y = if above >= inner.top() {
        above
    } else {
        finger.y + off
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
