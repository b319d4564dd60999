//! The order list: what this job needs, what was issued and used, what goes back. A tap on
//! a line chooses it; what is chosen is done at the foot.

use egui::Ui;
use trayzero_core::job::Event;
use trayzero_core::parts::Item;
use trayzero_core::record::{OrderListRow, order_list};

use super::foot::{Foot, Offer};
use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;

/// What is chosen on the sheet.
#[derive(Default)]
pub struct OrderListForm {
    choice: Option<(String, Event)>,
}

impl OrderListForm {
    /// Draws the sheet.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
        let w = v.words;
        for (index, row) in order_list(job.state).into_iter().enumerate() {
            let name = match row.names.first() {
                Some(name) => name.clone(),
                None => w.item(&row.counted_as),
            };
            frame::group(ui, &name);
            let text = format!(
                "{} {} · {} {} · {} {} · {} {}",
                w.to_order,
                row.to_order,
                w.issued,
                row.issued,
                w.used,
                row.used,
                w.goes_back,
                row.goes_back
            );
            frame::line(ui, &text, Type::Body, false);
            ui.push_id(index, |ui| self.lines(ui, v, job, &row, &name));
        }
    }

    /// What may be done with one row.
    fn lines(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        row: &OrderListRow,
        name: &str,
    ) {
        let w = v.words;
        let item = &row.counted_as;
        let short = row.to_order.saturating_sub(row.issued);
        let all_verified = job.state.verified_count() == job.state.valves().count();
        let counted = |count: u32| (item.clone(), count);
        if short > 0 {
            let (item, count) = counted(short);
            let title = format!("{}: {}", w.issue_parts, named(v, &item, name, count));
            self.line(ui, title, Event::StockIssued { item, count });
        }
        if matches!(item, Item::Other(_)) && row.goes_back > 0 {
            let (item, count) = counted(1);
            let title = format!("{}: {}", w.fitted, named(v, &item, name, count));
            self.line(ui, title, Event::PartUsed { item, count });
        }
        if row.goes_back > 0 && all_verified {
            let (item, count) = counted(row.goes_back);
            let title = format!("{}: {}", w.return_parts, named(v, &item, name, count));
            self.line(ui, title, Event::StockReturned { item, count });
        }
    }

    fn line(&mut self, ui: &mut Ui, title: String, event: Event) {
        let is_chosen = self.choice.as_ref().is_some_and(|(_, e)| *e == event);
        if Button::new(&title).chosen(is_chosen).ui(ui).tapped {
            self.choice = (!is_chosen).then_some((title, event));
        }
    }

    /// What is done with the choice.
    pub fn foot(&self, v: &View<'_>, job: &JobView<'_>) -> Foot {
        let w = v.words;
        let name = match &self.choice {
            None | Some((_, Event::StockIssued { .. })) => w.issue_it,
            Some((_, Event::PartUsed { .. })) => w.fitted,
            Some(_) => w.give_it_back,
        };
        let missing = match &self.choice {
            _ if job.read_only.is_some() => Some(w.read_only),
            None => Some(w.choose_above),
            Some(_) => None,
        };
        Foot::of_deed(Offer::unless(name, "", missing.map(str::to_owned)))
    }

    /// Does what is chosen; gives the sentence that says what was done.
    pub fn act(&mut self, out: &mut Vec<Intent>) -> String {
        let Some((says, event)) = self.choice.take() else {
            return String::new();
        };
        out.push(Intent::Tap(vec![event]));
        says
    }
}

/// How many of what: in the shop's own word where the layout has one.
fn named(v: &View<'_>, item: &Item, name: &str, count: u32) -> String {
    if v.words.item(item) == name {
        v.words.items_n(item, count)
    } else {
        format!("{count} × {name}")
    }
}
