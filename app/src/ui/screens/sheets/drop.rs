//! Something fell: what, how many, from where. One tap for the usual case.

use egui::Ui;
use trayzero_core::engine::ValveName;
use trayzero_core::job::{Event, Stage};
use trayzero_core::parts::{Item, Place};

use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;

/// What is chosen on the sheet.
#[derive(Default)]
pub struct DropForm {
    from: Option<Place>,
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
    /// Draws the sheet.
    pub fn ui(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        valve: Option<ValveName>,
        out: &mut Vec<Intent>,
    ) {
        let w = v.words;
        stray_lock(ui, v, job, valve, out);
        frame::group(ui, w.dropped_from);
        let from = *self.from.get_or_insert(Place::Tray);
        let names: Vec<String> = FROM.iter().map(|p| w.place(*p).to_owned()).collect();
        let height = names
            .iter()
            .map(|n| Button::new(n).height(ui, ui.available_width() / 3.2))
            .fold(crate::ui::theme::TARGET, f32::max);
        for row in FROM.chunks(3) {
            let rects = frame::columns(ui, 3, height);
            for (place, rect) in row.iter().zip(rects) {
                let name = w.place(*place);
                if Button::new(name).chosen(*place == from).at(ui, rect).tapped {
                    self.from = Some(*place);
                }
            }
        }
        frame::group(ui, w.what_dropped);
        let mut any = false;
        for (item, bank, there) in at(job, from) {
            any = true;
            let there = w.items_n(&item, there);
            let name = w.item(&item);
            if Button::new(&name).more(&there).ui(ui).tapped {
                out.push(Intent::Tap(vec![Event::PartDropped {
                    item,
                    count: 1,
                    from,
                    bank,
                    valve: valve.filter(|_| from == Place::Tray),
                }]));
            }
        }
        if !any {
            frame::line(ui, w.none, Type::Body, true);
        }
    }
}

/// The usual case: a lock flew while both came out.
fn stray_lock(
    ui: &mut Ui,
    v: &View<'_>,
    job: &JobView<'_>,
    valve: Option<ValveName>,
    out: &mut Vec<Intent>,
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
    for strays in 1..=layout.locks_per_valve {
        let kept = layout.locks_per_valve - strays;
        let more = v.words.locks_in_tray(u32::from(kept));
        let title = v.words.strays(u32::from(strays));
        if Button::new(&title).more(&more).ui(ui).tapped {
            out.push(Intent::Tap(vec![Event::StageSeen {
                valve,
                stage: Stage::LocksOut,
                strays,
                nicked: 0,
            }]));
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
