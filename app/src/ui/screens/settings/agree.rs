//! A foreman agrees to a change of the crew or of the shop's tablets: what it is, who
//! agrees, and their code.

use egui::{Color32, Ui};
use trayzero_core::job::Person;

use crate::ui::intent::{Intent, ShopChange, TypedCode};
use crate::ui::screens::{frame, notice};
use crate::ui::theme::{GAP, Type};
use crate::ui::view::{CrewMember, View};
use crate::ui::widgets::big_bar::BigBar;
use crate::ui::widgets::button::Button;
use crate::ui::widgets::choice_row::{self, choice_row};
use crate::ui::widgets::{code_pad, paint};

/// The fewest digits that a code can have: those of the version before had four.
pub const DIGITS_MIN: usize = 4;

/// What is agreed to, and what is typed.
pub struct Agree {
    change: ShopChange,
    title: String,
    more: String,
    foreman: Option<Person>,
    code: TypedCode,
    was_said: bool,
}

impl Agree {
    /// A change with its name, and what it means.
    pub fn to(change: ShopChange, title: String, more: &str) -> Self {
        Self {
            change,
            title,
            more: more.to_owned(),
            foreman: None,
            code: TypedCode::default(),
            was_said: false,
        }
    }

    /// Whether a code is typed for it.
    pub fn is_begun(&self) -> bool {
        !self.code.0.is_empty()
    }

    /// Draws it; true when it is left.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) -> bool {
        let w = v.words;
        frame::line(ui, &self.title, Type::Title, false);
        frame::line(ui, &self.more, Type::Body, false);
        let room = foreman_height(ui, v);
        if let Some(by) = foreman(ui, v, room, &mut self.foreman, &mut self.code) {
            out.push(Intent::ChangeShop {
                change: self.change.clone(),
                by,
            });
        }
        said(ui, v, &mut self.was_said);
        let cancel = ui.push_id("cancel", |ui| Button::new(w.cancel).ui(ui));
        cancel.inner.tapped
    }
}

/// Says what came of it where the finger is: below the keys, which stay in place. In a low
/// window it comes into sight when it is new.
pub fn said(ui: &mut Ui, v: &View<'_>, was_said: &mut bool) {
    let is_said = v.notice.is_some();
    let drawn = ui.scope(|ui| notice::ui(ui, v)).response;
    if is_said && !*was_said {
        drawn.scroll_to_me(None);
    }
    *was_said = is_said;
}

/// Height of some lines, one under the other.
pub fn lines_height(ui: &Ui, lines: &[(&str, Type)]) -> f32 {
    let width = ui.available_width();
    let line = |(text, step): &(&str, Type)| {
        let galley = paint::text(ui, text, *step, Color32::PLACEHOLDER, width);
        galley.size().y + GAP
    };
    lines.iter().map(line).sum()
}

/// Height of what stands above the keys of a foreman's code.
pub fn foreman_height(ui: &Ui, v: &View<'_>) -> f32 {
    let w = v.words;
    let names: Vec<String> = foremen(v).map(|m| m.person.to_string()).collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let lines = [
        (w.which_foreman, Type::Strong),
        (w.foreman_code, Type::Body),
    ];
    lines_height(ui, &lines) + choice_row::height(ui, &names)
}

/// Draws what stands above the keys of a code in room of a height, so that the keys stay in
/// their place from one code to the next.
pub fn above_keys<R>(ui: &mut Ui, room: f32, content: impl FnOnce(&mut Ui) -> R) -> R {
    let top = ui.cursor().top();
    let drawn = content(ui);
    let used = ui.cursor().top() - top;
    ui.add_space((room + GAP - used).max(0.0));
    drawn
}

fn foremen<'a>(v: &View<'a>) -> impl Iterator<Item = &'a CrewMember> {
    v.crew.iter().filter(|member| can_agree(member))
}

/// Which foreman agrees, and their code, with at least so much room above its keys. Gives
/// both once they are there.
pub fn foreman(
    ui: &mut Ui,
    v: &View<'_>,
    room: f32,
    who: &mut Option<Person>,
    code: &mut TypedCode,
) -> Option<(Person, TypedCode)> {
    let w = v.words;
    above_keys(ui, room, |ui| {
        frame::line(ui, w.which_foreman, Type::Strong, false);
        let foremen: Vec<&CrewMember> = foremen(v).collect();
        let names: Vec<String> = foremen.iter().map(|m| m.person.to_string()).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        if let [only] = foremen[..] {
            // Nobody else can, so nobody has to choose.
            who.get_or_insert_with(|| only.person.clone());
        }
        let chosen = foremen.iter().position(|m| Some(&m.person) == who.as_ref());
        if let Some(i) = choice_row(ui, &names, chosen) {
            *who = Some(foremen[i].person.clone());
            *code = TypedCode::default();
        }
        frame::line(ui, w.foreman_code, Type::Body, true);
    });
    let foreman = who.clone()?;
    code_pad::ui(ui, w, &foreman.0, &mut code.0);
    let is_short = code.0.chars().count() < DIGITS_MIN;
    let missing = is_short.then_some(w.enter_foreman_code);
    let bar = BigBar::unless(w.foreman_agrees, "", missing);
    let is_sent = bar.ui(ui).tapped;
    is_sent.then(|| (foreman, std::mem::take(code)))
}

/// Whether somebody can agree to a change.
pub fn can_agree(member: &CrewMember) -> bool {
    member.is_foreman() && member.has_code
}
