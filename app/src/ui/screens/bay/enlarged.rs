//! The engine's picture made larger by two fingers, where valves are small.

use egui::{Sense, Ui, Vec2, WidgetInfo, accesskit::Role};

use crate::ui::view::View;
use crate::ui::widgets::bank_diagram::{self, DiagramTap, DiagramView};
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
    /// How far it is dragged.
    dragged: Vec2,
    /// How far it has to be dragged so that what lies between the fingers stays there.
    to: Option<Vec2>,
}

impl Enlarged {
    /// Whether two fingers have asked for a larger engine.
    pub(super) fn is_wanted(&mut self, ui: &Ui) -> bool {
        let factor = ui.input(egui::InputState::zoom_delta);
        let fingers = ui.input(|i| i.pointer.latest_pos());
        if let Some(at) = fingers.filter(|_| factor != 1.0)
            && ui.rect_contains_pointer(ui.max_rect())
        {
            let was = 1.0 + self.by;
            let now = (was * factor).clamp(1.0, MOST);
            let at = at - ui.max_rect().min;
            self.by = now - 1.0;
            self.dragged = ((self.dragged + at) * (now / was) - at).max(Vec2::ZERO);
            self.to = Some(self.dragged);
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
        // A rubber band knows the size of the frame before, and would pull the picture that has
        // just grown away from under the fingers.
        ui.spacing_mut().scroll.kinetic.rubber_band = false;
        let mut area = egui::ScrollArea::both()
            .id_salt("enlarged")
            .auto_shrink(false);
        if let Some(to) = self.to.take() {
            area = area.scroll_offset(to);
        }
        let shown = area.show(ui, |ui| {
            let large = size * (1.0 + self.by);
            let rect = egui::Rect::from_min_size(ui.cursor().min, large);
            // Under the valves, so that these are tapped where they are.
            let paper = ui.interact(rect, ui.scope_id().with("paper"), Sense::click());
            let name = v.words.whole_engine;
            paper.widget_info(|| WidgetInfo::labeled(Role::Button, true, name));
            let taken = view.ui(ui, v.words, large);
            let is_back = tap::taken(ui, paper).tapped && taken.is_none();
            (taken, is_back)
        });
        let (taken, is_back) = shown.inner;
        self.dragged = shown.state.clamped_offset();
        if is_back {
            *self = Self::default();
            bank_diagram::bring_into_sight(ui);
        }
        taken
    }
}
