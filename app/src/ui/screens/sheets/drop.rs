//! Something fell: what, from where. A tap on a line chooses it; the foot says that it fell.

use std::path::PathBuf;

use egui::Ui;
use trayzero_core::engine::ValveName;
use trayzero_core::job::{Event, Stage};
use trayzero_core::parts::{Item, Place};

use super::chips;
use super::foot::{Foot, Offer};
use crate::ui::intent::Intent;
use crate::ui::screens::{frame, pictures};
use crate::ui::theme::Type;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;

/// What fell.
#[derive(Clone, Debug, PartialEq)]
enum Fallen {
    /// So many locks flew off while they came out.
    Locks(u8),
    /// One of an item, from a bank where it was aboard one.
    Part(Item, Option<u8>),
}

/// What is chosen on the sheet.
#[derive(Default)]
pub struct DropForm {
    from: Option<Place>,
    fallen: Option<Fallen>,
    along: Vec<PathBuf>,
}

/// Places that things fall from.
const FROM: [Place; 5] = [
    Place::Tray,
    Place::Kit,
    Place::Aboard,
    Place::Stock,
    Place::Aside,
];

impl DropForm {
    /// Draws the sheet. `is_blind` while somebody counts: no figure is shown then.
    pub fn ui(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        (valve, is_blind): (Option<ValveName>, bool),
        out: &mut Vec<Intent>,
    ) {
        let w = v.words;
        self.stray_lock(ui, v, job, valve);
        frame::group(ui, w.dropped_from);
        let from = *self.from.get_or_insert(Place::Tray);
        let names = FROM.map(|p| w.place(p).to_owned());
        if let Some(i) = chips::ui(ui, &names, 3, |i| FROM[i] == from) {
            self.from = Some(FROM[i]);
            self.fallen = None;
        }
        frame::group(ui, w.what_dropped);
        let mut any = false;
        for (item, bank, there) in at(job, from) {
            any = true;
            let there = w.items_n(&item, there);
            let name = w.item(&item);
            let fallen = Fallen::Part(item, bank);
            let button = Button::new(&name).more(if is_blind { "" } else { &there });
            let is_chosen = self.fallen.as_ref() == Some(&fallen);
            if button.chosen(is_chosen).ui(ui).tapped {
                self.fallen = Some(fallen);
            }
        }
        if !any {
            frame::line(ui, w.none, Type::Body, true);
        }
        pictures::along(ui, v, &mut self.along, out);
    }

    /// The usual case: a lock flew while both came out.
    fn stray_lock(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        valve: Option<ValveName>,
    ) {
        let Some((valve, layout)) = valve.zip(job.layout()) else {
            return;
        };
        let held = job
            .state
            .valve(valve)
            .is_some_and(trayzero_core::job::ValveState::is_spring_held);
        if !held {
            return;
        }
        for locks_dropped in 1..=layout.locks_per_valve {
            let kept = layout.locks_per_valve - locks_dropped;
            let more = v.words.locks_in_tray(u32::from(kept));
            let title = v.words.locks_dropped(u32::from(locks_dropped));
            let is_chosen = self.fallen == Some(Fallen::Locks(locks_dropped));
            let button = Button::new(&title).more(&more).chosen(is_chosen);
            if button.ui(ui).tapped {
                self.fallen = Some(Fallen::Locks(locks_dropped));
            }
        }
    }

    /// That it fell.
    pub fn foot(&self, v: &View<'_>) -> Foot {
        let w = v.words;
        let missing = self.fallen.is_none().then(|| w.choose_above.to_owned());
        Foot::of_deed(Offer::unless(w.it_fell, w.adrift_from_now_on, missing))
    }

    /// It is adrift from now on; gives the sentence that says so.
    pub fn act(&mut self, v: &View<'_>, valve: Option<ValveName>, out: &mut Vec<Intent>) -> String {
        let w = v.words;
        let from = self.from.unwrap_or(Place::Tray);
        let along = std::mem::take(&mut self.along);
        match (self.fallen.take(), valve) {
            (Some(Fallen::Locks(locks_dropped)), Some(valve)) => {
                let seen = Event::StageSeen {
                    valve,
                    stage: Stage::LocksOut,
                    locks_dropped,
                    seals_spoiled: 0,
                };
                out.push(Intent::tap_with(vec![seen], along));
                w.moves_to(
                    &w.items_n(&Item::Lock, locks_dropped.into()),
                    w.place(Place::Adrift),
                )
            }
            (Some(Fallen::Part(item, bank)), valve) => {
                let says = w.moves_to(&w.items_n(&item, 1), w.place(Place::Adrift));
                let dropped = Event::PartDropped {
                    item,
                    count: 1,
                    from,
                    bank,
                    valve: valve.filter(|_| from == Place::Tray),
                };
                out.push(Intent::tap_with(vec![dropped], along));
                says
            }
            _ => String::new(),
        }
    }
}

/// What lies at a place: item, bank where it is aboard one, how many.
fn at(job: &JobView<'_>, from: Place) -> Vec<(Item, Option<u8>, u32)> {
    if from == Place::Aboard {
        return (0..job.state.bank_count())
            .flat_map(|bank| {
                job.state
                    .bank(bank)
                    .into_iter()
                    .flat_map(|b| b.aboard.iter())
                    .map(move |(item, n)| (item.clone(), Some(bank as u8), *n))
            })
            .collect();
    }
    job.state
        .ledger()
        .accounts()
        .map(|(item, account)| (item, None, account.at(from)))
        .filter(|(_, _, n)| *n > 0)
        .collect()
}
