//! The firing order as a ring: one cycle of 720 degrees, the first at the top.

use egui::accesskit::Role;
use egui::{Align2, Sense, Shape, Stroke, Ui, Vec2, WidgetInfo};

use super::paint;
use crate::ui::theme::{Theme, Type};

/// What the ring shows.
#[derive(Clone, Copy, Debug)]
pub struct FiringRing<'a> {
    /// Cylinders in firing order.
    pub order: &'a [u8],
    /// Degrees of crank from each to the next; even where absent or of another length.
    pub intervals_deg: Option<&'a [f64]>,
    /// Cylinders that are amiss: named twice, or in no bank.
    pub amiss: &'a [u8],
    /// The line in the middle.
    pub title: &'a str,
}

impl FiringRing<'_> {
    /// Draws it into a square of the given side, at least 160.
    pub fn ui(&self, ui: &mut Ui, side: f32) -> egui::Response {
        let side = side.max(160.0);
        let (rect, response) = ui.allocate_exact_size(Vec2::splat(side), Sense::hover());
        let names: Vec<String> = self.order.iter().map(u8::to_string).collect();
        let name = format!("{}: {}", self.title, names.join(" "));
        response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &name));
        let c = Theme::of(ui.ctx()).colours;
        let center = rect.center();
        let disc = paint::line_height(ui, Type::Strong) * 0.72;
        let radius = side / 2.0 - disc - 4.0;
        let painter = ui.painter();
        let total = self.total();
        let mut starts = Vec::with_capacity(self.order.len());
        let mut deg = 0.0_f32;
        for i in 0..self.order.len() {
            let step = (self.interval(i) / total * 360.0) as f32;
            starts.push(deg);
            let tint = if step < 0.5 { c.astray.mark } else { c.edge };
            let arc = paint::arc(center, radius, deg, deg + step);
            painter.line(arc, Stroke::new(4.0, tint));
            paint_arrow(ui, center, radius, deg + step / 2.0, tint);
            deg += step;
        }
        for (i, (cylinder, start)) in self.order.iter().zip(starts).enumerate() {
            let at = paint::on_circle(center, radius, start);
            let is_amiss = self.amiss.contains(cylinder);
            let (ground, ink) = if is_amiss {
                (c.astray.ground, c.astray.mark)
            } else if i == 0 {
                (c.now.ground, c.now.mark)
            } else {
                (c.card, c.ink)
            };
            painter.circle_filled(at, disc + 3.0, c.paper);
            painter.circle_filled(at, disc, ground);
            let rim = if is_amiss {
                Stroke::new(5.0, c.astray.mark)
            } else {
                Stroke::new(2.0, c.edge)
            };
            painter.circle_stroke(at, disc - 1.0, rim);
            let text = cylinder.to_string();
            paint::label(ui, at, Align2::CENTER_CENTER, &text, Type::Strong, ink);
        }
        let galley = paint::text_centred(ui, self.title, Type::Small, c.ink, radius * 1.3);
        let at = center - egui::vec2(0.0, galley.size().y / 2.0);
        painter.galley(at, galley, c.ink);
        response
    }

    fn even(&self) -> f64 {
        720.0 / self.order.len().max(1) as f64
    }

    fn interval(&self, i: usize) -> f64 {
        self.intervals_deg
            .filter(|all| all.len() == self.order.len())
            .and_then(|all| all.get(i))
            .copied()
            .filter(|deg| deg.is_finite() && *deg >= 0.0)
            .unwrap_or_else(|| self.even())
    }

    fn total(&self) -> f64 {
        let sum: f64 = (0..self.order.len()).map(|i| self.interval(i)).sum();
        sum.max(1.0)
    }
}

/// An arrow on the ring, in the running direction.
fn paint_arrow(ui: &Ui, center: egui::Pos2, radius: f32, deg: f32, tint: egui::Color32) {
    let tip = paint::on_circle(center, radius, deg + 3.0);
    let back = paint::on_circle(center, radius, deg - 3.0);
    let ahead = (tip - back).normalized();
    let aside = egui::vec2(-ahead.y, ahead.x) * 8.0;
    let arrow = vec![tip + ahead * 6.0, back + aside, back - aside];
    ui.painter()
        .add(Shape::convex_polygon(arrow, tint, Stroke::NONE));
}
