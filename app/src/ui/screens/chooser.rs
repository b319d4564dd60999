//! Choosing a folder, or a file in one, by tapping through folders.

use std::path::PathBuf;

use egui::Ui;

use super::frame;
use crate::ui::intent::Intent;
use crate::ui::theme::{Theme, Type};
use crate::ui::view::{Looked, View};
use crate::ui::widgets::button::{Button, button_row};
use crate::ui::widgets::list_row::ListRow;
use crate::ui::widgets::note;

/// What is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LookFor {
    /// A folder.
    Folder,
    /// A layout's file.
    File,
    /// A picture.
    Picture,
    /// A record.
    Record,
}

/// Whether folders are looked through now.
#[derive(Default)]
pub struct Chooser {
    is_open: bool,
}

impl Chooser {
    /// Draws the button that opens it, or what the folder holds. Gives what was taken.
    pub fn ui(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        now: &str,
        what: LookFor,
        out: &mut Vec<Intent>,
    ) -> Option<String> {
        let w = v.words;
        if !self.is_open {
            let word = match what {
                LookFor::Folder => w.choose_folder,
                LookFor::File => w.choose_file,
                LookFor::Picture => w.choose_picture,
                LookFor::Record => w.open_record,
            };
            if Button::new(word).ui(ui).tapped {
                self.is_open = true;
                out.push(Intent::LookInto(PathBuf::from(now.trim())));
            }
            return None;
        }
        let looked = v.looked?;
        let mut go = None;
        let mut taken = None;
        frame::line(ui, &looked.at.display().to_string(), Type::Strong, false);
        if let Some(fault) = &looked.fault {
            note::ui(ui, fault, "", Theme::of(ui.ctx()).colours.astray);
        }
        let names: &[&str] = match what {
            LookFor::Folder => &[w.take_this_folder, w.cancel],
            LookFor::File | LookFor::Picture | LookFor::Record => &[w.cancel],
        };
        match button_row(ui, names) {
            Some(0) if what == LookFor::Folder => {
                taken = Some(looked.at.display().to_string());
            }
            Some(_) => self.is_open = false,
            None => {}
        }
        if let Some(above) = &looked.above
            && Button::new(w.folder_above).ui(ui).tapped
        {
            go = Some(above.clone());
        }
        for place in &looked.elsewhere {
            if row(ui, &place.display().to_string(), w.folder_word) {
                go = Some(place.clone());
            }
        }
        for name in &looked.folders {
            if row(ui, name, w.folder_word) {
                go = Some(looked.at.join(name));
            }
        }
        taken = taken.or(file(ui, v, looked, what));
        if let Some(folder) = go {
            out.push(Intent::LookInto(folder));
        }
        if taken.is_some() {
            self.is_open = false;
        }
        taken
    }
}

/// The files that may be chosen; gives the one tapped.
fn file(ui: &mut Ui, v: &View<'_>, looked: &Looked, what: LookFor) -> Option<String> {
    let w = v.words;
    let (files, word) = match what {
        LookFor::Folder => (&[][..], ""),
        LookFor::File => (&looked.files[..], w.file_word),
        LookFor::Picture => (&looked.pictures[..], w.picture_word),
        LookFor::Record => (&looked.records[..], w.record_word),
    };
    let mut taken = None;
    for name in files {
        if row(ui, name, word) {
            taken = Some(looked.at.join(name).display().to_string());
        }
    }
    taken
}

fn row(ui: &mut Ui, name: &str, detail: &str) -> bool {
    let row = ListRow {
        title: name,
        detail,
        leads_on: true,
        ..ListRow::default()
    };
    ui.push_id(("folder", name), |ui| row.ui(ui)).inner.tapped
}
