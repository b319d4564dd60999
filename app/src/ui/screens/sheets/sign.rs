//! A signature: who, and their code. Two people where two must. The keys of the code stay
//! where they are from one person to the next.

use egui::Ui;
use egui::style::ScrollAnimation;
use trayzero_core::job::{Person, Reading};

use super::chips;
use super::foot::{Foot, Offer};
use super::leak::class_words;
use crate::ui::intent::{Intent, SignedAct, TypedCode};
use crate::ui::screens::frame;
use crate::ui::theme::{GAP, TARGET, Type};
use crate::ui::units;
use crate::ui::view::{CrewMember, JobView, View};
use crate::ui::widgets::{code_pad, paint};
use trayzero_core::bench::LeakGauges;

/// The fewest digits of a code.
const DIGITS_MIN: usize = 4;

/// What is typed into the sheet.
#[derive(Default)]
pub struct SignForm {
    who: Option<Person>,
    code: TypedCode,
    /// Somebody was chosen just now.
    is_chosen: bool,
    signed: Vec<(Person, TypedCode)>,
}

impl SignForm {
    /// Draws the sheet. `only` is who alone may sign, if one alone may.
    pub fn ui(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        act: &SignedAct,
        only: Option<&Person>,
    ) {
        let w = v.words;
        frame::line(ui, &act_words(v, job, act), Type::Strong, false);
        for line in details(v, job, act) {
            frame::line(ui, &line, Type::Body, false);
        }
        if is_settled(job, act) {
            frame::line(ui, w.settled_elsewhere, Type::Strong, false);
            return;
        }
        if v.crew.is_empty() {
            frame::line(ui, w.no_crew, Type::Body, false);
            return;
        }
        self.people(ui, v, job, act, only);
        let label = match (act.signers(), self.signed.is_empty()) {
            (1, _) => w.your_code,
            (_, true) => w.first_person,
            (_, false) => w.second_person,
        };
        let whose = self.who.as_ref().map_or("", |who| &who.0);
        let code = &mut self.code.0;
        let pad = ui.add_enabled_ui(!whose.is_empty(), |ui| {
            code_pad::labelled(ui, w, label, whose, code);
        });
        if std::mem::take(&mut self.is_chosen) {
            // In a low room the keys would lie out of sight.
            let place = pad.response.rect;
            ui.scroll_to_rect_animation(place, None, ScrollAnimation::none());
        }
    }

    /// Who may sign; who has signed already stays in their place.
    fn people(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        act: &SignedAct,
        only: Option<&Person>,
    ) {
        // What tells of a loss wants a foreman, or one who has counted, as the second.
        let counted = |person: &Person| job.state.counts().iter().any(|c| c.by == *person);
        let as_second = !self.signed.is_empty() && matches!(act, SignedAct::ResolveConflict { .. });
        let may = |m: &&CrewMember| {
            let is_fit = !as_second || m.is_foreman() || counted(&m.person);
            is_fit
                && (!act.needs_foreman() || m.is_foreman())
                && only.is_none_or(|one| *one == m.person)
        };
        let people: Vec<&CrewMember> = v.crew.iter().filter(may).collect();
        let has_signed = |m: &CrewMember| self.signed.iter().any(|(p, _)| *p == m.person);
        let names: Vec<String> = people
            .iter()
            .map(|m| {
                let name = m.person.to_string();
                if has_signed(m) {
                    format!("{name}, {}", v.words.signed)
                } else {
                    name
                }
            })
            .collect();
        // As many in a row as have room there, also once they have signed: the keys of a code
        // below them stay in sight, and where they are.
        let signs = if act.signers() > 1 {
            v.words.signed
        } else {
            ""
        };
        let ink = egui::Color32::PLACEHOLDER;
        let room = |m: &&CrewMember| {
            let name = format!("{}, {signs}", m.person);
            paint::text_line(ui, &name, Type::Strong, ink, f32::INFINITY)
                .size()
                .x
        };
        let widest = people.iter().map(room).fold(TARGET, f32::max) + 3.0 * GAP;
        let columns = ((ui.available_width() + GAP) / (widest + GAP)) as usize;
        let columns = columns.clamp(3, people.len().max(3));
        let chosen = |i: usize| Some(&people[i].person) == self.who.as_ref();
        if let Some(i) = chips::ui(ui, &names, columns, chosen)
            && !has_signed(people[i])
        {
            self.who = Some(people[i].person.clone());
            self.code = TypedCode::default();
            self.is_chosen = true;
        }
    }

