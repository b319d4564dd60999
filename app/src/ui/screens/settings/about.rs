//! What this program is, and the cautions.

use egui::Ui;
use trayzero_core::job::Caution;

use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::View;

/// Draws the group: whose word comes first, the cautions, the version.
pub fn ui(ui: &mut Ui, v: &View<'_>) {
    let w = v.words;
    frame::line(ui, w.maker_first, Type::Strong, false);
    frame::line(ui, w.no_procedure, Type::Body, false);
    frame::group(ui, w.cautions_word);
    for caution in Caution::ALL {
        frame::line(ui, w.caution(caution), Type::Strong, false);
        frame::line(ui, w.caution_more(caution), Type::Body, true);
    }
    let name = format!("Tray Zero {}", env!("CARGO_PKG_VERSION"));
    frame::group(ui, &name);
    frame::line(ui, w.about_more, Type::Body, true);
    frame::line(ui, env!("CARGO_PKG_LICENSE"), Type::Body, true);
}
