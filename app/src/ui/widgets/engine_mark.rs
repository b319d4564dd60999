//! A small picture of an engine: its banks with their cylinders, to be known at a glance.

use egui::{Rect, Stroke, StrokeKind, Ui, pos2, vec2};
use trayzero_core::engine::Layout;

use super::cached_shapes;
use crate::ui::theme::Theme;

/// A layout's picture.
pub struct EngineMark<'a>(pub &'a Layout);

impl EngineMark<'_> {
    /// Width that it takes, in points.
    pub const WIDTH: f32 = 108.0;

    /// Paints it at the left of a control.
    pub fn at(&self, ui: &Ui, control: Rect) {
        let banks = &self.0.banks;
        let most = banks.iter().map(|bank| bank.cylinders.len()).max();
        let Some(most) = most.filter(|most| *most > 0) else {
            return;
        };
        let room = Rect::from_min_size(
            pos2(control.left() + 12.0, control.center().y - 20.0),
            vec2(Self::WIDTH - 20.0, 40.0),
        );
        let c = Theme::of(ui.ctx()).colours;
        let names: Vec<usize> = banks.iter().map(|bank| bank.cylinders.len()).collect();
        let id = ui
            .scope_id()
            .with(("engine mark", cached_shapes::bits(room), &names));
        cached_shapes::cached_shapes(ui, id, 0, false, |ui| {
            let painter = ui.painter();
            let high = (room.height() / banks.len() as f32).min(20.0);
            let step = (room.width() / most as f32).min(high);
            let top = room.center().y - high * banks.len() as f32 / 2.0;
            for (index, bank) in banks.iter().enumerate() {
                let wide = step * bank.cylinders.len() as f32;
                let left = room.center().x - wide / 2.0;
                let row = Rect::from_min_size(
                    pos2(left, top + high * index as f32),
                    vec2(wide, high - 2.0),
                );
                painter.rect(
                    row,
                    3.0,
                    c.paper,
                    Stroke::new(1.5, c.edge),
                    StrokeKind::Inside,
                );
                let radius = (step.min(high) / 2.0 - 3.0).max(1.5);
                for cylinder in 0..bank.cylinders.len() {
                    let x = left + step * (cylinder as f32 + 0.5);
                    painter.circle_filled(pos2(x, row.center().y), radius, c.ink_soft);
                }
            }
        });
    }
}
