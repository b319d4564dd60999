//! The engine layouts: those at hand, and the editor that makes and changes the shop's
//! own.

mod editor;
mod form;
mod numbers;
mod preview;
mod read;
mod text;

use egui::{Rect, Ui};
use trayzero_core::engine::Layout;

use super::chooser::{Chooser, LookFor};
use super::frame;
use super::{first_use, layout_made, notice, top};
use crate::data::layouts::{LibraryEntry, Origin};
use crate::ui::first_use::FirstUse;
use crate::ui::intent::Intent;
use crate::ui::theme::{GAP, TARGET, Theme, Type};
use crate::ui::view::View;
use crate::ui::widgets::button::{Button, button_row};
use crate::ui::widgets::list_row::ListRow;
use crate::ui::widgets::note;
use crate::ui::widgets::text_field::TextField;
use editor::{Editor, Stay};
use preview::Preview;
use text::LayoutText;

/// What the screen keeps: the layout that is looked at, the one in the making, what is
/// typed.
#[derive(Default)]
pub struct Layouts {
    chosen: Option<String>,
    read_from: String,
    choose: Chooser,
    write_to: String,
    editor: Option<Editor>,
    preview: Preview,
}

impl Layouts {
    /// Draws the screen.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let mut asked = Vec::new();
        let (rest, _) = top::ui(ui, v, &mut asked);
        let Some(editor) = &mut self.editor else {
            out.append(&mut asked);
            self.library(ui, rest, v, out);
            return;
        };
        let wants_back = !asked.is_empty() && editor.leave() == Stay::Leave;
        if editor.ui(ui, rest, v, out) == Stay::Leave || wants_back {
            self.editor = None;
            ui.ctx().request_repaint();
        }
    }

    /// A layout was kept, read in or written out.
    pub fn after_tap(&mut self) {
        if let Some(editor) = self.editor.take() {
            self.chosen = editor.sent_as().map(str::to_owned);
            self.preview = Preview::default();
        }
        self.read_from.clear();
        self.write_to.clear();
    }

    fn library(&mut self, ui: &mut Ui, rest: Rect, v: &View<'_>, out: &mut Vec<Intent>) {
        let (left, right) = frame::halves(ui, rest);
        self.list(ui, left, v, out);
        self.one(ui, right, v, out);
    }

    /// Every layout, what keeps a file out, and what makes new ones.
    fn list(&mut self, ui: &mut Ui, rect: Rect, v: &View<'_>, out: &mut Vec<Intent>) {
        let w = v.words;
        let c = Theme::of(ui.ctx()).colours;
        let mut area = frame::child(ui, rect, "layouts");
        frame::scrolling().id_salt("layouts").show(&mut area, |ui| {
            ui.spacing_mut().item_spacing.y = GAP;
            notice::ui(ui, v);
            first_use::ui(ui, v, FirstUse::Layouts, out);
            if Button::new(w.new_layout).tint(c.now).ui(ui).tapped {
                let rating = v.settings.lowest_rating_bar();
                let text = LayoutText::template(rating, w.decimal_point);
                self.editor = Some(Editor::new(text));
            }
            if let Some(fault) = &v.library.folder_fault {
                note::ui(ui, &w.error(fault), "", c.astray);
            }
            for fault in &v.library.faulty {
                note::ui(ui, w.file_fault, &w.error(fault), c.astray);
            }
            let shown = self.shown(v).map(|e| e.key.clone());
            for fault in &v.library.unread {
                note::ui(ui, w.layout_unread, &w.error(&**fault), c.astray);
            }
            for entry in &v.library.entries {
                self.row(ui, v, entry, shown.as_ref() == Some(&entry.key));
            }
            removed(ui, v, out);
            frame::group(ui, w.read_in_file);
            TextField::new(w.file_to_read, &mut self.read_from)
                .salt("read from")
                .ui(ui, w);
            let taken = self.choose.ui(ui, v, &self.read_from, LookFor::File, out);
            self.read_from = taken.unwrap_or_else(|| std::mem::take(&mut self.read_from));
            let is_named = !self.read_from.trim().is_empty();
            let read = Button::new(w.read_in_file).wants(w.name_a_file, !is_named);
            if read.ui(ui).tapped {
                out.push(Intent::ImportLayout(self.read_from.clone()));
            }
            ui.add_space(TARGET);
        });
    }

    /// The layout that is looked at; the first at first.
    fn shown<'v>(&self, v: &View<'v>) -> Option<&'v LibraryEntry> {
        let chosen = self.chosen.as_deref().and_then(|key| v.library.find(key));
        chosen.or(v.library.entries.first())
    }

    fn row(&mut self, ui: &mut Ui, v: &View<'_>, entry: &LibraryEntry, is_chosen: bool) {
        let w = v.words;
        let origin = match (&entry.made, &entry.origin) {
            (Some(made), _) => layout_made::line(v, made),
            (None, Origin::Shipped) => w.shipped_layout.to_owned(),
            (None, _) => w.own_layout.to_owned(),
        };
        let layout = &entry.layout;
        let detail = format!(
            "{} · {} · {origin}",
            w.n_cylinders(layout.cylinder_count()),
            w.n_valves(layout.valve_count())
        );
        let row = ListRow {
            title: &layout.name,
            detail: &detail,
            leads_on: true,
            is_chosen,
            ..ListRow::default()
        };
        if ui.push_id(&entry.key, |ui| row.ui(ui)).inner.tapped {
            self.chosen = Some(entry.key.clone());
            self.preview = Preview::default();
        }
    }

    /// The layout that is looked at, and what may be done with it.
    fn one(&mut self, ui: &mut Ui, rect: Rect, v: &View<'_>, out: &mut Vec<Intent>) {
        let Some(entry) = self.shown(v) else {
            return;
        };
        let mut area = frame::child(ui, rect, "layout");
        frame::scrolling().id_salt("layout").show(&mut area, |ui| {
            ui.spacing_mut().item_spacing.y = GAP;
            frame::line(ui, &entry.layout.name, Type::Title, false);
            layout_made::ui(ui, v, entry.made.as_ref());
            self.copy_and_change(ui, v, entry);
            remove(ui, v, entry, out);
            if !entry.layout.note.is_empty() {
                frame::line(ui, &entry.layout.note, Type::Body, true);
            }
            self.preview.ui(ui, v, &entry.layout);
            self.writing(ui, v, &entry.layout, out);
            ui.add_space(TARGET);
        });
    }

    fn copy_and_change(&mut self, ui: &mut Ui, v: &View<'_>, entry: &LibraryEntry) {
        let w = v.words;
        let own = match &entry.origin {
            Origin::Own(path) => path.file_stem().and_then(|s| s.to_str()),
            Origin::Shipped | Origin::Shop(_) => None,
        };
        let text = || LayoutText::of(&entry.layout, w.decimal_point);
        let names: &[&str] = match entry.origin {
            Origin::Shipped => &[w.copy_layout],
            Origin::Own(_) | Origin::Shop(_) => &[w.copy_layout, w.change_layout],
        };
        match (button_row(ui, names), own) {
            (Some(1), own) => {
                let editor = match own {
                    Some(stem) => Editor::of_own(text(), stem.to_owned()),
                    None => Editor::new(text()),
                };
                self.editor = Some(editor.in_place_of(entry.made.clone()));
            }
            (Some(_), _) => {
                let mut copy = text();
                copy.name = w.copy_of(&entry.layout.name);
                self.editor = Some(Editor::new(copy));
            }
            (None, _) => {}
        }
    }

    fn writing(&mut self, ui: &mut Ui, v: &View<'_>, layout: &Layout, out: &mut Vec<Intent>) {
        let w = v.words;
        frame::group(ui, w.write_file);
        TextField::new(w.file_to_write, &mut self.write_to)
            .salt("write to")
            .ui(ui, w);
        let is_named = !self.write_to.trim().is_empty();
        let write = Button::new(w.write_file).wants(w.name_a_file, !is_named);
        if write.ui(ui).tapped {
            out.push(Intent::ExportLayout {
                path: self.write_to.clone(),
                layout: Box::new(layout.clone()),
            });
        }
    }
}

