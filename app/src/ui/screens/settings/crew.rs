//! The crew: who is in it, somebody new, a new code for somebody.

use std::collections::BTreeSet;

use egui::Ui;
use trayzero_core::job::Person;
use trayzero_core::shop_log::Role;
use uuid::Uuid;

use super::FormFace;
use super::agree::{self, Agree, can_agree};
use crate::ui::intent::{Intent, ShopChange, TypedCode};
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::view::View;
use crate::ui::widgets::big_bar::BigBar;
use crate::ui::widgets::button::{Button, button_row};
use crate::ui::widgets::choice_row::{choice_row, tick_row};
use crate::ui::widgets::text_field::TextField;
use crate::ui::widgets::{code_pad, note};

/// The fewest digits of a new code, and of one where the shop takes short ones.
const DIGITS_MIN: usize = 6;
const SHORT_DIGITS_MIN: usize = 4;

/// The most tablets of the version before that can be ticked; others ask to be admitted.
const TICKED_MAX: usize = 24;

/// Whose code is being set.
#[derive(Clone, Debug, PartialEq)]
enum Whose {
    /// Somebody new.
    New,
    /// Somebody of the crew, whom a foreman gives a new one.
    Known(Person),
    /// The person who is there changes their own.
    Own(Person),
}

impl Whose {
    /// The name; that of somebody new is what stands in the field.
    fn name<'a>(&'a self, new: &'a str) -> &'a str {
        match self {
            Whose::New => new.trim(),
            Whose::Known(person) | Whose::Own(person) => &person.0,
        }
    }
}

/// What is asked for now.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum CrewStep {
    #[default]
    Name,
    Code,
    Again,
    /// Who agrees: a foreman, or with the code until now the person.
    Agreed,
}

/// What is typed and chosen.
#[derive(Default)]
pub struct CrewForm {
    whose: Option<Whose>,
    step: CrewStep,
    name: String,
    role: Option<Role>,
    code: TypedCode,
    again: TypedCode,
    foreman: Option<Person>,
    /// The code of whoever agrees: a foreman's, or one's own until now.
    foreman_code: TypedCode,
    /// Whose role or leaving is looked at.
    looked_at: Option<Person>,
    agree: Option<Agree>,
    is_anew: bool,
    was_said: bool,
    /// The tablets of the version before that are taken over.
    ours: BTreeSet<Uuid>,
}

impl CrewForm {
    /// Whether something is asked for: a name, a code, who agrees.
    pub fn is_asking(&self) -> bool {
        self.whose.is_some() || self.agree.is_some()
    }

    /// What it shows now.
    pub fn face(&self) -> FormFace {
        if self.agree.is_some() {
            FormFace::Agreeing
        } else if self.looked_at.is_some() {
            FormFace::One
        } else if self.whose.is_some() {
            FormFace::Asking
        } else {
            FormFace::List
        }
    }

    /// Whether a name or a code is typed and nothing was asked for with it yet.
    pub fn is_begun(&self) -> bool {
        let is_agreeing = self.agree.as_ref().is_some_and(Agree::is_begun);
        is_agreeing || !self.name.trim().is_empty() || !self.code.0.is_empty()
    }

