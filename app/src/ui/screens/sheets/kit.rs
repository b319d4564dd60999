//! The kit list: counted in before the first valve, and what goes aboard later.

use std::collections::BTreeMap;

use egui::Ui;
use trayzero_core::job::Event;
use trayzero_core::parts::{Item, Place};

use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::big_bar::BigBar;
use crate::ui::widgets::stepper;

/// What is counted on the sheet.
#[derive(Default)]
pub struct KitForm {
    seen: BTreeMap<Item, u32>,
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
        frame::line(ui, w.count_what_you_see, Type::Body, true);
        for (item, listed) in &missing {
            let seen = *self.seen.entry(item.clone()).or_insert(*listed);
            if let Some(count) = stepper::ui(ui, w, &w.item(item), seen, 999) {
                self.seen.insert(item.clone(), count);
            }
        }
        if BigBar::new(w.bar_kit, "").ui(ui).tapped {
            let events = missing
                .iter()
                .map(|(item, listed)| (item, self.seen.get(item).copied().unwrap_or(*listed)))
                .filter(|(_, count)| *count > 0)
                .map(|(item, count)| Event::KitCounted {
                    item: item.clone(),
                    count,
                })
                .collect();
            out.push(Intent::Tap(events));
            self.is_counted = true;
        }
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
