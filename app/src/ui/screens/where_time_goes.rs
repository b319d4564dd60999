//! Where the time goes: the phases of a job as bars, and what was lost to what.

use egui::Ui;
use trayzero_core::plan::{ByPhase, EngineHours, JobHours};

use super::frame;
use crate::ui::theme::Type;
use crate::ui::view::View;
use crate::ui::widgets::phase_bars::{self, PhaseBar};
use crate::ui::words::capital;

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

/// One job so far, with each loss by itself.
pub fn of_job(ui: &mut Ui, v: &View<'_>, hours: &JobHours) {
    let w = v.words;
    let minutes = hours.total().round() as i64;
    if minutes < 1 {
        frame::line(ui, &capital(w.no_time_yet), Type::Body, true);
        return;
    }
    frame::line(ui, &w.lasts(minutes), Type::Title, false);
    bars(ui, v, &hours.minutes);
    for loss in &hours.losses {
        frame::line(ui, &capital(&w.loss_line(loss)), Type::Body, false);
    }
}

/// The shop's finished jobs, engine by engine; nothing where none tells its phases.
pub fn of_shop(ui: &mut Ui, v: &View<'_>, engines: &[EngineHours]) {
    let w = v.words;
    if engines.is_empty() {
        return;
    }
    frame::group(ui, w.where_time_goes);
    for engine in engines {
        let mean = w.mean_of_jobs(&engine.engine, engine.jobs);
        let whole: f64 = engine.phase_min.iter().sum();
        let text = format!("{mean}, {}", w.lasts(whole.round() as i64));
        frame::line(ui, &text, Type::Strong, false);
        bars(ui, v, &engine.phase_min);
        for drop in &engine.drops {
            frame::line(ui, &capital(&w.drop_line(drop)), Type::Body, false);
        }
    }
}
