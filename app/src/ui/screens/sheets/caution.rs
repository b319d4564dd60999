//! A caution that is read once a job, before a body is at risk for the first time.

use egui::Ui;
use trayzero_core::job::{Caution, Event};

use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::View;
use crate::ui::widgets::big_bar::BigBar;

/// Draws it.
pub fn ui(ui: &mut Ui, v: &View<'_>, caution: Caution, out: &mut Vec<Intent>) {
    let w = v.words;
    frame::line(ui, w.caution(caution), Type::Title, false);
    frame::line(ui, w.caution_more[caution as usize], Type::Body, false);
    frame::line(ui, w.maker_first, Type::Body, true);
    if BigBar::new(w.caution_seen[caution as usize], "")
        .ui(ui)
        .tapped
    {
        out.push(Intent::Tap(vec![Event::CautionSeen { caution }]));
    }
}
