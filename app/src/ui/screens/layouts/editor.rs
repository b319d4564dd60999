//! One layout in the making: its fields, its drawing, what is amiss, and saving it.

use egui::{Rect, Ui, pos2};

use super::form::{EditorPart, FormState, sentence};
use super::preview::Preview;
use super::read::{ReadLayout, read};
use super::text::LayoutText;
use crate::data::layouts::LayoutMade;
use crate::data::own_layouts::stem_of;
use crate::data::written::Kind;
use crate::ui::first_use::FirstUse;
use crate::ui::intent::{Intent, KeptBy};
use crate::ui::screens::{first_use, frame, layout_made, notice};
use crate::ui::theme::{GAP, TARGET, Theme, Type};
use crate::ui::view::View;
use crate::ui::widgets::big_bar::BigBar;
use crate::ui::widgets::button::{Button, button_row};
use crate::ui::widgets::list_row::ListRow;
use crate::ui::widgets::text_field::TextField;
use crate::ui::widgets::{note, paint};

/// How many faults are listed before all are asked for.
const FAULTS_SHOWN: usize = 2;

/// A layout in the making.
pub struct Editor {
    text: LayoutText,
    /// As it was when it was opened.
    was: LayoutText,
    reading: ReadLayout,
    /// The file name of an own layout that is being changed.
    own_stem: Option<String>,
    form: FormState,
    preview: Preview,
    is_leaving: bool,
    shows_all: bool,
    sent_as: Option<String>,
    /// Who made what is being changed.
    made: Option<LayoutMade>,
    /// Who keeps it, as typed.
    who: String,
}

/// Whether the editor stays.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stay {
    /// It does.
    Here,
    /// The person has left it.
    Leave,
}

impl Editor {
    /// A new layout, from a text.
    pub fn new(text: LayoutText) -> Self {
        Self {
            reading: read(&text),
            was: text.clone(),
            text,
            own_stem: None,
            form: FormState::default(),
            preview: Preview::default(),
            is_leaving: false,
            shows_all: false,
            sent_as: None,
            made: None,
            who: String::new(),
        }
    }

    /// It takes the place of one that somebody made.
    pub fn in_place_of(mut self, made: Option<LayoutMade>) -> Self {
        self.made = made;
        self
    }

    /// An own layout to be changed in its file.
    pub fn of_own(text: LayoutText, stem: String) -> Self {
        Self {
            own_stem: Some(stem),
            ..Self::new(text)
        }
    }

    fn is_changed(&self) -> bool {
        self.text != self.was
    }

    /// The person wants back. What is not saved is asked about first.
    pub fn leave(&mut self) -> Stay {
        if self.is_changed() {
            self.is_leaving = true;
            Stay::Here
        } else {
            Stay::Leave
        }
    }

    /// The file name that it is kept under, its ending left out.
    pub fn stem(&self, v: &View<'_>) -> String {
        if let Some(stem) = &self.own_stem {
            return stem.clone();
        }
        let stem = stem_of(&self.text.name);
        let is_taken = |stem: &str| {
            let shipped_or_own =
                v.library.find(stem).is_some() || v.library.find(&format!("own/{stem}")).is_some();
            let file = format!("{stem}.json");
            let faulty = |path: &std::path::Path| path.file_name().is_some_and(|f| *f == *file);
            let mut replaced = v.library.replaced.iter();
            let is_replaced = replaced.any(|entry| entry.key == format!("own/{stem}"));
            is_replaced || shipped_or_own || v.library.faulty.iter().any(|f| faulty(f.path()))
        };
        let numbered = (2..1_000).map(|n| format!("{stem}-{n}"));
        std::iter::once(stem.clone())
            .chain(numbered)
            .find(|s| !is_taken(s))
            .unwrap_or(stem)
    }

    /// Draws it.
    pub fn ui(&mut self, ui: &mut Ui, rest: Rect, v: &View<'_>, out: &mut Vec<Intent>) -> Stay {
        let before = self.text.clone();
        let (fields, side) = frame::halves(ui, rest);
        let stay = self.fields(ui, fields, v);
        let foot = self.foot_height(ui, v, side.width());
        let foot_top = (side.bottom() - foot).max(side.top());
        let above = Rect::from_min_max(side.min, pos2(side.right(), foot_top - GAP));
        let below = Rect::from_min_max(pos2(side.left(), foot_top), side.max);
        self.side(ui, above, v, out);
        self.foot(ui, below, v, out);
        if self.text != before {
            // The other parts of the screen show it at once, not with the next tap.
            self.reading = read(&self.text);
            ui.ctx().request_repaint();
        }
        stay
    }

    /// The parts to choose from, and the fields of the one that is shown.
    fn fields(&mut self, ui: &mut Ui, rect: Rect, v: &View<'_>) -> Stay {
        let w = v.words;
        let mut area = frame::child(ui, rect, "fields");
        let ui = &mut area;
        let mut stay = Stay::Here;
        if self.is_leaving {
            let c = Theme::of(ui.ctx()).colours;
            note::ui(ui, w.unsaved_work, "", c.open);
            match button_row(ui, &[w.keep_editing, w.throw_away]) {
                Some(0) => self.is_leaving = false,
                Some(_) => stay = Stay::Leave,
                None => {}
            }
        }
        // In a low room the parts scroll away with the fields.
        let is_low = rect.height() < 460.0 * Theme::of(ui.ctx()).scale();
        if !is_low {
            self.parts(ui, v);
        }
        frame::scrolling()
            .id_salt(self.form.part.name(w))
            .show(ui, |ui| {
                ui.spacing_mut().item_spacing.y = GAP;
                if is_low {
                    self.parts(ui, v);
                }
                self.form.ui(ui, v, &self.reading, &mut self.text);
                ui.add_space(TARGET);
            });
        stay
    }

