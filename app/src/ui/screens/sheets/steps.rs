//! The short lists before the first valve and after the last, each with who and when.

use egui::Ui;
use trayzero_core::job::{Event, Fact, JobState, Reading, Step};
use trayzero_core::parts::Item;

use super::foot::{Foot, Offer};
use super::leak_chart;
use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::times;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::note;

/// The step that is chosen.
#[derive(Default)]
pub struct StepsForm {
    chosen: Option<Step>,
}

impl StepsForm {
    /// Draws the sheet.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
        let w = v.words;
        frame::group(ui, w.before_first_valve);
        self.steps(ui, v, job, &Step::BEFORE);
        for (name, fact) in opened(v, job) {
            seen_line(ui, v, &name, fact);
        }
        leak_chart::ui(ui, v, job);
        frame::group(ui, w.after_last_valve);
        let (turned, rest) = Step::AFTER.split_at(1);
        for (name, fact) in closed(v, job) {
            seen_line(ui, v, &name, fact);
        }
        self.steps(ui, v, job, turned);
        let again = format!("{}, {}", w.leak_test, w.after_work);
        seen_line(ui, v, &again, read_again(job));
        self.steps(ui, v, job, rest);
    }

    /// Steps that were seen; one of the others is chosen by a tap.
    fn steps(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, all: &[Step]) {
        let w = v.words;
        for step in all {
            let seen = job.state.step_seen(*step);
            if seen.is_some() {
                seen_line(ui, v, w.step(*step), seen);
                continue;
            }
            let is_chosen = self.chosen == Some(*step);
            let button = Button::new(w.step(*step)).more(w.not_yet);
            if button.chosen(is_chosen).ui(ui).tapped {
                self.chosen = (!is_chosen).then_some(*step);
            }
        }
    }

    /// That the chosen step is seen.
    pub fn foot(&self, v: &View<'_>, job: &JobView<'_>) -> Foot {
        let w = v.words;
        let missing = match self.chosen {
            _ if job.read_only.is_some() => Some(w.read_only),
            None => Some(w.choose_above),
            Some(_) => None,
        };
        Foot::of_deed(Offer::unless(w.it_is_seen, "", missing.map(str::to_owned)))
    }

    /// The chosen step is seen; gives the sentence that says so.
    pub fn act(&mut self, v: &View<'_>, out: &mut Vec<Intent>) -> String {
        let Some(step) = self.chosen.take() else {
            return String::new();
        };
        out.push(Intent::Tap(vec![Event::StepSeen { step }]));
        v.words.step(step).to_owned()
    }
}

/// What was seen with who and when, or that it was not yet.
fn seen_line(ui: &mut Ui, v: &View<'_>, name: &str, seen: Option<&Fact>) {
    let Some(fact) = seen else {
        frame::line(
            ui,
            &format!("{name}: {}", v.words.not_yet),
            Type::Body,
            true,
        );
        return;
    };
    let when = times::clock(fact.at_ms, fact.offset_min);
    let done = Theme::of(ui.ctx()).colours.done;
    note::ui(ui, name, &format!("{} · {when}", fact.who), done);
}

/// What the bay's own bar asks for before the first valve, bank by bank as the layout has
/// it: vented covers in all plug holes, the cover off, stoppers in.
fn opened<'a>(v: &View<'_>, job: &JobView<'a>) -> Vec<(String, Option<&'a Fact>)> {
    let w = v.words;
    let state = job.state;
    let Some(layout) = state.layout() else {
        return Vec::new();
    };
    let has_stoppers = layout.kit_list().iter().any(|k| k.item == Item::Stopper);
    let mut lines = Vec::new();
    for (index, bank) in layout.banks.iter().enumerate() {
        let vented = |wanted: u8| {
            // The first time, for covers go out and in again with every hose.
            let is_in = |f: &&Fact| matches!(f.event, Event::VentedCoverIn { cylinder } if cylinder == wanted);
            state.facts().iter().find(is_in)
        };
        let all: Option<Vec<&Fact>> = bank.cylinders.iter().map(|c| vented(*c)).collect();
        let last = all.and_then(|all| all.into_iter().max_by_key(|f| f.at_ms));
        lines.push((w.bar_plugs(&bank.name), last));
        let off = |e: &Event| matches!(e, Event::CoverOff { bank } if usize::from(*bank) == index);
        lines.push((w.bar_cover(&bank.name), fact(state, off)));
        if has_stoppers {
            let name = format!(
                "{}: {}",
                w.bank_n(&bank.name),
                w.items_n_word(&Item::Stopper)
            );
            let is_in = |e: &Event| {
                matches!(e, Event::PutAboard { item: Item::Stopper, bank, .. }
                    if usize::from(*bank) == index)
            };
            lines.push((name, fact(state, is_in)));
        }
    }
    lines
}

/// The covers that are on again.
fn closed<'a>(v: &View<'_>, job: &JobView<'a>) -> Vec<(String, Option<&'a Fact>)> {
    let banks = job.state.layout().into_iter().flat_map(|l| &l.banks);
    banks
        .enumerate()
        .map(|(index, bank)| {
            let on = |e: &Event| {
                matches!(e, Event::BankClosed { bank, .. } if usize::from(*bank) == index)
            };
            let name = format!("{}: {}", v.words.bank_n(&bank.name), v.words.cover_on);
            (name, fact(job.state, on))
        })
        .collect()
}

/// The last reading after the work, once every cylinder has one.
fn read_again<'a>(job: &JobView<'a>) -> Option<&'a Fact> {
    let layout = job.state.layout()?;
    let all = layout
        .cylinders()
        .all(|c| job.state.leak(c, Reading::After).is_some());
    let is_after = |e: &Event| matches!(e, Event::LeakRead { when, .. } if *when == Reading::After);
    all.then(|| fact(job.state, is_after)).flatten()
}

/// The latest fact of a kind.
fn fact(state: &JobState, wanted: impl Fn(&Event) -> bool) -> Option<&Fact> {
    state.facts().iter().rev().find(|f| wanted(&f.event))
}
