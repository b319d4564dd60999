//! The kit list: counted in before the first valve, and what goes aboard later.

use std::collections::BTreeMap;

use egui::Ui;
use trayzero_core::job::Event;
use trayzero_core::parts::{Item, Place};

use super::foot::{Foot, Offer};
use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::{count_row, stepper};

/// What is counted on the sheet: how many, once somebody has counted them.
#[derive(Default)]
pub struct KitForm {
    seen: BTreeMap<Item, count_row::Counted>,
    /// The whole list is counted: the sheet is done with.
    pub is_counted: bool,
}

impl KitForm {
    /// Draws the sheet.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) {
        let w = v.words;
        let missing = job.state.kit_missing();
        if missing.is_empty() {
            aboard(ui, v, job, out);
            return;
        }
        frame::line(ui, w.tick_what_you_count, Type::Body, true);
        for (item, listed) in &missing {
            let line = count_row::Counted {
                count: *listed,
                is_counted: false,
            };
            let line = self.seen.entry(item.clone()).or_insert(line);
            let name = w.items_n_word(item);
            let text = w.items_n(item, line.count);
            count_row::ui(ui, w, &text, &name, line, 999);
        }
    }

    /// The big bar, once every line is ticked. A kit that is counted in needs none.
    pub fn foot(&self, v: &View<'_>, job: &JobView<'_>) -> Foot {
        let w = v.words;
        let missing = job.state.kit_missing();
        if missing.is_empty() {
            return Foot::default();
        }
        let is_open = |(item, _): &&(Item, u32)| !self.seen.get(item).is_some_and(|c| c.is_counted);
        let left = missing.iter().filter(is_open).count();
        let wants = (left > 0).then(|| w.lines_to_count(left));
        Foot::of_bar(Offer::unless(w.bar_kit, "", wants))
    }

    /// The kit is counted in as it was ticked.
    pub fn act(&mut self, job: &JobView<'_>, out: &mut Vec<Intent>) {
        let counted = |(item, _): (Item, u32)| {
            let count = self.seen.get(&item)?.count;
            (count > 0).then_some(Event::KitCounted { item, count })
        };
        let events = job.state.kit_missing().into_iter().filter_map(counted);
        out.push(Intent::Tap(events.collect()));
        self.is_counted = true;
    }
}

/// Rags, plates and the like onto a bank and off again.
fn aboard(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) {
    let w = v.words;
    let Some(layout) = job.layout() else {
        return;
    };
    for (index, bank) in layout.banks.iter().enumerate() {
        frame::group(ui, &w.bank_n(&bank.name));
        ui.push_id(index, |ui| bank_kit(ui, v, job, index, out));
    }
}

/// The kit that may go onto one bank.
fn bank_kit(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, index: usize, out: &mut Vec<Intent>) {
    let w = v.words;
    let number = index as u8;
    for (item, account) in job.state.ledger().accounts() {
        let own_event = matches!(item, Item::VentedCover | Item::Hose | Item::Wrench);
        if !item.is_kit() || own_event {
            continue;
        }
        let there = job
            .state
            .bank(index)
            .and_then(|b| b.aboard.get(&item))
            .copied()
            .unwrap_or_default();
        let most = there + account.at(Place::Kit);
        if let Some(count) = stepper::ui(ui, w, &w.item(&item), there, most) {
            let event = if count > there {
                Event::PutAboard {
                    item,
                    bank: number,
                    count: 1,
                }
            } else {
                Event::TakenOff {
                    item,
                    bank: number,
                    count: 1,
                }
            };
            out.push(Intent::Tap(vec![event]));
        }
    }
}
