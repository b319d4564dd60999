//! A caution that is read once a job, before a body is at risk for the first time. The
//! step that it stands before is taken with it.

use egui::Ui;
use trayzero_core::job::{Caution, Event};

use super::foot::{Foot, Offer};
use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::View;

/// Draws it.
pub fn ui(ui: &mut Ui, v: &View<'_>, caution: Caution) {
    let w = v.words;
    frame::line(ui, w.caution(caution), Type::Title, false);
    frame::line(ui, w.caution_more(caution), Type::Body, false);
    frame::line(ui, w.maker_first, Type::Body, true);
}

/// The big bar: what is seen of it, and then the step that waits.
pub fn foot(v: &View<'_>, caution: Caution, step: &str) -> Foot {
    let w = v.words;
    let then = if step.is_empty() {
        String::new()
    } else {
        format!("{}: {step}", w.and_then)
    };
    Foot::of_bar(Offer::ready(w.caution_seen(caution), then)).by_pedal()
}

/// It was read.
pub fn act(caution: Caution, out: &mut Vec<Intent>) {
    out.push(Intent::Tap(vec![Event::CautionSeen { caution }]));
}
