//! Handing a record on: to a folder or a stick, to another program, to a printer.

use std::path::PathBuf;

use egui::Ui;

use crate::ui::intent::Intent;
use crate::ui::screens::chooser::{Chooser, LookFor};
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::view::{RecordView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::note;

/// What the screen keeps of it.
#[derive(Default)]
pub struct HandOnForm {
    folder: Chooser,
}

impl HandOnForm {
    /// Draws it.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, record: &RecordView, out: &mut Vec<Intent>) {
        let w = v.words;
        let is_free = !record.is_being_handed_on;
        if !is_free {
            note::ui(ui, w.being_handed_on, "", Theme::of(ui.ctx()).colours.now);
        }
        frame::line(ui, &record.path.display().to_string(), Type::Body, true);
        frame::group(ui, w.to_a_folder);
        let folder = self.folder.ui(ui, v, "", LookFor::Folder, out);
        if let Some(folder) = folder.filter(|_| is_free) {
            out.push(Intent::WriteRecordTo(PathBuf::from(folder)));
        }
        frame::group(ui, w.to_a_program);
        if Button::new(w.show_elsewhere).enabled(is_free).ui(ui).tapped {
            out.push(Intent::ShowRecord);
        }
        frame::group(ui, w.to_a_printer);
        match &record.printers {
            None => {
                if Button::new(w.look_for_printers)
                    .enabled(is_free)
                    .ui(ui)
                    .tapped
                {
                    out.push(Intent::AskPrinters);
                }
            }
            Some(Err(why)) => note::ui(ui, why, w.no_printer_way, Theme::of(ui.ctx()).colours.open),
            Some(Ok(printers)) if printers.is_empty() => {
                frame::line(ui, w.no_printer, Type::Strong, false);
                frame::line(ui, w.no_printer_way, Type::Body, true);
            }
            Some(Ok(printers)) => {
                for printer in printers {
                    let text = w.print_on(printer);
                    if Button::new(&text).enabled(is_free).ui(ui).tapped {
                        out.push(Intent::PrintRecord(printer.clone()));
                    }
                }
            }
        }
    }
}
