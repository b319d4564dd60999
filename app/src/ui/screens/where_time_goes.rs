//! Where the time goes: the phases of a job as bars, and what was lost to what.

use egui::Ui;
use trayzero_core::plan::ByPhase;

use crate::ui::view::View;
use crate::ui::widgets::phase_bars::{self, PhaseBar};

/// The phases as bars.
pub fn bars(ui: &mut Ui, v: &View<'_>, minutes: &ByPhase) {
    let lines = v.words.phase_lines(minutes).into_iter();
    let bars: Vec<PhaseBar> = lines
        .map(|(name, lasts, minutes)| PhaseBar {
            name,
            lasts,
            minutes,
        })
        .collect();
    phase_bars::ui(ui, &bars);
}
