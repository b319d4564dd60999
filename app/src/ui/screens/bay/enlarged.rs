//! The engine's picture made larger by two fingers, where valves are small.

use egui::{Sense, Ui, Vec2, WidgetInfo, accesskit::Role};

use crate::ui::view::View;
use crate::ui::widgets::bank_diagram::{DiagramTap, DiagramView};
use crate::ui::widgets::tap;

/// The picture is never larger than so many times its usual size.
const MOST: f32 = 3.0;
/// Below so many times it springs back.
const LEAST: f32 = 1.15;

/// How large the engine is shown.
#[derive(Default)]
pub(super) struct Enlarged {
    /// By how much more than its usual size; 0 as it is.
    by: f32,
}

impl Enlarged {
    /// Whether two fingers have asked for a larger engine.
    pub(super) fn is_wanted(&mut self, ui: &Ui) -> bool {
        let factor = ui.input(egui::InputState::zoom_delta);
        if factor != 1.0 && ui.rect_contains_pointer(ui.max_rect()) {
            self.by = ((1.0 + self.by) * factor).clamp(1.0, MOST) - 1.0;
            ui.ctx().request_repaint();
        }
        1.0 + self.by >= LEAST
    }

    /// Draws the engine larger. A tap on the paper brings it back.
    pub(super) fn ui(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        view: &DiagramView<'_>,
        size: Vec2,
    ) -> Option<DiagramTap> {
        let area = egui::ScrollArea::both()
            .id_salt("enlarged")
            .auto_shrink(false);
        let shown = area.show(ui, |ui| {
            let large = size * (1.0 + self.by);
            let rect = egui::Rect::from_min_size(ui.cursor().min, large);
            // Under the valves, so that these are tapped where they are.
            let paper = ui.interact(rect, ui.scope_id().with("paper"), Sense::click());
            let name = v.words.whole_engine;
            paper.widget_info(|| WidgetInfo::labeled(Role::Button, true, name));
            let taken = view.ui(ui, v.words, large);
            if tap::taken(ui, paper).tapped && taken.is_none() {
                self.by = 0.0;
            }
            taken
        });
        shown.inner
    }
}