/// A layout that came from another tablet may be removed here; nothing is asked elsewhere.
fn remove(ui: &mut Ui, v: &View<'_>, entry: &LibraryEntry, out: &mut Vec<Intent>) {
    let Some(made) = entry.made.as_ref().filter(|made| !made.is_own) else {
        return;
    };
    let button = Button::new(v.words.layout_remove).more(v.words.layout_remove_more);
    if matches!(entry.origin, Origin::Shop(_)) && button.ui(ui).tapped {
        out.push(Intent::OfferLayout(made.version.clone(), false));
    }
}

/// What was removed here, with the way back.
fn removed(ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
    let w = v.words;
    if v.library.removed.is_empty() {
        return;
    }
    frame::group(ui, w.layouts_removed);
    for entry in &v.library.removed {
        let Some(made) = &entry.made else { continue };
        let says = format!("{} · {}", entry.layout.name, layout_made::line(v, made));
        frame::line(ui, &says, Type::Body, true);
        // What was made here is brought back by reading its file in again.
        let button = Button::new(w.layout_offer).more(&entry.layout.name);
        if !made.is_own && ui.push_id(&entry.key, |ui| button.ui(ui)).inner.tapped {
            out.push(Intent::OfferLayout(made.version.clone(), true));
        }
    }
}