    /// The big bar, once somebody has entered a code.
    pub fn foot(&self, v: &View<'_>, job: &JobView<'_>, act: &SignedAct) -> Foot {
        let w = v.words;
        let missing = if is_settled(job, act) {
            Some(w.settled_elsewhere)
        } else if self.who.is_none() {
            Some(w.choose_your_name)
        } else if self.code.0.chars().count() < DIGITS_MIN {
            Some(w.enter_your_code)
        } else {
            None
        };
        Foot::of_bar(Offer::unless(w.sign, "", missing.map(str::to_owned)))
    }

    /// One has signed; the act is asked for once all have.
    pub fn sign(&mut self, act: &SignedAct, out: &mut Vec<Intent>) {
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

/// Whether another tablet has settled meanwhile what was to be signed here.
fn is_settled(job: &JobView<'_>, act: &SignedAct) -> bool {
    let SignedAct::ResolveConflict { conflict, .. } = act else {
        return false;
    };
    let mut open = job.state.open_conflicts();
    !open.any(|one| one.entry.id == *conflict)
}

/// What is signed, as a sentence.
fn act_words(v: &View<'_>, job: &JobView<'_>, act: &SignedAct) -> String {
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
        SignedAct::ResolveConflict { seen, .. } => {
            let layout = job.state.layout();
            let seen = layout.map(|l| super::conflicts::seen_words(v, l, seen));
            format!("{}: {}", w.resolve, seen.unwrap_or_default())
        }
        SignedAct::Paper(_) => w.enter_paper.to_owned(),
        SignedAct::FollowUp(seen) => {
            let way = units::distance(seen.distance_km, v.units);
            format!("{}: {}", w.follow_up, w.follow_up_after(&way))
        }
        SignedAct::TakeBack(event, _) => {
            let event = job.state.event_of(*event);
            let words = event.map(|e| w.deed(e));
            format!("{}: {}", w.take_back, words.unwrap_or_default())
        }
    }
}

/// What the signature is about, where it rests on a reading: nobody signs unseen.
fn details(v: &View<'_>, job: &JobView<'_>, act: &SignedAct) -> Vec<String> {
    let w = v.words;
    let SignedAct::ForemanAgrees(cylinder) = act else {
        return Vec::new();
    };
    let Some(read) = job.state.leak(*cylinder, Reading::Before) else {
        return Vec::new();
    };
    let pressure = |bar| units::pressure(bar, v.units);
    let gauges = format!(
        "{} {} · {} {}",
        w.supply,
        pressure(read.supply_bar),
        w.in_cylinder,
        pressure(read.cylinder_bar)
    );
    let class = LeakGauges {
        supply_bar: read.supply_bar,
        cylinder_bar: read.cylinder_bar,
        orifice_mm: LeakGauges::USUAL_ORIFICE_MM,
    }
    .answer()
    .map(|answer| class_words(v, answer.class));
    let loss = format!("{} {}", w.loss, w.percent(read.loss_percent()));
    let mut lines = vec![match class {
        Ok(class) => format!("{loss}: {class} · {gauges}"),
        Err(_) => format!("{loss} · {gauges}"),
    }];
    let heard: Vec<&str> = read.heard.iter().map(|h| w.heard_at(*h)).collect();
    lines.push(if heard.is_empty() {
        w.not_heard_noted.to_owned()
    } else {
        format!("{}: {}", w.heard_where, heard.join(", "))
    });
    lines
}
