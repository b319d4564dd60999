//! Another tablet takes the job: one tap, and no network beyond the shop folder.

use egui::Ui;

use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::View;
use crate::ui::widgets::button::Button;

/// Draws the sheet.
pub fn ui(ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
    let w = v.words;
    if v.tablets.is_empty() {
        frame::line(ui, w.no_other_tablet, Type::Body, false);
    }
    for (id, name) in v.tablets {
        let button = Button::new(name).more(w.hand_over);
        if ui.push_id(id, |ui| button.ui(ui).tapped).inner {
            out.push(Intent::HandOver(*id));
        }
    }
}
