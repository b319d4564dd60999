//! Copying everything to a folder, and bringing it back.

use egui::Ui;

use crate::ui::intent::Intent;
use crate::ui::screens::chooser::{Chooser, LookFor};
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::View;
use crate::ui::widgets::button::Button;
use crate::ui::widgets::text_field::TextField;

/// What is typed.
#[derive(Default)]
pub struct BackupForm {
    to: String,
    from: String,
    choose_to: Chooser,
    choose_from: Chooser,
}

impl BackupForm {
    /// Whether a folder is named that nothing was done with yet.
    pub fn is_begun(&self) -> bool {
        is_named(&self.to) || is_named(&self.from)
    }

    /// Draws the group.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let w = v.words;
        TextField::new(w.backup_to, &mut self.to)
            .salt("to")
            .ui(ui, w);
        ui.push_id("choose to", |ui| {
            let taken = self.choose_to.ui(ui, v, &self.to, LookFor::Folder, out);
            self.to = taken.unwrap_or_else(|| std::mem::take(&mut self.to));
        });
        let backup = Button::new(w.backup_now).wants(w.name_a_folder, !is_named(&self.to));
        if backup.ui(ui).tapped {
            out.push(Intent::Backup(self.to.trim().to_owned()));
        }
        TextField::new(w.restore_from, &mut self.from)
            .salt("from")
            .ui(ui, w);
        ui.push_id("choose from", |ui| {
            let taken = self.choose_from.ui(ui, v, &self.from, LookFor::Folder, out);
            self.from = taken.unwrap_or_else(|| std::mem::take(&mut self.from));
        });
        frame::line(ui, w.restore_more, Type::Body, true);
        let restore = Button::new(w.restore_word).wants(w.name_a_folder, !is_named(&self.from));
        if restore.ui(ui).tapped {
            out.push(Intent::Restore(self.from.trim().to_owned()));
        }
    }
}

fn is_named(path: &str) -> bool {
    !path.trim().is_empty()
}
