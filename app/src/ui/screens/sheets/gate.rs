//! The gate of a bank: what keeps it shut, in the order in which it is cleared, the two
//! counts, and the cover.

use egui::Ui;
use trayzero_core::job::Refusal;

use super::Sheet;
use crate::ui::intent::SignedAct;
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::big_bar::BigBar;
use crate::ui::widgets::note;

/// Draws the sheet; gives the one to open next.
pub fn ui(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, bank: u8) -> Option<Sheet> {
    let w = v.words;
    let colours = Theme::of(ui.ctx()).colours;
    let holds = job.state.gate(usize::from(bank));
    let only_counts = holds.iter().all(is_of_counts);
    if !only_counts {
        frame::group(ui, w.gate_shut);
        for hold in holds.iter().filter(|h| !is_of_counts(h)) {
            note::ui(
                ui,
                &w.refusal_why(hold),
                &w.refusal_way_out(hold),
                colours.astray,
            );
        }
        return None;
    }
    let counts = job.state.round_counts();
    for (count, name) in counts.iter().zip([w.first_count, w.second_count]) {
        frame::line(
            ui,
            &format!("{name}: {} {}", count.by, w.signed),
            Type::Body,
            false,
        );
    }
    if let [hold @ (Refusal::GateCountsDiffer { .. } | Refusal::GateCountOff { .. })] = &holds[..] {
        note::ui(
            ui,
            &w.refusal_why(hold),
            &w.refusal_way_out(hold),
            colours.astray,
        );
    }
    if holds.is_empty() {
        note::ui(ui, w.gate_open, w.counts_agree, colours.done);
        let bar = BigBar::new(w.cover_on, w.cover_on_more);
        return bar
            .ui(ui)
            .tapped
            .then_some(Sheet::Sign(SignedAct::CloseBank(bank)));
    }
    let title = if counts.len() == 1 {
        w.second_count
    } else {
        w.first_count
    };
    let bar = BigBar::new(title, w.bar_gate_more);
    bar.ui(ui).tapped.then_some(Sheet::Count(bank))
}

fn is_of_counts(hold: &Refusal) -> bool {
    matches!(
        hold,
        Refusal::GateNotCounted { .. }
            | Refusal::GateCountsDiffer { .. }
            | Refusal::GateCountOff { .. }
    )
}
