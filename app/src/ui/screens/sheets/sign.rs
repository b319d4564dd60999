//! A signature: who, and their code. Two people where two must.

use egui::Ui;
use trayzero_core::job::Person;

use crate::ui::intent::{Intent, SignedAct, TypedCode};
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::big_bar::BigBar;
use crate::ui::widgets::button::Button;
use crate::ui::widgets::code_pad;

/// What is typed into the sheet.
#[derive(Default)]
pub struct SignForm {
    who: Option<Person>,
    code: TypedCode,
    signed: Vec<(Person, TypedCode)>,
}

impl SignForm {
    /// Draws the sheet.
    pub fn ui(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        _job: &JobView<'_>,
        act: &SignedAct,
        out: &mut Vec<Intent>,
    ) {
        let w = v.words;
        frame::line(ui, &act_words(v, act), Type::Strong, false);
        if v.crew.is_empty() {
            frame::line(ui, w.no_crew, Type::Body, false);
            return;
        }
        if !self.signed.is_empty() {
            frame::line(ui, w.second_person, Type::Body, false);
        }
        self.people(ui, v, act);
        if self.who.is_none() {
            return;
        }
        frame::line(ui, w.your_code, Type::Body, true);
        code_pad::ui(ui, w, &mut self.code.0);
        let bar = BigBar::new(w.sign, "");
        if bar.ui(ui).tapped {
            self.sign(act, out);
        }
    }

    fn people(&mut self, ui: &mut Ui, v: &View<'_>, act: &SignedAct) {
        let people: Vec<&crate::ui::view::Member> = v
            .crew
            .iter()
            .filter(|m| !act.needs_foreman() || m.is_foreman)
            .filter(|m| !self.signed.iter().any(|(p, _)| *p == m.person))
            .collect();
        let width = (ui.available_width() - 2.0 * crate::ui::theme::GAP) / 3.0;
        for row in people.chunks(3) {
            let names: Vec<String> = row.iter().map(|m| m.person.to_string()).collect();
            let height = names
                .iter()
                .map(|n| Button::new(n).height(ui, width))
                .fold(crate::ui::theme::TARGET, f32::max);
            let rects = frame::columns(ui, 3, height);
            for ((member, name), rect) in row.iter().zip(&names).zip(rects) {
                let chosen = self.who.as_ref() == Some(&member.person);
                if Button::new(name).chosen(chosen).at(ui, rect).tapped {
                    self.who = Some(member.person.clone());
                    self.code = TypedCode::default();
                }
            }
        }
    }

    fn sign(&mut self, act: &SignedAct, out: &mut Vec<Intent>) {
        let Some(who) = self.who.take() else {
            return;
        };
        self.signed.push((who, std::mem::take(&mut self.code)));
        if self.signed.len() >= act.signers() {
            out.push(Intent::Sign {
                act: act.clone(),
                codes: std::mem::take(&mut self.signed),
            });
        }
    }
}

/// What is signed, as a sentence.
fn act_words(v: &View<'_>, act: &SignedAct) -> String {
    let w = v.words;
    match act {
        SignedAct::Count(_) => w.count_taken.to_owned(),
        SignedAct::CloseBank(_) => w.cover_on.to_owned(),
        SignedAct::CloseJob => w.bar_close_job.to_owned(),
        SignedAct::StopJob(why) => format!("{}: {why}", w.stop_job),
        SignedAct::TakeOver => w.take_over.to_owned(),
        SignedAct::ForemanAgrees(cylinder) => {
            format!("{}: {}", w.foreman_agrees, w.cylinder_n(*cylinder))
        }
        SignedAct::Search(..) => w.sign_unfound.to_owned(),
        SignedAct::ResolveConflict(..) => w.resolve.to_owned(),
    }
}
