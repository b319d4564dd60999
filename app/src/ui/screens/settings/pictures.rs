//! Where the tablet's own camera program leaves its pictures.

use std::path::PathBuf;

use egui::Ui;

use super::change;
use crate::ui::intent::Intent;
use crate::ui::screens::chooser::{Chooser, LookFor};
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::View;
use crate::ui::widgets::button::Button;

/// Whether folders are looked through.
#[derive(Default)]
pub struct PicturesForm {
    choose: Chooser,
}

impl PicturesForm {
    /// Draws the group.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let w = v.words;
        let folder = v.settings.pictures_folder.as_ref();
        let now = folder.map_or_else(String::new, |folder| folder.display().to_string());
        let shown = if now.is_empty() { w.none } else { &now };
        frame::line(ui, shown, Type::Strong, false);
        frame::line(ui, w.camera_folder_more, Type::Body, true);
        let chosen = ui.push_id("camera folder", |ui| {
            self.choose.ui(ui, v, &now, LookFor::Folder, out)
        });
        if let Some(chosen) = chosen.inner {
            change(v, out, |s| s.pictures_folder = Some(PathBuf::from(chosen)));
        }
        if folder.is_some() && Button::new(w.no_camera_folder_any_more).ui(ui).tapped {
            change(v, out, |s| s.pictures_folder = None);
        }
    }
}
