//! Painting the engine's picture.

use egui::{Align2, Color32, Pos2, Rect, Response, Stroke, StrokeKind, Ui, pos2, vec2};
use trayzero_core::engine::Side;
use trayzero_core::job::Stage;

use super::{CylinderPlace, DiagramPlan, DiagramView, Port, Slab, ValvePlace, ValveView};
use crate::ui::theme::{GAP, Theme, Type};
use crate::ui::widgets::paint as strokes;
use crate::ui::widgets::valve_mark::{self, MarkColours};
use crate::ui::words::Words;

impl DiagramView<'_> {
    /// Block, banks, pulley, and the names of sides and banks.
    pub(super) fn paint_engine(&self, ui: &Ui, words: &Words, plan: &DiagramPlan) {
        let c = Theme::of(ui.ctx()).colours;
        let painter = ui.painter();
        painter.rect_filled(plan.block, 10.0, c.line);
        if self.layout.bank_angle_deg >= 150.0 {
            let axis = Stroke::new(2.0, c.edge);
            for ends in axis_of(plan) {
                painter.extend(egui::Shape::dashed_line(&ends, axis, 18.0, 8.0));
            }
        }
        paint_pulley(ui, plan);
        let at = pos2(plan.pulley.right(), plan.pulley.bottom() + 4.0);
        let front = strokes::label(ui, at, Align2::RIGHT_TOP, words.front, Type::Small, c.ink);
        for slab in &plan.slabs {
            paint_ports(ui, plan, slab);
            let edge = Stroke::new(2.0, c.line);
            painter.rect(slab.rect, 16.0, c.metal, edge, StrokeKind::Inside);
            if self.layout.banks.len() > 1 {
                let name = &self.layout.banks[slab.bank].name;
                let half = strokes::line_height(ui, Type::Strong) / 2.0;
                let mut y = slab.rect.center().y;
                // A bank's name keeps clear of the pulley and of the front's name.
                if y > plan.pulley.center().y {
                    y = y.max(front.bottom() + half);
                } else {
                    y = y.min(plan.pulley.top() - 4.0 - half);
                }
                let at = pos2(plan.block.left() - 8.0, y);
                strokes::label(ui, at, Align2::RIGHT_CENTER, name, Type::Strong, c.ink_soft);
            }
        }
        for name in &plan.sides {
            let text = match name.side {
                Side::Intake => words.intake,
                Side::Exhaust => words.exhaust,
            };
            let at = name.rect.center();
            strokes::label(ui, at, Align2::CENTER_CENTER, text, Type::Small, c.ink);
        }
    }

    /// A cylinder's card, with its number and what is on it.
    pub(super) fn paint_cylinder(
        &self,
        ui: &Ui,
        words: &Words,
        place: &CylinderPlace,
        room: Rect,
        response: Option<&Response>,
    ) {
        let c = Theme::of(ui.ctx()).colours;
        let painter = ui.painter();
        let is_at = self.at_cylinder == Some(place.cylinder);
        let is_next = self.next_cylinder == Some(place.cylinder) && !is_at;
        let ground = match response {
            Some(r) if strokes::is_pressed(r) => c.pressed,
            _ => c.card,
        };
        let edge = if is_at {
            Stroke::new(4.0, c.now_mark)
        } else {
            Stroke::new(2.0, c.line)
        };
        painter.rect(place.rect, 12.0, ground, edge, StrokeKind::Inside);
        if is_next {
            let stroke = Stroke::new(3.0, c.now_mark);
            strokes::dashed_rect(painter, place.rect.shrink(2.0), stroke);
        }
        if let Some(response) = response {
            let is_large = !place.is_large && self.large() == Some(place.cylinder);
            if is_large {
                let mark = Stroke::new(4.0, c.ink);
                let y = place.rect.bottom() + 1.0;
                painter.hline(place.rect.shrink(10.0).x_range(), y, mark);
            }
            strokes::focus_ring(ui, response, 12.0);
        }
        if place.is_large {
            paint_large_sides(ui, words, place, room);
        }
        self.paint_number(ui, words, place, is_at, is_next);
    }

    fn paint_number(
        &self,
        ui: &Ui,
        words: &Words,
        place: &CylinderPlace,
        is_at: bool,
        is_next: bool,
    ) {
        let c = Theme::of(ui.ctx()).colours;
        let number = place.cylinder.to_string();
        let height = strokes::line_height(ui, Type::Title);
        let colour = if is_at { c.now.mark } else { c.ink };
        let galley = strokes::text_line(ui, &number, Type::Title, colour, 200.0);
        let pill = vec2(galley.size().x + 16.0, height).max(vec2(height, height));
        let at = place.number;
        if is_at {
            let rect = Rect::from_center_size(at, pill);
            ui.painter().rect_filled(rect, height / 2.0, c.now.ground);
        } else if is_next {
            let rect = Rect::from_center_size(at, pill);
            let stroke = Stroke::new(2.0, c.now_mark);
            ui.painter()
                .rect_stroke(rect, height / 2.0, stroke, StrokeKind::Inside);
        }
        let min = at - galley.size() / 2.0;
        ui.painter().galley(min, galley, colour);
        let (word, tint) = if self.air_cylinder == Some(place.cylinder) {
            (words.air, c.air.mark)
        } else if let Some(word) = self.mark(place.cylinder) {
            (word, c.open.mark)
        } else if is_next {
            (words.next, c.now_mark)
        } else {
            return;
        };
        let galley = strokes::text_line(ui, word, Type::Small, tint, 200.0);
        let is_in_one_row = place.is_large && place.rect.height() < 2.0 * crate::ui::theme::TARGET;
        let room = if is_in_one_row {
            0.0
        } else {
            place.rect.right() - 8.0 - (at.x + pill.x / 2.0 + 6.0)
        };
        if galley.size().x <= room {
            let min = pos2(at.x + pill.x / 2.0 + 6.0, at.y - galley.size().y / 2.0);
            ui.painter().galley(min, galley, tint);
        }
    }

    /// A valve of full size.
    pub(super) fn paint_valve(
        &self,
        ui: &Ui,
        place: &ValvePlace,
        view: ValveView,
        response: Option<&Response>,
    ) {
        let c = Theme::of(ui.ctx()).colours;
        let painter = ui.painter();
        let is_in_hand = self.in_hand == Some(place.valve);
        let is_open = matches!(view.stage, Some(Stage::LocksOut | Stage::SealFitted));
        let full = place.radius;
        // The ring round the valve in hand keeps within its place, off the number.
        let outer = if is_in_hand { full - 6.0 } else { full * 0.88 };
        let radius = if is_open { outer - 6.0 } else { outer };
        let mut colours = MarkColours::of(&c, view.stage);
        if colours.ground == c.card {
            // So is what it lies on.
            colours.ground = Color32::TRANSPARENT;
        }
        if response.is_some_and(strokes::is_pressed) {
            painter.circle_filled(place.center, full, c.pressed);
            colours.ground = c.pressed;
        }
        if is_open {
            painter.circle_filled(place.center, outer - 2.0, colours.ground);
        }
        valve_mark::paint(painter, place.center, radius, view.stage, colours);
        if is_open {
            let stroke = Stroke::new(4.0, c.open.mark);
            painter.circle_stroke(place.center, outer - 2.0, stroke);
        }
        if is_in_hand {
            let stroke = Stroke::new(5.0, c.now_mark);
            painter.circle_stroke(place.center, full - 2.5, stroke);
        }
        let corner = full * 0.72;
        if view.is_astray {
            // The badge stays within the valve's own place.
            let inner = corner.min(full - strokes::BADGE);
            let at = place.center + vec2(inner, -inner);
            strokes::badge(ui, at, "?", c.astray);
        } else if view.has_finding {
            let inner = corner.min(full - strokes::BADGE);
            let at = place.center + vec2(inner, -inner);
            strokes::badge(ui, at, "!", c.open);
        } else if view.has_remark {
            let at = place.center + vec2(corner, -corner);
            painter.circle_filled(at, 7.0, c.card);
            painter.circle_filled(at, 5.0, c.ink);
        }
        if let Some(response) = response {
            strokes::focus_ring(ui, response, full);
        }
    }

    /// A valve of the overview.
    pub(super) fn paint_small_valve(ui: &Ui, place: &ValvePlace, view: ValveView) {
        let c = Theme::of(ui.ctx()).colours;
        valve_mark::paint_small(ui.painter(), place.center, place.radius, view.stage, &c);
        if view.is_astray {
            let at = place.center + vec2(place.radius * 0.7, -place.radius * 0.7);
            ui.painter().circle_filled(at, 6.0, c.astray.mark);
        } else if view.has_finding {
            let at = place.center + vec2(place.radius * 0.7, -place.radius * 0.7);
            ui.painter().circle_filled(at, 6.0, c.open.mark);
        }
    }
}

