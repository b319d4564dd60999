//! Enter from paper: what was ticked by pen while the tablet was dead, box by box in the
//! order of the paper. Core says which events lead there; whoever enters it signs.

use egui::Ui;
use trayzero_core::job::{
    CrankAt, PaperRefusal, PaperSheet, PaperWait, Person, Reading, Refusal, Step,
};
use uuid::Uuid;

use super::foot::{Foot, Offer};
use super::paper_typed::PaperTyped;
use super::{Sheet, chips, paper_rows};
use crate::ui::intent::{PaperEntry, SignedAct};
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::times;
use crate::ui::view::{JobView, View, order_on_paper};
use crate::ui::widgets::keyboard::Keys;
use crate::ui::widgets::text_field::TextField;
use crate::ui::words::capital;

/// So many days back are offered.
const DAYS: usize = 6;

/// What is typed into the sheet, and what core says to it.
#[derive(Default)]
pub struct PaperForm {
    typed: PaperTyped,
    /// The job that it is about.
    job: Option<Uuid>,
    order: Vec<(CrankAt, Vec<String>)>,
    answer: Option<PaperAnswer>,
    /// People had to sign before the rest could be taken.
    waits: bool,
}

/// What core said to a sheet when the job had so many events.
#[derive(PartialEq)]
struct PaperAnswer {
    sheet: PaperSheet,
    events: usize,
    said: Result<(usize, Option<PaperWait>), PaperRefusal>,
}

impl PaperForm {
    /// Draws the sheet.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
        let w = v.words;
        if self.job.replace(job.id) != Some(job.id) {
            *self = Self {
                job: Some(job.id),
                order: job.layout().map(order_on_paper).unwrap_or_default(),
                ..Self::default()
            };
        }
        frame::line(ui, w.paper_says, Type::Body, false);
        let typed = &mut self.typed;
        paper_rows::steps(ui, v, job, typed, &Step::BEFORE);
        paper_rows::kit(ui, v, job, typed);
        paper_rows::leaks(ui, v, job, typed, Reading::Before);
        for (place, (at, _)) in self.order.iter().enumerate() {
            paper_rows::stop(ui, v, job, typed, (place + 1, *at));
        }
        paper_rows::drops(ui, v, job, typed);
        paper_rows::leaks(ui, v, job, typed, Reading::After);
        paper_rows::steps(ui, v, job, typed, &Step::AFTER);
        self.by_whom(ui, v, job);
        self.ask(ui, v, job);
    }

    /// Who did it and when, as the paper says.
    fn by_whom(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
        let w = v.words;
        let typed = &mut self.typed;
        frame::group(ui, w.paper_done_by);
        let people: Vec<&Person> = v.crew.iter().map(|member| &member.person).collect();
        let names: Vec<String> = people.iter().map(ToString::to_string).collect();
        let is_on = |i: usize| Some(people[i]) == typed.done_by.as_ref();
        let tapped = ui.push_id("paper people", |ui| chips::ui(ui, &names, 3, is_on));
        if let Some(i) = tapped.inner {
            typed.done_by = Some(people[i].clone());
        }
        frame::group(ui, w.paper_day);
        let days = times::days(job.state.last_ms(), v.now_ms, v.offset_min, DAYS);
        let is_on = |i: usize| Some(&days[i]) == typed.day.as_ref();
        let tapped = ui.push_id("paper days", |ui| chips::ui(ui, &days, 3, is_on));
        if let Some(i) = tapped.inner {
            typed.day = Some(days[i].clone());
        }
        let field = TextField::new(w.paper_time, &mut typed.time).salt("paper time");
        field.keys(Keys::Figure).ui(ui, w);
    }

    /// Asks core, where the sheet or the job is another than when it was asked last.
    fn ask(&mut self, ui: &Ui, v: &View<'_>, job: &JobView<'_>) {
        let events = job.state.event_count();
        let Ok(sheet) = self.typed.sheet(v) else {
            self.answer = None;
            return;
        };
        let is_known = |a: &PaperAnswer| a.events == events && a.sheet == sheet;
        if self.answer.as_ref().is_some_and(is_known) {
            return;
        }
        let mut number = 0_u128;
        let said = job.state.walk_paper(&sheet, &self.order, || {
            // What is only looked at needs identities that are no event's.
            number += 1;
            Uuid::from_u128(u128::MAX - number)
        });
        self.answer = Some(PaperAnswer {
            sheet,
            events,
            said: said.map(|walk| (walk.lines.len(), walk.waits)),
        });
        ui.ctx().request_repaint();
    }

    /// What is missing before it can be signed, the first first.
    fn missing(&self, v: &View<'_>, job: &JobView<'_>) -> Result<(String, PaperEntry), String> {
        let w = v.words;
        let sheet = self.typed.sheet(v)?;
        if sheet.is_blank() {
            return Err(w.paper_blank.to_owned());
        }
        let answer = self.answer.as_ref().filter(|a| a.sheet == sheet);
        let answer = answer.ok_or_else(|| w.paper_blank.to_owned())?;
        let (lines, waits) = match &answer.said {
            Ok(said) => *said,
            Err(refusal) => return Err(w.paper_refusal(refusal, v.units)),
        };
        let wait = waits.map(|wait| w.paper_wait(wait));
        if lines == 0 {
            return Err(capital(&wait.unwrap_or_default()));
        }
        let done_by = self.typed.done_by.clone();
        let done_by = done_by.ok_or_else(|| w.paper_who_missing.to_owned())?;
        let day = self.typed.day.as_ref();
        let day = day.ok_or_else(|| w.paper_day_missing.to_owned())?;
        let minute = self.typed.minute_of_day();
        let done_ms = minute.and_then(|minute| times::at(day, minute, v.offset_min));
        let done_ms = done_ms.ok_or_else(|| w.paper_time_missing.to_owned())?;
        if done_ms > v.now_ms {
            return Err(w.refusal_why_in(&Refusal::PaperAhead, v.units));
        }
        if job.state.is_paper_too_early(&done_by, done_ms) {
            return Err(w.refusal_why_in(&Refusal::PaperEarlier, v.units));
        }
        let said = [Some(w.paper_lines(lines)), wait];
        let said: Vec<String> = said.into_iter().flatten().collect();
        let entry = PaperEntry {
            sheet,
            done_by,
            done_ms,
            done_offset_min: v.offset_min,
        };
        Ok((said.join("; "), entry))
    }

    /// The big bar, once everything holds together.
    pub fn foot(&self, v: &View<'_>, job: &JobView<'_>) -> Foot {
        let (more, missing) = match self.missing(v, job) {
            Ok((more, _)) => (more, None),
            Err(missing) => (String::new(), Some(missing)),
        };
        Foot::of_bar(Offer::unless(v.words.paper_bar, more, missing))
    }

    /// The sheet in which it is signed.
    pub fn next(&mut self, v: &View<'_>, job: &JobView<'_>) -> Option<Sheet> {
        let (_, entry) = self.missing(v, job).ok()?;
        let said = self.answer.as_ref().map(|a| &a.said);
        self.waits = matches!(said, Some(Ok((_, Some(_)))));
        Some(Sheet::Sign(SignedAct::Paper(Box::new(entry))))
    }

    /// It was entered. Where people have to sign now, the rest of what is ticked stays.
    pub fn entered(&mut self) {
        if !std::mem::take(&mut self.waits) {
            *self = Self::default();
            return;
        }
        self.typed.drops.clear();
        self.typed.finds.clear();
        self.answer = None;
    }
}
