//! A part is changed, taken from stock, put away, issued or given back. A tap on a line
//! chooses it and moves nothing; what is chosen is done at the foot.

use egui::Ui;
use trayzero_core::engine::{Follower, ValveName};
use trayzero_core::job::{Event, Stage};
use trayzero_core::parts::{Item, Place};

use super::foot::{Foot, Offer};
use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::stepper;

/// What is chosen.
#[derive(Clone, Debug, PartialEq)]
enum PartChoice {
    /// Old to scrap, new from stock.
    Replace(ValveName, Item),
    /// What lies at the first valve belongs to the second.
    Swapped(Item, ValveName, ValveName),
    /// A new one from stock into the tray, for one that is adrift.
    FromStock(Item),
    /// One from the tray into the scrap box.
    PutAway(Item),
    /// What is stepped to comes from the store.
    Issue,
    /// What is stepped to goes back to the store.
    GiveBack,
}

/// What is chosen on the sheet.
#[derive(Default)]
pub struct PartForm {
    issue: [u32; 6],
    choice: Option<PartChoice>,
}

/// Parts that come new from the store.
const FROM_STORE: [Item; 6] = [
    Item::NewSeal,
    Item::Lock,
    Item::Retainer,
    Item::Spring,
    Item::Follower,
    Item::Shim,
];

impl PartForm {
    /// Draws the sheet.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, valve: Option<ValveName>) {
        if let Some(valve) = valve {
            self.replace(ui, v, job, valve);
            self.swapped(ui, v, job, valve);
        }
        self.tray(ui, v, job);
        self.store(ui, v, job);
    }

    /// A line that is chosen by a tap.
    fn line(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, choice: PartChoice) {
        let (title, says) = words_of(v, job, &choice);
        let button = Button::new(&title).more(&says);
        let is_chosen = self.choice.as_ref() == Some(&choice);
        if button.chosen(is_chosen).ui(ui).tapped {
            self.choice = (!is_chosen).then_some(choice);
        }
    }

    /// Old to scrap, new from stock, for the valve in hand.
    fn replace(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, valve: ValveName) {
        let w = v.words;
        let items = changeable(job, valve);
        frame::group(ui, &w.valve(valve));
        if items.is_empty() {
            frame::line(ui, w.no_part_loose, Type::Body, true);
        }
        for item in items {
            self.line(ui, v, job, PartChoice::Replace(valve, item));
        }
    }

    /// What belongs to another valve of the same cylinder.
    fn swapped(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, valve: ValveName) {
        let Some(layout) = job.layout().filter(|l| l.follower == Follower::Bucket) else {
            return;
        };
        frame::group(ui, v.words.swapped_parts);
        for own in layout.valves_of(valve.cylinder).filter(|own| *own != valve) {
            self.line(ui, v, job, PartChoice::Swapped(Item::Follower, valve, own));
            if layout.shims() > 0 {
                self.line(ui, v, job, PartChoice::Swapped(Item::Shim, valve, own));
            }
        }
    }

    /// New parts for what is adrift, and what is not due home any more.
    fn tray(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
        let ledger = job.state.ledger();
        frame::group(ui, v.words.place(Place::Tray));
        for item in &FROM_STORE[1..] {
            if ledger.at(item, Place::Stock) > 0 {
                self.line(ui, v, job, PartChoice::FromStock(item.clone()));
            }
            if ledger.at(item, Place::Tray) > 0 {
                self.line(ui, v, job, PartChoice::PutAway(item.clone()));
            }
        }
    }

    fn store(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
        let w = v.words;
        frame::group(ui, w.store_word);
        let has_shims = job.layout().is_some_and(|l| l.shims() > 0);
        for (place, item) in FROM_STORE.iter().enumerate() {
            if *item == Item::Shim && !has_shims {
                continue;
            }
            let there = job.state.ledger().at(item, Place::Stock);
            let name = format!("{} ({} {there})", w.item(item), w.place(Place::Stock));
            if let Some(count) = stepper::ui(ui, w, &name, self.issue[place], 999) {
                self.issue[place] = count;
            }
        }
        self.line(ui, v, job, PartChoice::Issue);
        self.line(ui, v, job, PartChoice::GiveBack);
    }

    /// What is done with the choice.
    pub fn foot(&self, v: &View<'_>) -> Foot {
        let w = v.words;
        let name = match &self.choice {
            None | Some(PartChoice::Replace(..)) => w.change_it,
            Some(PartChoice::Swapped(..)) => w.swapped_parts,
            Some(PartChoice::FromStock(_)) => w.into_the_tray,
            Some(PartChoice::PutAway(_)) => w.into_the_scrap_box,
            Some(PartChoice::Issue) => w.issue_it,
            Some(PartChoice::GiveBack) => w.give_it_back,
        };
        let is_stepped = self.issue.iter().any(|n| *n > 0);
        let missing = match self.choice {
            None => Some(w.choose_above),
            Some(PartChoice::Issue | PartChoice::GiveBack) if !is_stepped => Some(w.step_how_many),
            _ => None,
        };
        Foot::of_deed(Offer::unless(name, "", missing.map(str::to_owned)))
    }

    /// Does what is chosen; gives the sentence that says what was done.
    pub fn act(&mut self, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) -> String {
        let Some(choice) = self.choice.take() else {
            return String::new();
        };
        let (_, says) = words_of(v, job, &choice);
        let issue = std::mem::take(&mut self.issue);
        out.push(Intent::Tap(events_of(job, choice, issue)));
        says
    }
}

