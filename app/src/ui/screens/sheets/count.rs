//! One person's blind count: every kind that may be laid out, one after the other, with
//! no figure to copy from. What was entered stays when the sheet is closed.

use egui::Ui;
use trayzero_core::job::{CountLine, CountTaken, JobState, Person};
use trayzero_core::parts::{Item, Place};

use super::Sheet;
use super::foot::{Foot, Offer};
use super::{chips, gate};
use crate::ui::intent::SignedAct;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::keys;
use crate::ui::words::capital;

/// What the count is good for: once parts move or a round is over, it begins anew.
type CountMark = (u64, usize);

/// The figures as counted so far, in the order of the list.
#[derive(Default)]
pub struct CountForm {
    mark: Option<CountMark>,
    /// Who counts, where only what differed is counted anew.
    who: Option<Person>,
    /// Somebody counts who has not counted before.
    is_somebody_else: bool,
    at: usize,
    figures: Vec<Option<u32>>,
    typed: String,
}

impl CountForm {
    /// Whether figures are entered and not signed yet.
    pub fn is_under_way(&self) -> bool {
        !self.typed.is_empty() || self.figures.iter().any(Option::is_some)
    }

    /// Who alone may sign this count.
    pub fn signer(&self) -> Option<&Person> {
        self.who.as_ref()
    }

    /// What is counted now: the name of the sheet, which never scrolls away.
    pub fn title(&self, v: &View<'_>, state: &JobState) -> Option<String> {
        let list = self.list(state);
        let (item, place) = list.get(self.at).filter(|_| !self.asks_who(state))?;
        let place = capital(v.words.place(*place));
        Some(format!("{place}: {}", v.words.items_n_word(item)))
    }

    /// Draws the sheet.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
        let w = v.words;
        self.follow(job.state);
        if self.asks_who(job.state) {
            self.who_counts(ui, v, job);
            return;
        }
        let list = self.list(job.state);
        if list.len() <= self.at {
            frame::line(ui, w.read_once_more, Type::Body, true);
            for ((item, place), count) in list.iter().zip(&self.figures) {
                let count = w.items_n(item, count.unwrap_or_default());
                let text = format!("{}: {count}", w.place(*place));
                frame::line(ui, &text, Type::Body, false);
            }
            return;
        }
        keys::count(ui, w, &mut self.typed);
        let step = w.n_of_m(self.at + 1, list.len());
        let how = format!("{} · {step} · {}", w.blind_count, w.count_what_you_see);
        frame::line(ui, &how, Type::Body, true);
    }

    /// The bar: the next item, or the count as a whole; below it the item before.
    pub fn foot(&self, v: &View<'_>, job: &JobView<'_>) -> Foot {
        let w = v.words;
        let bar = if self.asks_who(job.state) {
            Offer::unless(w.next_item, "", Some(w.who_counts.to_owned()))
        } else if self.at >= self.list(job.state).len() {
            Offer::ready(w.count_taken, w.count_taken_more)
        } else {
            let is_missing = self.typed.parse::<u32>().is_err();
            let missing = is_missing.then(|| w.enter_what_you_see.to_owned());
            Offer::unless(w.next_item, "", missing)
        };
        let is_first = (self.at == 0).then(|| w.this_is_the_first.to_owned());
        let before = Offer::unless(w.item_before, "", is_first);
        Foot {
            bar: Some(bar),
            deed: Some(before),
            ..Foot::default()
        }
    }

    /// A tap on the bar; gives the sheet that signs the whole count.
    pub fn next(&mut self, job: &JobView<'_>) -> Option<Sheet> {
        let list = self.list(job.state);
        if self.at >= list.len() {
            return Some(Sheet::Sign(SignedAct::Count(self.lines(job.state, list))));
        }
        if let Ok(count) = self.typed.parse() {
            self.figures.resize(list.len(), None);
            self.figures[self.at] = Some(count);
            self.go_to(self.at + 1);
        }
        None
    }

    /// The item before, with the figure that was entered for it.
    pub fn back(&mut self) {
        if let Ok(count) = self.typed.parse()
            && let Some(figure) = self.figures.get_mut(self.at)
        {
            *figure = Some(count);
        }
        self.go_to(self.at.saturating_sub(1));
    }

    fn go_to(&mut self, at: usize) {
        self.at = at;
        let figure = self.figures.get(at).copied().flatten();
        self.typed = figure.map_or_else(String::new, |n| n.to_string());
    }

    /// Begins anew where what was entered is good for nothing any more.
    fn follow(&mut self, state: &JobState) {
        let mark = (state.moves(), state.round_counts().len());
        if self.mark != Some(mark) {
            *self = Self {
                mark: Some(mark),
                ..Self::default()
            };
        }
    }

    fn asks_who(&self, state: &JobState) -> bool {
        state.count_again().is_some() && self.who.is_none() && !self.is_somebody_else
    }

    /// Two who have counted need to count again only what did not come out the same.
    fn who_counts(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
        let w = v.words;
        let Some(again) = job.state.count_again() else {
            return;
        };
        frame::line(ui, &gate::to_count_again(v, &again), Type::Body, false);
        frame::line(ui, w.else_counts_all, Type::Body, false);
        frame::line(ui, w.who_counts, Type::Strong, false);
        let people: Vec<Person> = again.counts.iter().map(|c| c.by.clone()).collect();
        let mut names: Vec<String> = people.iter().map(ToString::to_string).collect();
        names.push(w.somebody_else.to_owned());
        if let Some(i) = chips::ui(ui, &names, names.len(), |_| false) {
            self.who = people.get(i).cloned();
            self.is_somebody_else = self.who.is_none();
        }
    }

    /// What this person counts.
    fn list(&self, state: &JobState) -> Vec<(Item, Place)> {
        match (&self.who, state.count_again()) {
            (Some(_), Some(again)) => again.items,
            _ => state.count_list(),
        }
    }

    /// The count as it is signed: the figures entered, and where only some things were
    /// counted anew, this person's own figures of before for the rest.
    fn lines(&self, state: &JobState, list: Vec<(Item, Place)>) -> Vec<CountLine> {
        let entered = list.into_iter().zip(&self.figures);
        let mut lines: Vec<CountLine> = entered
            .filter_map(|((item, place), count)| {
                Some(CountLine {
                    item,
                    place,
                    count: (*count)?,
                })
            })
            .collect();
        let again = state.count_again();
        let by_them = |c: &&CountTaken| Some(&c.by) == self.who.as_ref();
        let before = again.and_then(|again| again.counts.into_iter().find(by_them));
        for line in before.into_iter().flat_map(|c| &c.lines) {
            let is_new = |l: &CountLine| (&l.item, l.place) == (&line.item, line.place);
            if !lines.iter().any(is_new) {
                lines.push(line.clone());
            }
        }
        lines
    }
}
