//! The crew: who is in it, somebody new, a new code for somebody.

use egui::Ui;
use trayzero_core::job::Person;

use crate::ui::intent::{Intent, TypedCode};
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::view::{Member, View};
use crate::ui::widgets::big_bar::BigBar;
use crate::ui::widgets::button::{Button, button_row};
use crate::ui::widgets::choice_row::{choice_row, tick_row};
use crate::ui::widgets::text_field::TextField;
use crate::ui::widgets::{code_pad, note};

/// The fewest digits of a code.
const DIGITS_MIN: usize = 4;

/// Whose code is being set.
#[derive(Clone, Debug, PartialEq)]
enum Whose {
    /// Somebody new.
    New,
    /// Somebody of the crew.
    Known(Person),
}

/// What is asked for now.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum CrewStep {
    #[default]
    Name,
    Code,
    Again,
    Foreman,
}

/// What is typed and chosen.
#[derive(Default)]
pub struct CrewForm {
    whose: Option<Whose>,
    step: CrewStep,
    name: String,
    is_foreman: bool,
    code: TypedCode,
    again: TypedCode,
    foreman: Option<Person>,
    foreman_code: TypedCode,
}

impl CrewForm {
    /// Draws the group.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        match self.whose.clone() {
            None => self.people(ui, v),
            Some(whose) => {
                self.asking(ui, v, &whose, out);
                if ui
                    .push_id("cancel", |ui| Button::new(v.words.cancel).ui(ui))
                    .inner
                    .tapped
                {
                    *self = Self::default();
                }
            }
        }
    }

    fn people(&mut self, ui: &mut Ui, v: &View<'_>) {
        let w = v.words;
        for member in v.crew {
            let name = member.person.to_string();
            let role = if member.is_foreman {
                w.foreman
            } else {
                w.technician
            };
            let code = if member.has_code {
                w.has_code
            } else {
                w.has_no_code
            };
            frame::line(ui, &name, Type::Strong, false);
            frame::line(ui, &format!("{role} · {code}"), Type::Body, true);
            let text = format!("{} {name}", w.reset_code);
            if has_foreman(v) && Button::new(&text).ui(ui).tapped {
                self.whose = Some(Whose::Known(member.person.clone()));
                self.step = CrewStep::Code;
            }
        }
        if !has_foreman(v) {
            frame::line(ui, w.first_foreman_more, Type::Body, true);
        }
        if Button::new(w.add_person).ui(ui).tapped {
            self.whose = Some(Whose::New);
            self.step = CrewStep::Name;
            self.is_foreman = !has_foreman(v);
        }
    }

    fn asking(&mut self, ui: &mut Ui, v: &View<'_>, whose: &Whose, out: &mut Vec<Intent>) {
        let w = v.words;
        let title = match whose {
            Whose::New => w.add_person.to_owned(),
            Whose::Known(person) => format!("{} {person}", w.reset_code),
        };
        frame::line(ui, &title, Type::Strong, false);
        match self.step {
            CrewStep::Name => self.name(ui, v),
            CrewStep::Code => self.first(ui, v),
            CrewStep::Again => self.second(ui, v, whose, out),
            CrewStep::Foreman => self.agreeing(ui, v, whose, out),
        }
    }

    fn name(&mut self, ui: &mut Ui, v: &View<'_>) {
        let w = v.words;
        TextField::new(w.person_name, &mut self.name)
            .salt("name")
            .ui(ui, w);
        if !has_foreman(v) {
            frame::line(ui, w.first_foreman_more, Type::Body, true);
        } else if tick_row(ui, w.is_a_foreman, self.is_foreman).tapped {
            self.is_foreman = !self.is_foreman;
        }
        let is_named = !self.name.trim().is_empty();
        if Button::new(w.go_on).enabled(is_named).ui(ui).tapped {
            self.step = CrewStep::Code;
        }
    }

    fn first(&mut self, ui: &mut Ui, v: &View<'_>) {
        let w = v.words;
        frame::line(ui, w.new_code, Type::Title, false);
        frame::line(ui, w.code_digits, Type::Body, true);
        code_pad::ui(ui, w, &mut self.code.0);
        let is_long = self.code.0.chars().count() >= DIGITS_MIN;
        if Button::new(w.go_on).enabled(is_long).ui(ui).tapped {
            self.step = CrewStep::Again;
        }
    }

    fn second(&mut self, ui: &mut Ui, v: &View<'_>, whose: &Whose, out: &mut Vec<Intent>) {
        let w = v.words;
        frame::line(ui, w.code_again, Type::Title, false);
        code_pad::ui(ui, w, &mut self.again.0);
        let is_long = self.again.0.chars().count() >= self.code.0.chars().count();
        let differs = is_long && self.again != self.code;
        if differs {
            let c = Theme::of(ui.ctx()).colours;
            note::ui(ui, w.codes_differ, "", c.astray);
            if button_row(ui, &[w.try_again]).is_some() {
                self.code = TypedCode::default();
                self.again = TypedCode::default();
                self.step = CrewStep::Code;
            }
            return;
        }
        let is_same = is_long && !differs;
        if has_foreman(v) {
            if Button::new(w.go_on).enabled(is_same).ui(ui).tapped {
                self.step = CrewStep::Foreman;
            }
            return;
        }
        let mut bar = BigBar::new(w.add_person, self.name.trim());
        bar.is_enabled = is_same;
        if bar.ui(ui).tapped {
            self.send(whose, None, out);
        }
    }

    fn agreeing(&mut self, ui: &mut Ui, v: &View<'_>, whose: &Whose, out: &mut Vec<Intent>) {
        let w = v.words;
        frame::line(ui, w.which_foreman, Type::Title, false);
        let foremen: Vec<&Member> = v.crew.iter().filter(|m| can_agree(m)).collect();
        let names: Vec<String> = foremen.iter().map(|m| m.person.to_string()).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let chosen = foremen
            .iter()
            .position(|m| Some(&m.person) == self.foreman.as_ref());
        if let Some(i) = choice_row(ui, &names, chosen) {
            self.foreman = Some(foremen[i].person.clone());
        }
        let Some(foreman) = self.foreman.clone() else {
            return;
        };
        frame::line(ui, w.foreman_code, Type::Body, true);
        code_pad::ui(ui, w, &mut self.foreman_code.0);
        let mut bar = BigBar::new(w.foreman_agrees, "");
        bar.is_enabled = self.foreman_code.0.chars().count() >= DIGITS_MIN;
        if bar.ui(ui).tapped {
            let code = std::mem::take(&mut self.foreman_code);
            self.send(whose, Some((foreman, code)), out);
        }
    }

    /// Asks for the change. What is typed stays until it was taken.
    fn send(&self, whose: &Whose, by: Option<(Person, TypedCode)>, out: &mut Vec<Intent>) {
        match (whose, by) {
            (Whose::New, by) => out.push(Intent::AddPerson {
                name: self.name.trim().to_owned(),
                is_foreman: self.is_foreman,
                code: self.code.clone(),
                by,
            }),
            (Whose::Known(person), Some(by)) => out.push(Intent::ResetCode {
                person: person.clone(),
                code: self.code.clone(),
                by,
            }),
            (Whose::Known(_), None) => {}
        }
    }
}

fn can_agree(member: &Member) -> bool {
    member.is_foreman && member.has_code
}

fn has_foreman(v: &View<'_>) -> bool {
    v.crew.iter().any(can_agree)
}
