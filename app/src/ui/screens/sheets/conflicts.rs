//! Conflicts between tablets: both sides by name, resolved by a person who has looked.

use egui::Ui;
use trayzero_core::engine::Layout;
use trayzero_core::job::Sight;

use super::Sheet;
use crate::ui::intent::SignedAct;
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::times;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::note;
use crate::ui::words::capital;

/// Draws the sheet; gives the one to open next.
pub fn ui(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) -> Option<Sheet> {
    let w = v.words;
    let c = Theme::of(ui.ctx()).colours;
    frame::line(ui, w.conflict_why, Type::Body, false);
    let mut next = None;
    for conflict in job.state.open_conflicts() {
        let entry = &conflict.entry;
        let when = times::clock(entry.at_ms, entry.offset_min);
        let one = format!("{} ({}, {when})", w.deed(&entry.event), entry.who);
        let other = conflict
            .against
            .and_then(|id| job.state.event_of(id))
            .map_or_else(|| w.unknown.to_owned(), |event| w.deed(event));
        let more = format!(
            "{}: {other}. {}",
            w.against,
            w.refusal_why_in(&conflict.refusal, v.units)
        );
        note::ui(ui, &one, &more, c.astray);
        let by_two = job.state.resolution_needs_two(conflict);
        if by_two {
            frame::line(ui, w.conflict_lost, Type::Strong, false);
        }
        let Some(layout) = job.state.layout() else {
            continue;
        };
        let answers = job.state.answers(conflict);
        let is_neither = |seen: &[Sight]| seen.contains(&Sight::Crank { at: None });
        let asks_neither = job.state.crank().is_some() && answers.iter().any(|a| is_neither(a));
        for seen in answers {
            let mut text = in_words(v, layout, &seen);
            if asks_neither && is_neither(&seen) {
                text = w.neither_but(&text);
            }
            let text = capital(&text);
            let name = format!("{text}: {one}");
            if Button::new(&text).named(&name).ui(ui).tapped {
                next = Some(Sheet::Sign(SignedAct::ResolveConflict {
                    conflict: entry.id,
                    seen,
                    by_two,
                }));
            }
        }
        if !asks_neither {
            frame::line(ui, w.neither_of_them, Type::Body, true);
        }
    }
    next
}

/// What was seen, all of it on one line.
pub(super) fn seen_words(v: &View<'_>, layout: &Layout, seen: &[Sight]) -> String {
    capital(&in_words(v, layout, seen))
}

fn in_words(v: &View<'_>, layout: &Layout, seen: &[Sight]) -> String {
    let words = seen
        .iter()
        .map(|s| v.words.sight(s, &layout.banks, v.units));
    words.collect::<Vec<_>>().join(" · ")
}
