//! A line of a list that a finger may go to.

use egui::{Sense, Ui, pos2, vec2};

use super::{paint, tap};
use crate::ui::theme::{GAP, ROUND, TARGET, Theme, Tint, Type};

/// A line: a title, what goes with it, a figure at the end.
#[derive(Clone, Copy, Debug, Default)]
pub struct ListRow<'a> {
    /// What it is.
    pub title: &'a str,
    /// What goes with it; may be empty.
    pub detail: &'a str,
    /// A figure or a word at the end; may be empty.
    pub end: &'a str,
    /// Tint of the figure at the end, where it means something.
    pub tint: Option<Tint>,
    /// Whether a tap leads somewhere; a line that leads nowhere takes none.
    pub leads_on: bool,
    /// Whether it is the one being shown.
    pub is_chosen: bool,
}

impl ListRow<'_> {
    /// Draws it over the width that is there.
    pub fn ui(&self, ui: &mut Ui) -> tap::Tapped {
        let c = Theme::of(ui.ctx()).colours;
        let width = ui.available_width();
        let pad = 2.0 * GAP;
        let arrow = if self.leads_on { 24.0 } else { 0.0 };
        let end_ink = self.tint.map_or(c.ink, |t| t.mark);
        let end = paint::text_line(ui, self.end, Type::Strong, end_ink, width * 0.5);
        let end_w = if self.end.is_empty() {
            0.0
        } else {
            end.size().x + 3.0 * GAP
        };
        let room = width - 2.0 * pad - arrow - end_w;
        let title = paint::text(ui, self.title, Type::Strong, c.ink, room);
        let has_detail = !self.detail.is_empty();
        let detail =
            has_detail.then(|| paint::text(ui, self.detail, Type::Small, c.ink_soft, room));
        let text_h = title.size().y + detail.as_ref().map_or(0.0, |d| d.size().y + 2.0);
        let height = (text_h + 2.0 * GAP).max(TARGET);
        let (rect, place) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
        let id = place.id.with("list row");
        let tapped = tap::area(ui, rect, id, &self.name(), self.leads_on);
        if paint::is_pressed(&tapped.response) {
            ui.painter().rect_filled(rect, f32::from(ROUND), c.pressed);
        } else if self.is_chosen {
            ui.painter().rect_filled(rect, f32::from(ROUND), c.card);
            let bar = egui::Rect::from_min_size(rect.min, vec2(6.0, rect.height()));
            ui.painter().rect_filled(bar, 3.0, c.now_mark);
        }
        let at = pos2(rect.left() + pad, rect.center().y - text_h / 2.0);
        let below = at + vec2(0.0, title.size().y + 2.0);
        ui.painter().galley(at, title, c.ink);
        if let Some(detail) = detail {
            ui.painter().galley(below, detail, c.ink_soft);
        }
        let right = rect.right() - pad - arrow;
        if !self.end.is_empty() {
            let min = pos2(right - end.size().x, rect.center().y - end.size().y / 2.0);
            if let Some(tint) = self.tint {
                let pill = egui::Rect::from_min_size(min, end.size()).expand2(vec2(10.0, 4.0));
                ui.painter()
                    .rect_filled(pill, pill.height() / 2.0, tint.ground);
            }
            ui.painter().galley(min, end, end_ink);
        }
        if self.leads_on {
            let tip = pos2(rect.right() - pad, rect.center().y);
            let points = vec![tip + vec2(-8.0, -8.0), tip, tip + vec2(-8.0, 8.0)];
            paint::round_line(ui.painter(), points, 3.0, c.edge);
        }
        paint::focus_ring(ui, &tapped.response, f32::from(ROUND));
        tapped
    }

    fn name(&self) -> String {
        [self.title, self.detail, self.end]
            .into_iter()
            .filter(|part| !part.is_empty())
            .collect::<Vec<_>>()
            .join(", ")
    }
}
