//! The locked screen: it may be wiped. A long press wakes it.

use egui::{Sense, Ui};

use crate::ui::intent::Intent;
use crate::ui::theme::{Theme, Type};
use crate::ui::view::View;
use crate::ui::widgets::paint;

/// How long the press must last, in seconds.
pub const HOLD_S: f64 = 1.2;

/// How long the finger has been on it.
#[derive(Default)]
pub struct Locked {
    since_s: Option<f64>,
}

impl Locked {
    /// Draws it over everything.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let theme = Theme::of(ui.ctx());
        let rect = ui.max_rect();
        let response = ui.interact(rect, ui.scope_id().with("locked"), Sense::click_and_drag());
        let name = format!("{}: {}", v.words.locked, v.words.hold_to_wake);
        response
            .widget_info(|| egui::WidgetInfo::labeled(egui::accesskit::Role::Button, true, &name));
        ui.painter().rect_filled(rect, 0.0, theme.colours.veil);
        let now = ui.input(|i| i.time);
        let keyboard = response.has_focus() && ui.input(|i| i.key_down(egui::Key::Enter));
        if paint::is_pressed(&response) || keyboard {
            let since = *self.since_s.get_or_insert(now);
            let share = ((now - since) / HOLD_S).clamp(0.0, 1.0) as f32;
            let points = paint::arc(rect.center(), 72.0, 0.0, 360.0 * share.max(0.01));
            paint::round_line(ui.painter(), points, 10.0, theme.colours.now.ground);
            if share >= 1.0 {
                self.since_s = None;
                out.push(Intent::Wake);
            }
            ui.ctx().request_repaint();
        } else {
            self.since_s = None;
        }
        let card = egui::Rect::from_center_size(
            rect.center() + egui::vec2(0.0, 140.0),
            egui::vec2((rect.width() - 40.0).min(560.0), 72.0),
        );
        ui.painter().rect_filled(card, 14.0, theme.colours.card);
        paint::label(
            ui,
            card.center(),
            egui::Align2::CENTER_CENTER,
            v.words.hold_to_wake,
            Type::Title,
            theme.colours.ink,
        );
    }
}