    /// The parts of the form, in one row where they fit.
    fn parts(&mut self, ui: &mut Ui, v: &View<'_>) {
        let names = EditorPart::ALL.map(|part| part.name(v.words));
        let ink = Theme::of(ui.ctx()).colours.ink;
        let widest = names
            .iter()
            .map(|n| paint::text_line(ui, n, Type::Strong, ink, 900.0).size().x + 26.0)
            .fold(TARGET, f32::max);
        let fit = ((ui.available_width() + GAP) / (widest + GAP)) as usize;
        let columns = [5, 3, 2].into_iter().find(|n| *n <= fit).unwrap_or(1);
        let height = (paint::line_height(ui, Type::Strong) + 2.0 * GAP).max(TARGET);
        for row in EditorPart::ALL.chunks(columns) {
            let places = frame::columns(ui, columns, height);
            for (part, place) in row.iter().zip(places) {
                let button = Button::new(part.name(v.words)).chosen(*part == self.form.part);
                if button.at(ui, place).tapped {
                    self.form.part = *part;
                }
            }
        }
    }

    /// What is amiss, and the drawing.
    fn side(&mut self, ui: &mut Ui, rect: Rect, v: &View<'_>, out: &mut Vec<Intent>) {
        let mut area = frame::child(ui, rect, "side");
        frame::scrolling().id_salt("side").show(&mut area, |ui| {
            ui.spacing_mut().item_spacing.y = GAP;
            first_use::ui(ui, v, FirstUse::Editor, out);
            layout_made::ui(ui, v, self.made.as_ref());
            self.faults(ui, v);
            TextField::new(v.words.layout_by, &mut self.who)
                .choices(v.written.of(Kind::Person))
                .ui(ui, v.words);
            self.preview.ui(ui, v, &self.reading.layout);
        });
    }

    fn faults(&mut self, ui: &mut Ui, v: &View<'_>) {
        let w = v.words;
        let c = Theme::of(ui.ctx()).colours;
        if self.reading.is_good() {
            self.shows_all = false;
            note::ui(ui, w.no_faults, "", c.done);
            return;
        }
        let count = self.reading.troubles.len();
        note::ui(ui, &w.n_faults(count), "", c.astray);
        let mut to = None;
        let shown = if self.shows_all { count } else { FAULTS_SHOWN };
        for (i, trouble) in self.reading.troubles.iter().take(shown).enumerate() {
            let title = w.layout_field(&trouble.field);
            let detail = sentence(w, &trouble.what);
            let row = ListRow {
                title: &title,
                detail: &detail,
                leads_on: true,
                ..ListRow::default()
            };
            if ui.push_id(("fault", i), |ui| row.ui(ui)).inner.tapped {
                to = Some(trouble.field.clone());
            }
        }
        if count > shown && Button::new(w.show_all).ui(ui).tapped {
            self.shows_all = true;
        }
        if let Some(field) = to {
            self.form.go_to(&field);
        }
    }

    fn bar<'a>(&self, v: &View<'a>, file: &'a str) -> BigBar<'a> {
        let w = v.words;
        let more = match (self.reading.is_good(), self.is_changed()) {
            (false, _) => w.faults_first,
            (true, false) => w.nothing_changed,
            (true, true) => file,
        };
        let mut bar = BigBar::new(w.save_layout, more);
        bar.least_height = TARGET;
        bar.is_enabled = self.reading.is_good() && self.is_changed();
        bar
    }

    fn file_line(&self, v: &View<'_>) -> String {
        v.words.saved_as(&format!("{}.json", self.stem(v)))
    }

    fn foot_height(&self, ui: &Ui, v: &View<'_>, width: f32) -> f32 {
        let said = notice::height(ui, v, width);
        let file = self.file_line(v);
        let bar = self.bar(v, &file).height(ui, width);
        bar + if said > 0.0 { said + GAP } else { 0.0 }
    }

    /// The message of the desk and the bar that saves.
    fn foot(&mut self, ui: &mut Ui, rect: Rect, v: &View<'_>, out: &mut Vec<Intent>) {
        let mut area = frame::child(ui, rect, "foot");
        notice::ui(&mut area, v);
        let file = self.file_line(v);
        if self.bar(v, &file).ui(&mut area).tapped {
            let stem = self.stem(v);
            self.sent_as = Some(format!("own/{stem}"));
            out.push(Intent::SaveLayout {
                stem,
                layout: Box::new(self.reading.layout.clone()),
                by: KeptBy {
                    who: self.who.clone(),
                    from: self.made.iter().map(|made| made.version.clone()).collect(),
                },
            });
        }
    }

    /// The key in the library under which it was last sent to be saved.
    pub fn sent_as(&self) -> Option<&str> {
        self.sent_as.as_deref()
    }
}