    /// Draws the group.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        if let Some(agree) = &mut self.agree {
            if agree.ui(ui, v, out) {
                self.agree = None;
            }
            return;
        }
        if let Some(person) = self.looked_at.clone() {
            self.one_person(ui, v, &person);
            return;
        }
        match self.whose.clone() {
            None => {
                self.wants_doing(ui, v, out);
                self.people(ui, v);
                self.short_codes(ui, v);
            }
            Some(whose) => {
                self.asking(ui, v, &whose, out);
                agree::said(ui, v, &mut self.was_said);
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
            let role = w.role(member.role);
            let code = if member.has_code {
                w.has_code
            } else {
                w.has_no_code
            };
            frame::line(ui, &name, Type::Strong, false);
            frame::line(ui, &format!("{role} · {code}"), Type::Body, true);
            let text = format!("{} {name}", w.reset_code);
            if v.membership.is_member && Button::new(&text).ui(ui).tapped {
                self.whose = Some(Whose::Known(member.person.clone()));
                self.step = CrewStep::Code;
            }
            let text = w.role_or_leaving(&name);
            if v.membership.is_member && Button::new(&text).ui(ui).tapped {
                self.looked_at = Some(member.person.clone());
            }
        }
        let m = v.membership;
        if !has_foreman(v) && m.fault.is_none() {
            frame::line(ui, w.first_foreman_more, Type::Body, true);
        }
        let is_settled = m.fault.is_none() && !m.wants_taking_over;
        let can_add = is_settled && (m.is_member || !m.has_shop);
        let add = Button::new(w.add_person).wants(w.above_first, !can_add);
        if add.ui(ui).tapped {
            self.whose = Some(Whose::New);
            self.step = CrewStep::Name;
            self.role = (!has_foreman(v)).then_some(Role::Foreman);
        }
    }

    /// What has to be done before anything else: a crew that does not hold, one of the
    /// version before, a tablet that goes on from a backup.
    fn wants_doing(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let (w, m) = (v.words, v.membership);
        let c = Theme::of(ui.ctx()).colours;
        if let Some(fault) = &m.fault {
            note::ui(ui, w.crew_does_not_hold, &w.error(fault), c.astray);
            if !self.is_anew {
                if Button::new(w.begin_crew_anew).ui(ui).tapped {
                    self.is_anew = true;
                }
                return;
            }
            frame::line(ui, w.begin_crew_anew_more, Type::Body, false);
            match button_row(ui, &[w.cancel, w.set_crew_aside]) {
                Some(0) => self.is_anew = false,
                Some(_) => out.push(Intent::BeginCrewAnew),
                None => {}
            }
        } else if m.wants_taking_over {
            note::ui(ui, w.take_over_crew, w.take_over_crew_more, c.astray);
            let ours = self.ticked(ui, v);
            if Button::new(w.take_over_crew).ui(ui).tapped {
                let more = format!("{} {}", w.take_over_crew_more, w.become_members(&ours));
                let change = ShopChange::TakeOver(self.ours.clone());
                let title = w.take_over_crew.to_owned();
                self.agree = Some(Agree::to(change, title, &more));
            }
        } else if m.is_struck_off {
            note::ui(ui, w.was_struck_off, w.was_struck_off_more, c.astray);
        } else if m.has_shop && !m.is_member {
            note::ui(ui, w.not_a_member, w.not_a_member_more, c.astray);
            if Button::new(w.come_back).ui(ui).tapped {
                self.agree = Some(Agree::to(
                    ShopChange::ComeBack,
                    w.come_back.to_owned(),
                    w.come_back_more,
                ));
            }
        }
    }

    /// The tablets that were met, to be ticked: who is taken over is no matter of who has
    /// put a card into the folder. Gives the names of those that are.
    fn ticked(&mut self, ui: &mut Ui, v: &View<'_>) -> String {
        let tablets = v.tablets.get(..TICKED_MAX).unwrap_or(v.tablets);
        if !tablets.is_empty() {
            frame::line(ui, v.words.tick_your_tablets, Type::Body, false);
        }
        for (id, name) in tablets {
            let is_ours = self.ours.contains(id);
            let row = ui.push_id(id, |ui| tick_row(ui, name, is_ours));
            if row.inner.tapped && !self.ours.remove(id) {
                self.ours.insert(*id);
            }
        }
        let ours = tablets.iter().filter(|(id, _)| self.ours.contains(id));
        let names: Vec<&str> = ours.map(|(_, name)| name.as_str()).collect();
        names.join(", ")
    }

    /// The role of one person, and their leaving.
    fn one_person(&mut self, ui: &mut Ui, v: &View<'_>, person: &Person) {
        let w = v.words;
        let name = person.to_string();
        frame::line(ui, &name, Type::Title, false);
        let now = v.crew.iter().find(|m| m.person == *person).map(|m| m.role);
        let chosen = now.and_then(|now| Role::ALL.iter().position(|role| *role == now));
        let has_code = v.crew.iter().any(|m| m.person == *person && m.has_code);
        let own = Button::new(w.own_code).wants(w.has_no_code, !has_code);
        if own.ui(ui).tapped {
            self.whose = Some(Whose::Own(person.clone()));
            self.step = CrewStep::Code;
            self.looked_at = None;
            return;
        }
        frame::line(ui, w.which_role, Type::Strong, false);
        if let Some(i) = choice_row(ui, &Role::ALL.map(|role| w.role(role)), chosen)
            && Some(i) != chosen
        {
            let title = w.becomes(&name, w.role(Role::ALL[i]));
            let change = ShopChange::Role(person.clone(), Role::ALL[i]);
            self.agree = Some(Agree::to(change, title, w.role_change_more));
            self.looked_at = None;
        }
        ui.add_space(frame::MARGIN);
        let remove = w.remove_person(&name);
        if Button::new(&remove).ui(ui).tapped {
            let change = ShopChange::Remove(person.clone());
            self.agree = Some(Agree::to(change, remove, w.remove_person_more));
            self.looked_at = None;
        }
        let cancel = ui.push_id("cancel", |ui| Button::new(w.cancel).ui(ui));
        if cancel.inner.tapped {
            self.looked_at = None;
        }
    }

    /// Whether the shop takes codes of four digits, and why it had better not.
    fn short_codes(&mut self, ui: &mut Ui, v: &View<'_>) {
        let (w, m) = (v.words, v.membership);
        if !m.is_member {
            return;
        }
        let (now, text, more) = if m.short_codes {
            (w.codes_are_short, w.only_long_codes, w.only_long_codes_more)
        } else {
            (
                w.codes_are_long,
                w.allow_short_codes,
                w.allow_short_codes_more,
            )
        };
        frame::line(ui, now, Type::Body, true);
        if Button::new(text).ui(ui).tapped {
            let change = ShopChange::ShortCodes(!m.short_codes);
            self.agree = Some(Agree::to(change, text.to_owned(), more));
        }
    }

    fn asking(&mut self, ui: &mut Ui, v: &View<'_>, whose: &Whose, out: &mut Vec<Intent>) {
        let w = v.words;
        let title = match whose {
            Whose::New => w.add_person.to_owned(),
            Whose::Known(person) => format!("{} {person}", w.reset_code),
            Whose::Own(person) => format!("{person}: {}", w.own_code),
        };
        frame::line(ui, &title, Type::Strong, false);
        if self.step == CrewStep::Code && matches!(whose, Whose::Own(_)) {
            frame::line(ui, w.own_code_more, Type::Body, false);
        }
        match self.step {
            CrewStep::Name => self.name(ui, v),
            CrewStep::Code => self.first(ui, v, whose),
            CrewStep::Again => self.second(ui, v, whose, out),
            CrewStep::Agreed => self.agreeing(ui, v, whose, out),
        }
    }

    fn name(&mut self, ui: &mut Ui, v: &View<'_>) {
        let w = v.words;
        TextField::new(w.person_name, &mut self.name)
            .salt("name")
            .ui(ui, w);
        if has_foreman(v) {
            frame::line(ui, w.which_role, Type::Strong, false);
            let chosen = Role::ALL.iter().position(|role| Some(*role) == self.role);
            if let Some(i) = choice_row(ui, &Role::ALL.map(|role| w.role(role)), chosen) {
                self.role = Some(Role::ALL[i]);
            }
        } else {
            frame::line(ui, w.first_foreman_more, Type::Body, true);
        }
        let is_named = !self.name.trim().is_empty();
        let is_missing = !is_named || self.role.is_none();
        let missing = if is_named {
            w.choose_role
        } else {
            w.enter_name
        };
        if Button::new(w.go_on)
            .wants(missing, is_missing)
            .ui(ui)
            .tapped
        {
            self.step = CrewStep::Code;
        }
    }

    fn first(&mut self, ui: &mut Ui, v: &View<'_>, whose: &Whose) {
        let w = v.words;
        let (least, digits) = digits(v);
        let room = keys_room(ui, v);
        agree::above_keys(ui, room, |ui| {
            frame::line(ui, w.new_code, Type::Title, false);
            frame::line(ui, digits, Type::Body, true);
        });
        code_pad::ui(ui, w, whose.name(&self.name), &mut self.code.0);
        let is_long = self.code.0.chars().count() >= least;
        let missing = w.enter_at_least(least);
        if Button::new(w.go_on).wants(&missing, !is_long).ui(ui).tapped {
            self.step = CrewStep::Again;
        }
    }

    fn second(&mut self, ui: &mut Ui, v: &View<'_>, whose: &Whose, out: &mut Vec<Intent>) {
        let w = v.words;
        let room = keys_room(ui, v);
        agree::above_keys(ui, room, |ui| {
            frame::line(ui, w.code_again, Type::Title, false);
        });
        code_pad::ui(ui, w, whose.name(&self.name), &mut self.again.0);
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
            let go_on = Button::new(w.go_on).wants(w.enter_code_again, !is_same);
            if go_on.ui(ui).tapped {
                self.step = CrewStep::Agreed;
            }
            return;
        }
        let missing = (!is_same).then_some(w.enter_code_again);
        let bar = BigBar::unless(w.add_person, self.name.trim(), missing);
        if bar.ui(ui).tapped {
            self.send(whose, None, out);
        }
    }

    fn agreeing(&mut self, ui: &mut Ui, v: &View<'_>, whose: &Whose, out: &mut Vec<Intent>) {
        let room = keys_room(ui, v);
        if let Whose::Own(person) = whose {
            self.by_old_code(ui, v, room, person, out);
            return;
        }
        let by = agree::foreman(ui, v, room, &mut self.foreman, &mut self.foreman_code);
        if let Some(by) = by {
            self.send(whose, Some(by), out);
        }
    }

    fn by_old_code(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        room: f32,
        person: &Person,
        out: &mut Vec<Intent>,
    ) {
        let w = v.words;
        agree::above_keys(ui, room, |ui| {
            frame::line(ui, w.code_until_now, Type::Title, false);
        });
        code_pad::ui(ui, w, &person.0, &mut self.foreman_code.0);
        let is_short = self.foreman_code.0.chars().count() < agree::DIGITS_MIN;
        let missing = is_short.then_some(w.enter_your_code);
        let bar = BigBar::unless(w.own_code, &person.0, missing);
        if bar.ui(ui).tapped {
            out.push(Intent::ChangeCode {
                person: person.clone(),
                code: self.code.clone(),
                old: std::mem::take(&mut self.foreman_code),
            });
        }
    }

    /// Asks for the change. What is typed stays until it was taken.
    fn send(&self, whose: &Whose, by: Option<(Person, TypedCode)>, out: &mut Vec<Intent>) {
        match (whose, by) {
            (Whose::New, by) => out.push(Intent::AddPerson {
                name: self.name.trim().to_owned(),
                role: self.role.unwrap_or(Role::Technician),
                code: self.code.clone(),
                by,
            }),
            (Whose::Known(person), Some(by)) => out.push(Intent::ResetCode {
                person: person.clone(),
                code: self.code.clone(),
                by,
            }),
            (Whose::Known(_), None) | (Whose::Own(_), _) => {}
        }
    }
}

/// The fewest characters of a new code, and what is said of them.
fn digits(v: &View<'_>) -> (usize, &'static str) {
    if v.membership.short_codes {
        (SHORT_DIGITS_MIN, v.words.code_digits_short)
    } else {
        (DIGITS_MIN, v.words.code_digits)
    }
}

/// Room above the keys, the same for each code that is asked for one after the other.
fn keys_room(ui: &Ui, v: &View<'_>) -> f32 {
    let new = [(v.words.new_code, Type::Title), (digits(v).1, Type::Body)];
    agree::foreman_height(ui, v).max(agree::lines_height(ui, &new))
}

fn has_foreman(v: &View<'_>) -> bool {
    v.crew.iter().any(can_agree)
}
