//! Conflicts between tablets: both sides by name, resolved by a person who has looked.

use egui::Ui;

use super::{Sheet, undo_words};
use crate::ui::intent::SignedAct;
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::times;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::note;

/// Draws the sheet; gives the one to open next.
pub fn ui(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) -> Option<Sheet> {
    let w = v.words;
    let c = Theme::of(ui.ctx()).colours;
    frame::line(ui, w.conflict_why, Type::Body, false);
    let mut next = None;
    for conflict in job.state.open_conflicts() {
        let entry = &conflict.entry;
        let when = times::clock(entry.at_ms, entry.offset_min);
        let one = format!("{} ({}, {when})", undo_words(w, &entry.event), entry.who);
        let other = conflict
            .against
            .and_then(|id| job.state.event_of(id))
            .map_or_else(|| w.unknown.to_owned(), |event| undo_words(w, event));
        let more = format!(
            "{}: {other}. {}",
            w.against,
            w.refusal_why_in(&conflict.refusal, v.units)
        );
        note::ui(ui, &one, &more, c.astray);
        let name = format!("{}: {one}", w.resolve);
        if Button::new(w.resolve).named(&name).ui(ui).tapped {
            next = Some(Sheet::Sign(SignedAct::ResolveConflict(
                entry.id,
                String::new(),
            )));
        }
    }
    next
}
