//! The way to the finished jobs, which are not read until somebody asks.

use egui::Ui;

use crate::ui::intent::Intent;
use crate::ui::view::View;
use crate::ui::widgets::button::Button;

/// Draws the button that shows some more of them, as long as there are more.
pub fn more(ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
    let (shown, count) = (v.finished.len(), v.finished_count);
    if shown < count {
        let more = v.words.n_of_m(shown, count);
        let button = Button::new(v.words.show_finished).more(&more);
        if button.ui(ui).tapped {
            out.push(Intent::ShowFinished);
        }
    }
}
