//! What this program is, and the cautions.

use egui::Ui;

use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::View;

/// Draws the group: whose word comes first, the cautions, the version.
pub fn ui(ui: &mut Ui, v: &View<'_>) {
    let w = v.words;
    frame::line(ui, w.maker_first, Type::Strong, false);
    frame::line(ui, w.no_procedure, Type::Body, false);
    frame::group(ui, w.cautions_word);
    for (caution, more) in w.cautions.iter().zip(w.caution_more) {
        frame::line(ui, caution, Type::Strong, false);
        frame::line(ui, more, Type::Body, true);
    }
    let name = format!("Tray Zero {}", env!("CARGO_PKG_VERSION"));
    frame::group(ui, &name);
    frame::line(ui, w.about_more, Type::Body, true);
    frame::line(ui, env!("CARGO_PKG_LICENSE"), Type::Body, true);
}
