//! A tablet signs with another key: the foreman holds both against the tablet itself.

use egui::Ui;
use trayzero_core::job::Person;

use super::frame;
use crate::shop::KeyConflict;
use crate::ui::intent::{Intent, TypedCode};
use crate::ui::theme::{Theme, Type};
use crate::ui::view::{CrewMember, View};
use crate::ui::widgets::big_bar::BigBar;
use crate::ui::widgets::choice_row::choice_row;
use crate::ui::widgets::code_pad;

/// The fewest digits of a code.
const DIGITS_MIN: usize = 4;
/// Digits of a key that are read together.
const GROUP: usize = 4;
/// Width from which keys and code stand side by side, in points.
const SIDE_BY_SIDE: f32 = 860.0;

/// Who looks, and their code.
#[derive(Default)]
pub struct KeyForm {
    foreman: Option<Person>,
    code: TypedCode,
}

impl KeyForm {
    /// Draws the sheet; true when it is left.
    pub fn ui(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        conflict: &KeyConflict,
        out: &mut Vec<Intent>,
    ) -> bool {
        let w = v.words;
        if frame::head(ui, &conflict.name, w.close) {
            return true;
        }
        super::notice::ui(ui, v);
        if ui.available_width() >= SIDE_BY_SIDE * Theme::of(ui.ctx()).scale() {
            ui.columns(2, |sides| {
                keys(&mut sides[0], v, conflict);
                self.foreman(&mut sides[1], v, conflict, out);
            });
        } else {
            keys(ui, v, conflict);
            self.foreman(ui, v, conflict, out);
        }
        false
    }

    fn foreman(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        conflict: &KeyConflict,
        out: &mut Vec<Intent>,
    ) {
        let w = v.words;
        let foremen: Vec<&CrewMember> = v
            .crew
            .iter()
            .filter(|m| m.is_foreman() && m.has_code)
            .collect();
        if foremen.is_empty() {
            frame::line(ui, w.no_foreman_yet, Type::Strong, false);
            return;
        }
        frame::line(ui, w.which_foreman, Type::Strong, false);
        let names: Vec<String> = foremen.iter().map(|m| m.person.to_string()).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let chosen = foremen
            .iter()
            .position(|m| Some(&m.person) == self.foreman.as_ref());
        if let Some(index) = choice_row(ui, &names, chosen) {
            self.foreman = Some(foremen[index].person.clone());
            self.code = TypedCode::default();
        }
        if let Some(foreman) = self.foreman.clone() {
            self.sign(ui, v, foreman, conflict, out);
        }
    }

    fn sign(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        foreman: Person,
        conflict: &KeyConflict,
        out: &mut Vec<Intent>,
    ) {
        let w = v.words;
        code_pad::labelled(ui, w, w.foreman_code, &foreman.0, &mut self.code.0);
        let is_short = self.code.0.chars().count() < DIGITS_MIN;
        let missing = is_short.then_some(w.enter_foreman_code);
        let bar = BigBar::unless(w.key_is_theirs, &conflict.name, missing);
        if bar.ui(ui).tapped {
            out.push(Intent::AcceptKey {
                tablet: conflict.tablet,
                key: conflict.shown.clone(),
                by: (foreman, std::mem::take(&mut self.code)),
            });
        }
    }
}

/// Both keys, and what hangs on them.
fn keys(ui: &mut Ui, v: &View<'_>, conflict: &KeyConflict) {
    let w = v.words;
    frame::line(ui, w.key_changed_more, Type::Body, false);
    for (name, key) in [
        (w.key_known, &conflict.pinned),
        (w.key_shown, &conflict.shown),
    ] {
        frame::group(ui, name);
        frame::line(ui, &in_groups(key), Type::Title, false);
    }
}

/// A key in groups of four digits, to be held against another.
pub fn in_groups(key: &str) -> String {
    let digits: Vec<char> = key.chars().collect();
    let groups: Vec<String> = digits.chunks(GROUP).map(|g| g.iter().collect()).collect();
    groups.join(" ")
}