/// The crank's pulley, seen from above: the sign of the front.
fn paint_pulley(ui: &Ui, plan: &DiagramPlan) {
    let c = Theme::of(ui.ctx()).colours;
    let p = plan.pulley;
    let snout = Rect::from_center_size(pos2(p.right() + 4.0, p.center().y), vec2(12.0, 18.0));
    ui.painter().rect_filled(snout, 2.0, c.edge);
    ui.painter().rect_filled(p, 4.0, c.edge);
    for part in [0.32, 0.68] {
        let x = p.left() + p.width() * part;
        let groove = Stroke::new(2.0, c.paper);
        ui.painter()
            .vline(x, p.shrink2(vec2(0.0, 4.0)).y_range(), groove);
    }
}

/// The line of the crank through a flat engine: on both sides of a name that stands on it.
fn axis_of(plan: &DiagramPlan) -> Vec<[Pos2; 2]> {
    let y = plan.block.center().y;
    let at = |x: f32| pos2(x, y);
    let mut from = plan.block.left();
    let mut parts = Vec::new();
    for name in plan.sides.iter().filter(|n| n.rect.y_range().contains(y)) {
        parts.push([at(from), at(name.rect.left() - GAP)]);
        from = name.rect.right() + GAP;
    }
    parts.push([at(from), at(plan.block.right())]);
    parts
}

