//! The short lists before the first valve and after the last, each with who and when.

use egui::Ui;
use trayzero_core::job::{Event, Step};

use super::leak_chart;
use crate::intent::Intent;
use crate::screens::frame;
use crate::theme::Theme;
use crate::times;
use crate::view::{JobView, View};
use crate::widgets::button::Button;
use crate::widgets::note;

/// Draws the sheet.
pub fn ui(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) {
    let w = v.words;
    frame::group(ui, w.before_first_valve);
    steps(ui, v, job, &Step::BEFORE, out);
    leak_chart::ui(ui, v, job);
    frame::group(ui, w.after_last_valve);
    steps(ui, v, job, &Step::AFTER, out);
}

/// Steps that were seen with who and when; the others wait for a finger.
fn steps(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, all: &[Step], out: &mut Vec<Intent>) {
    let w = v.words;
    let done = Theme::of(ui.ctx()).colours.done;
    for step in all {
        if let Some(fact) = job.state.step_seen(*step) {
            let when = times::clock(fact.at_ms, fact.offset_min);
            let who = format!("{} · {when}", fact.who);
            note::ui(ui, w.step(*step), &who, done);
            continue;
        }
        let button = Button::new(w.step(*step)).more(w.not_yet);
        let open = job.read_only.is_none();
        if button.enabled(open).ui(ui).tapped {
            out.push(Intent::Tap(vec![Event::StepSeen { step: *step }]));
        }
    }
}
