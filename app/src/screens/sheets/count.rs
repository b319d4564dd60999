//! One person's blind count: every kind that may be laid out, no figure to copy from.

use std::collections::BTreeMap;

use egui::Ui;
use trayzero_core::job::CountLine;
use trayzero_core::parts::{Item, Place};

use super::Sheet;
use crate::intent::SignedAct;
use crate::screens::frame;
use crate::theme::Type;
use crate::view::{JobView, View};
use crate::widgets::big_bar::BigBar;
use crate::widgets::stepper;

/// The figures as counted so far.
#[derive(Default)]
pub struct Form {
    seen: BTreeMap<(Item, Place), u32>,
}

impl Form {
    /// Draws the sheet; gives the one to open next.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) -> Option<Sheet> {
        let w = v.words;
        frame::line(ui, w.count_what_you_see, Type::Body, true);
        let list = job.state.count_list();
        let mut last = None;
        for (item, place) in &list {
            if last != Some(*place) {
                frame::group(ui, w.place(*place));
                last = Some(*place);
            }
            let key = (item.clone(), *place);
            let seen = self.seen.get(&key).copied().unwrap_or_default();
            let name = format!("{} ({})", w.item(item), w.place(*place));
            if let Some(count) = stepper::ui(ui, w, &name, seen, 999) {
                self.seen.insert(key, count);
            }
        }
        let bar = BigBar::new(w.count_taken, w.count_taken_more);
        bar.ui(ui).tapped.then(|| {
            let lines = list
                .into_iter()
                .map(|key| CountLine {
                    count: self.seen.get(&key).copied().unwrap_or_default(),
                    item: key.0,
                    place: key.1,
                })
                .collect();
            Sheet::Sign(SignedAct::Count(lines))
        })
    }
}
