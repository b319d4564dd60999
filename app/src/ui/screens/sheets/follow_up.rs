//! After it left: oil, smoke and codes beside those of the take-in, and what was seen so far.

use egui::Ui;
use trayzero_core::bench::{POURED_L, STRETCH_KM};
use trayzero_core::job::{FollowUp, JobPhase, Smoke};
use trayzero_core::record::{follow_ups, oil_before_work};

use super::foot::{Foot, Offer};
use super::take_in::tick_smoke;
use super::{Sheet, chips};
use crate::data::written::Kind;
use crate::ui::intent::SignedAct;
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::units::{self, DISTANCE, VOLUME};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::keyboard::Keys;
use crate::ui::widgets::note;
use crate::ui::widgets::text_field::TextField;

/// What is typed.
#[derive(Default)]
pub struct FollowUpForm {
    distance: String,
    litres: String,
    smoke: Vec<Smoke>,
    codes: String,
    no_codes: bool,
    text: String,
}

impl FollowUpForm {
    /// Draws the sheet; gives the one to open next.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) -> Option<Sheet> {
        let w = v.words;
        frame::line(ui, w.follow_up_says, Type::Body, false);
        before(ui, v, job);
        let next = so_far(ui, v, job);
        frame::group(ui, w.follow_up_new);
        let label = units::field(w.follow_up_distance, &DISTANCE, v.units);
        let field = TextField::new(&label, &mut self.distance).salt("distance since");
        field.keys(Keys::Whole).ui(ui, w);
        let label = units::field(w.follow_up_oil, &VOLUME, v.units);
        let field = TextField::new(&label, &mut self.litres).salt("oil since");
        field.keys(Keys::Figure).ui(ui, w);
        frame::line(ui, w.when_smokes, Type::Small, true);
        tick_smoke(ui, w, &mut self.smoke);
        let is_none = chips::ui(ui, &[w.follow_up_no_codes.to_owned()], 1, |_| self.no_codes);
        if is_none.is_some() {
            self.no_codes = !self.no_codes;
        }
        if !self.no_codes {
            TextField::new(w.fault_codes, &mut self.codes)
                .rows(2)
                .keys(Keys::Codes)
                .choices(v.written.of(Kind::FaultCode))
                .ui(ui, w);
        }
        TextField::new(w.also_seen, &mut self.text)
            .rows(2)
            .choices(v.written.of(Kind::AlsoSeen))
            .ui(ui, w);
        frame::line(ui, w.follow_up_errors, Type::Small, true);
        next
    }

    fn seen(&self, v: &View<'_>) -> Result<FollowUp, String> {
        let w = v.words;
        let distance = units::read(&DISTANCE, &self.distance, v.units)
            .map_err(|_| w.follow_up_distance_missing.to_owned())?;
        let litres = units::read(&VOLUME, &self.litres, v.units)
            .map_err(|_| w.follow_up_oil_missing.to_owned())?;
        let told = |e: trayzero_core::bench::BenchError| w.error(&e);
        STRETCH_KM.check(distance).map_err(told)?;
        POURED_L.check(litres).map_err(told)?;
        let codes = self.codes.split([';', '\n']).map(str::trim);
        let codes: Vec<String> = codes.filter(|c| !c.is_empty()).map(str::to_owned).collect();
        Ok(FollowUp {
            distance_km: distance,
            litres,
            smoke: self.smoke.clone(),
            codes: if self.no_codes {
                Some(Vec::new())
            } else {
                Some(codes).filter(|codes| !codes.is_empty())
            },
            text: self.text.trim().to_owned(),
        })
    }

    /// The big bar, once distance and oil are figures.
    pub fn foot(&self, v: &View<'_>, job: &JobView<'_>) -> Foot {
        let w = v.words;
        let missing = if job.state.phase() == JobPhase::Closed {
            self.seen(v).err()
        } else {
            Some(w.follow_up_not_closed.to_owned())
        };
        Foot::of_bar(Offer::unless(w.sign, "", missing))
    }

    /// The sheet in which it is signed.
    pub fn next(&self, v: &View<'_>) -> Option<Sheet> {
        let seen = self.seen(v).ok()?;
        Some(Sheet::Sign(SignedAct::FollowUp(Box::new(seen))))
    }
}

/// What the take-in had of the same.
fn before(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
    let w = v.words;
    frame::group(ui, w.before_work);
    let oil = oil_before_work(job.state);
    let oil = oil.map_or_else(
        || w.follow_up_oil_unknown.to_owned(),
        |oil| units::oil_since(&oil, v.units),
    );
    frame::line(ui, &oil, Type::Body, false);
    if let Some(note) = job.state.take_in_note() {
        let smoke: Vec<&str> = note.smoke.iter().map(|s| w.smoke(*s)).collect();
        let all = [smoke.join(", "), note.codes.join("; ")];
        let all: Vec<String> = all.into_iter().filter(|text| !text.is_empty()).collect();
        frame::line(ui, &all.join(" · "), Type::Body, true);
    }
}

/// What was seen so far, each with the way to take it back.
fn so_far(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) -> Option<Sheet> {
    let w = v.words;
    let c = Theme::of(ui.ctx()).colours;
    let mut next = None;
    for (event, line) in follow_ups(job.state) {
        let way = units::distance(line.seen.distance_km, v.units);
        frame::group(ui, &w.follow_up_after(&way));
        let oil = line.oil.map(|oil| units::oil_since(&oil, v.units));
        let tint = match line.oil_went {
            Some(trayzero_core::bench::OilWent::Up) => c.astray,
            Some(trayzero_core::bench::OilWent::Down) => c.done,
            _ => c.open,
        };
        note::ui(
            ui,
            &oil.unwrap_or_default(),
            w.oil_went(line.oil_went),
            tint,
        );
        let smoke: Vec<&str> = line.seen.smoke.iter().map(|s| w.smoke(*s)).collect();
        let codes = line.seen.codes.as_ref().map(|codes| {
            if codes.is_empty() {
                w.follow_up_no_codes.to_owned()
            } else {
                codes.join("; ")
            }
        });
        let told = [
            Some(smoke.join(", ")),
            codes,
            Some(line.seen.text.clone()),
            Some(line.by.who.to_string()),
        ];
        let told: Vec<String> = told
            .into_iter()
            .flatten()
            .filter(|t| !t.is_empty())
            .collect();
        frame::line(ui, &told.join(" · "), Type::Body, true);
        let name = format!("{}: {}", w.take_back, w.follow_up_after(&way));
        let button = Button::new(w.take_back).named(&name);
        if button.enabled(job.read_only.is_none()).ui(ui).tapped {
            let signers = job.state.signatures_to_take_back(event);
            next = Some(Sheet::Sign(SignedAct::TakeBack(event, signers)));
        }
    }
    next
}