/// Stubs of the ports: open ducts on the intake side, round flanges on the other.
fn paint_ports(ui: &Ui, plan: &DiagramPlan, slab: &Slab) {
    let c = Theme::of(ui.ctx()).colours;
    for Port { rect, side } in plan.ports(slab) {
        match side {
            Side::Intake => {
                ui.painter().rect_filled(rect, 0.0, c.metal);
                for edge in [rect.left(), rect.right()] {
                    let stroke = Stroke::new(2.0, c.edge);
                    ui.painter().vline(edge, rect.y_range(), stroke);
                }
            }
            Side::Exhaust => {
                ui.painter().rect_filled(rect, 6.0, c.edge);
            }
        }
    }
}

/// Names of the sides beside the large cylinder, where there is room at its left.
fn paint_large_sides(ui: &Ui, words: &Words, place: &CylinderPlace, room: Rect) {
    if place.rect.height() < 2.0 * crate::ui::theme::TARGET {
        return;
    }
    let c = Theme::of(ui.ctx()).colours;
    let up = if place.intake_up {
        [words.intake, words.exhaust]
    } else {
        [words.exhaust, words.intake]
    };
    let quarter = place.rect.height() / 4.0;
    for (name, y) in up.into_iter().zip([-quarter, quarter]) {
        let galley = strokes::text_line(ui, name, Type::Small, c.ink, 300.0);
        let right = place.rect.left() - 12.0;
        let min = pos2(
            right - galley.size().x,
            place.rect.center().y + y - galley.size().y / 2.0,
        );
        if min.x >= room.left() {
            ui.painter().galley(min, galley, c.ink);
        }
    }
}
