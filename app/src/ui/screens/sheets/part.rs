//! A part is changed, taken from stock, put away, issued or given back.

use egui::Ui;
use trayzero_core::engine::ValveName;
use trayzero_core::job::{Event, Stage};
use trayzero_core::parts::{Item, Place};

use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::stepper;

/// What is chosen on the sheet.
#[derive(Default)]
pub struct PartForm {
    issue: [u32; 5],
}

/// Parts that come new from the store.
const FROM_STORE: [Item; 5] = [
    Item::NewSeal,
    Item::Lock,
    Item::Retainer,
    Item::Spring,
    Item::Follower,
];

impl PartForm {
    /// Draws the sheet.
    pub fn ui(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        valve: Option<ValveName>,
        out: &mut Vec<Intent>,
    ) {
        if let Some(valve) = valve {
            replace(ui, v, job, valve, out);
        }
        tray(ui, v, job, out);
        self.store(ui, v, job, out);
    }

    fn store(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) {
        let w = v.words;
        frame::group(ui, w.issue_parts);
        for (place, item) in FROM_STORE.iter().enumerate() {
            let there = job.state.ledger().at(item, Place::Stock);
            let name = format!("{} ({} {there})", w.item(item), w.place(Place::Stock));
            if let Some(count) = stepper::ui(ui, w, &name, self.issue[place], 999) {
                self.issue[place] = count;
            }
        }
        let events = |make: fn(Item, u32) -> Event| -> Vec<Event> {
            FROM_STORE
                .iter()
                .zip(self.issue)
                .filter(|(_, count)| *count > 0)
                .map(|(item, count)| make(item.clone(), count))
                .collect()
        };
        let issued = events(|item, count| Event::StockIssued { item, count });
        let returned = events(|item, count| Event::StockReturned { item, count });
        let any = !issued.is_empty();
        let mut done = false;
        if Button::new(w.issue_parts).enabled(any).ui(ui).tapped {
            out.push(Intent::Tap(issued));
            done = true;
        }
        if Button::new(w.return_parts).enabled(any).ui(ui).tapped {
            out.push(Intent::Tap(returned));
            done = true;
        }
        if done {
            self.issue = [0; 5];
        }
    }
}

/// Old to scrap, new from stock, for the valve in hand.
fn replace(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, valve: ValveName, out: &mut Vec<Intent>) {
    let w = v.words;
    let Some(known) = job.state.valve(valve) else {
        return;
    };
    let mut items = Vec::new();
    if known.is_unlocked() {
        items.extend([Item::Lock, Item::Retainer, Item::Spring]);
    }
    if known.is_open() {
        items.push(Item::Follower);
    }
    if known.stage() == Some(Stage::SealFitted) {
        items.push(Item::NewSeal);
    }
    frame::group(ui, &w.valve(valve));
    if items.is_empty() {
        frame::line(ui, w.no_part_loose, Type::Body, true);
    }
    for item in items {
        let title = w.changed(&w.item(&item));
        if Button::new(&title).more(w.old_to_scrap).ui(ui).tapped {
            out.push(Intent::Tap(vec![Event::PartReplaced {
                valve,
                item,
                count: 1,
            }]));
        }
    }
}

/// New parts for what is adrift, and what is not due home any more.
fn tray(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) {
    let w = v.words;
    let ledger = job.state.ledger();
    frame::group(ui, w.place(Place::Tray));
    for item in &FROM_STORE[1..] {
        if ledger.at(item, Place::Stock) > 0 {
            let title = format!("{}: {}", w.from_stock, w.item(item));
            if Button::new(&title).ui(ui).tapped {
                out.push(Intent::Tap(vec![Event::TakenFromStock {
                    item: item.clone(),
                    count: 1,
                }]));
            }
        }
        if ledger.at(item, Place::Tray) > 0 {
            let title = format!("{}: {}", w.put_away, w.item(item));
            let more = w.place(Place::Scrap);
            if Button::new(&title).more(more).ui(ui).tapped {
                out.push(Intent::Tap(vec![Event::PutAway {
                    item: item.clone(),
                    count: 1,
                    to: Place::Scrap,
                }]));
            }
        }
    }
}