/// The parts of a valve that may be changed now.
fn changeable(job: &JobView<'_>, valve: ValveName) -> Vec<Item> {
    let mut items = Vec::new();
    let Some(known) = job.state.valve(valve) else {
        return items;
    };
    if known.is_unlocked() {
        items.extend([Item::Lock, Item::Retainer, Item::Spring]);
    }
    if known.is_open() {
        items.push(Item::Follower);
        if job.layout().is_some_and(|l| l.shims() > 0) {
            items.push(Item::Shim);
        }
    }
    if known.stage() == Some(Stage::SealFitted) {
        items.push(Item::NewSeal);
    }
    items
}

/// A choice by name, and what it will do as a sentence.
fn words_of(v: &View<'_>, job: &JobView<'_>, choice: &PartChoice) -> (String, String) {
    let w = v.words;
    match choice {
        PartChoice::Replace(_, item) => {
            let is_short = job.state.ledger().at(item, Place::Stock) == 0;
            let says = if is_short {
                w.issued_and_changed
            } else {
                w.old_to_scrap
            };
            (w.changed(&w.item(item)), says.to_owned())
        }
        PartChoice::Swapped(item, _, own) => (
            format!("{}: {}", w.item(item), w.valve(*own)),
            w.swapped_parts_more.to_owned(),
        ),
        PartChoice::FromStock(item) => (
            format!("{}: {}", w.from_stock, w.item(item)),
            w.moves_to(&w.items_n(item, 1), w.place(Place::Tray)),
        ),
        PartChoice::PutAway(item) => (
            format!("{}: {}", w.scrap_it, w.item(item)),
            w.moves_to(&w.items_n(item, 1), w.place(Place::Scrap)),
        ),
        PartChoice::Issue => (w.issue_parts.to_owned(), w.issue_says.to_owned()),
        PartChoice::GiveBack => (w.return_parts.to_owned(), w.return_says.to_owned()),
    }
}

/// The events of a choice. What is short is issued with the change that wants it.
fn events_of(job: &JobView<'_>, choice: PartChoice, issue: [u32; 6]) -> Vec<Event> {
    let stepped = |make: fn(Item, u32) -> Event| {
        let all = FROM_STORE.iter().zip(issue);
        let some = all.filter(|(_, count)| *count > 0);
        some.map(|(item, count)| make(item.clone(), count))
            .collect()
    };
    match choice {
        PartChoice::Replace(valve, item) => {
            let is_short = job.state.ledger().at(&item, Place::Stock) == 0;
            let issued = is_short.then(|| Event::StockIssued {
                item: item.clone(),
                count: 1,
            });
            let replaced = Event::PartReplaced {
                valve,
                item,
                count: 1,
            };
            issued.into_iter().chain([replaced]).collect()
        }
        PartChoice::Swapped(item, valve, own) => vec![Event::PartsSwapped { item, valve, own }],
        PartChoice::FromStock(item) => vec![Event::TakenFromStock { item, count: 1 }],
        PartChoice::PutAway(item) => vec![Event::PutAway {
            item,
            count: 1,
            to: Place::Scrap,
        }],
        PartChoice::Issue => stepped(|item, count| Event::StockIssued { item, count }),
        PartChoice::GiveBack => stepped(|item, count| Event::StockReturned { item, count }),
    }
}
