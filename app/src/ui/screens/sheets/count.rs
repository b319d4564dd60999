//! One person's blind count: every kind that may be laid out, one after the other, with
//! no figure to copy from.

use egui::Ui;
use trayzero_core::job::CountLine;

use super::Sheet;
use crate::ui::intent::SignedAct;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::big_bar::BigBar;
use crate::ui::widgets::button::Button;
use crate::ui::widgets::keys;

/// The figures as counted so far, in the order of the list.
#[derive(Default)]
pub struct CountForm {
    seen: Vec<u32>,
    typed: String,
}

impl CountForm {
    /// Draws the sheet; gives the one to open next.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) -> Option<Sheet> {
        let w = v.words;
        let list = job.state.count_list();
        let Some((item, place)) = list.get(self.seen.len()) else {
            return self.summary(ui, v, job);
        };
        frame::line(ui, w.count_what_you_see, Type::Body, true);
        let step = w.n_of_m(self.seen.len() + 1, list.len());
        frame::line(ui, &step, Type::Body, true);
        let name = format!("{}: {}", w.place(*place), w.items_n_word(item));
        frame::line(ui, &name, Type::Heading, false);
        let shown = if self.typed.is_empty() {
            "\u{2013}"
        } else {
            &self.typed
        };
        frame::line(ui, shown, Type::Figure, false);
        keys::ui(ui, w, &mut self.typed, false);
        let count = self.typed.parse::<u32>().ok();
        let mut bar = BigBar::new(w.next_item, "");
        bar.is_enabled = count.is_some();
        if let (true, Some(count)) = (bar.ui(ui).tapped, count) {
            self.seen.push(count);
            self.typed.clear();
        }
        self.back(ui, v);
        None
    }

    /// Everything counted, to be read once more and signed.
    fn summary(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) -> Option<Sheet> {
        let w = v.words;
        let list = job.state.count_list();
        for ((item, place), count) in list.iter().zip(&self.seen) {
            let text = format!("{}: {}", w.place(*place), w.items_n(item, *count));
            frame::line(ui, &text, Type::Body, false);
        }
        let bar = BigBar::new(w.count_taken, w.count_taken_more);
        if bar.ui(ui).tapped {
            let lines = list
                .into_iter()
                .zip(&self.seen)
                .map(|((item, place), count)| CountLine {
                    item,
                    place,
                    count: *count,
                })
                .collect();
            return Some(Sheet::Sign(SignedAct::Count(lines)));
        }
        self.back(ui, v);
        None
    }

    fn back(&mut self, ui: &mut Ui, v: &View<'_>) {
        let any = !self.seen.is_empty();
        if Button::new(v.words.item_before).enabled(any).ui(ui).tapped {
            self.seen.pop();
            self.typed.clear();
        }
    }
}
