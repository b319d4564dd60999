//! The gate of a bank: what keeps it shut, in the order in which it is cleared, the two
//! counts, and the cover.

use egui::Ui;
use trayzero_core::job::{CountAgain, PictureOf, Refusal};
use trayzero_core::parts::{Item, Place};

use super::Sheet;
use super::foot::{Foot, Offer};
use crate::ui::intent::SignedAct;
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::note;

/// Draws the sheet; gives the one to open next.
pub fn ui(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, bank: u8) -> Option<Sheet> {
    let w = v.words;
    let colours = Theme::of(ui.ctx()).colours;
    let holds = job.state.gate(usize::from(bank));
    if !holds.iter().all(is_of_counts) {
        frame::group(ui, w.gate_shut);
        for hold in holds.iter().filter(|h| !is_of_counts(h)) {
            let (why, way) = (w.refusal_why(hold), w.refusal_way_out(hold));
            note::ui(ui, &why, &way, colours.astray);
        }
        return None;
    }
    let counts = job.state.round_counts();
    for (count, name) in counts.iter().zip([w.first_count, w.second_count]) {
        let text = format!("{name}: {} {}", count.by, w.signed);
        frame::line(ui, &text, Type::Body, false);
    }
    if let [hold @ (Refusal::GateCountsDiffer { .. } | Refusal::GateCountOff { .. })] = &holds[..] {
        let (why, way) = (w.refusal_why(hold), w.refusal_way_out(hold));
        note::ui(ui, &why, &way, colours.astray);
    }
    if let Some(again) = job.state.count_again() {
        frame::line(ui, &to_count_again(v, &again), Type::Body, false);
    }
    if holds.is_empty() {
        note::ui(ui, w.gate_open, w.counts_agree, colours.done);
    }
    let of = PictureOf::Count { bank };
    let tapped = job.read_only.is_none() && Button::new(w.picture_of_laid_out).ui(ui).tapped;
    tapped.then_some(Sheet::Picture(of))
}

/// What is laid out and counted anew, by name: no figure of it is known to anybody.
pub fn to_count_again(v: &View<'_>, again: &CountAgain<'_>) -> String {
    let w = v.words;
    let name =
        |(item, place): &(Item, Place)| format!("{}: {}", w.place(*place), w.items_n_word(item));
    let names: Vec<String> = again.items.iter().map(name).collect();
    format!("{}: {}", w.count_again_why, names.join(" \u{b7} "))
}

/// The big bar: the count that is due, or the cover. None while something else is due.
pub fn foot(v: &View<'_>, job: &JobView<'_>, bank: u8) -> Foot {
    let w = v.words;
    let holds = job.state.gate(usize::from(bank));
    if holds.is_empty() {
        return Foot::of_bar(Offer::ready(w.cover_on, w.cover_on_more));
    }
    if !holds.iter().all(is_of_counts) {
        return Foot::default();
    }
    let title = if job.state.round_counts().len() == 1 {
        w.second_count
    } else {
        w.first_count
    };
    Foot::of_bar(Offer::ready(title, w.bar_gate_more))
}

/// The sheet that the bar opens.
pub fn next(job: &JobView<'_>, bank: u8) -> Sheet {
    if job.state.gate(usize::from(bank)).is_empty() {
        Sheet::Sign(SignedAct::CloseBank(bank))
    } else {
        Sheet::Count(bank)
    }
}

fn is_of_counts(hold: &Refusal) -> bool {
    matches!(
        hold,
        Refusal::GateNotCounted { .. }
            | Refusal::GateCountsDiffer { .. }
            | Refusal::GateCountOff { .. }
    )
}
