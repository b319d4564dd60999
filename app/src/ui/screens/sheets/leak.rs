//! A leak-down reading: two gauges and where the air is heard, and what that comes to.

use egui::Ui;
use trayzero_core::bench::{LeakClass, LeakReading, can_hold};
use trayzero_core::job::{Event, HeardAt, Reading};

use super::{chips, leak_chart};
use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Tint, Type};
use crate::ui::units::{self, Measured};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::big_bar::BigBar;
use crate::ui::widgets::text_field::TextField;
use crate::ui::widgets::{keys, note};

/// Where air may be heard.
const HEARD: [HeardAt; 5] = [
    HeardAt::Intake,
    HeardAt::Exhaust,
    HeardAt::OilFiller,
    HeardAt::Coolant,
    HeardAt::NextPlugHole,
];

/// What is typed into the sheet.
#[derive(Default)]
pub struct LeakForm {
    supply: Option<String>,
    cylinder: String,
    heard: Vec<HeardAt>,
}

impl LeakForm {
    /// Draws the sheet.
    pub fn ui(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        cylinder: u8,
        when: Reading,
        out: &mut Vec<Intent>,
    ) {
        let w = v.words;
        let system = v.units;
        let phase = match when {
            Reading::Before => w.before_work,
            Reading::After => w.after_work,
        };
        frame::line(ui, phase, Type::Body, true);
        let usual = || last_supply(job).unwrap_or(6.0);
        let supply = self
            .supply
            .get_or_insert_with(|| units::pressure_figure(usual(), system));
        let label = |label| units::field(label, Measured::Pressure, system);
        TextField::new(&label(w.supply), supply).ui(ui, w);
        TextField::new(&label(w.in_cylinder), &mut self.cylinder).ui(ui, w);
        keys::ui(ui, w, &mut self.cylinder, true);
        let supply_bar = units::read_pressure(supply, system);
        let cylinder_bar = units::read_pressure(&self.cylinder, system);
        frame::group(ui, w.heard_where);
        let names: Vec<String> = HEARD.iter().map(|h| w.heard_at(*h).to_owned()).collect();
        if let Some(index) = chips::ui(ui, &names, 2, |i| self.heard.contains(&HEARD[i])) {
            let heard = HEARD[index];
            if self.heard.contains(&heard) {
                self.heard.retain(|h| *h != heard);
            } else {
                self.heard.push(heard);
            }
        }
        match (supply_bar, cylinder_bar) {
            (Ok(supply_bar), Ok(cylinder_bar)) => {
                self.answer(
                    ui,
                    v,
                    job,
                    (cylinder, when),
                    (supply_bar, cylinder_bar),
                    out,
                );
            }
            (Err(why), _) => frame::line(ui, &why, Type::Body, true),
            (_, Err(why)) if !self.cylinder.is_empty() => {
                frame::line(ui, &why, Type::Body, true);
            }
            _ => {}
        }
        leak_chart::ui(ui, v, job);
    }

    fn answer(
        &self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        (cylinder, when): (u8, Reading),
        (supply_bar, cylinder_bar): (f64, f64),
        out: &mut Vec<Intent>,
    ) {
        let w = v.words;
        let reading = LeakReading {
            supply_bar,
            cylinder_bar,
            orifice_mm: LeakReading::USUAL_ORIFICE_MM,
        };
        let answer = match reading.answer() {
            Ok(answer) => answer,
            Err(fault) => {
                frame::line(ui, &fault.to_string(), Type::Body, true);
                return;
            }
        };
        let loss = w.percent(answer.loss_percent);
        let text = format!("{} {loss}: {}", w.loss, class_words(v, answer.class));
        let flow = units::air_flow(answer.free_air_l_min, v.units);
        let mut more = vec![format!("{} {flow}", w.free_air)];
        if let Some(hole) = answer.leak_diameter_mm {
            let across = units::length(hole, v.units);
            more.push(format!("{} {across}", w.like_a_hole));
        }
        note::ui(ui, &text, &more.join(" · "), tint_of(ui, answer.class));
        for heard in &self.heard {
            frame::line(ui, w.points_to[*heard as usize], Type::Body, false);
        }
        let layout = job.layout().map(|layout| v.settings.rated(layout));
        if let Some(hold) = layout.and_then(|l| can_hold(&l, &reading).ok()) {
            let text = match hold.holds {
                Some(true) => w.can_hold,
                Some(false) => w.cannot_hold,
                None => w.seats_unknown,
            };
            frame::line(ui, text, Type::Strong, false);
        }
        let title = w.bar_leak(cylinder);
        if BigBar::new(&title, w.bar_leak_more).ui(ui).tapped {
            out.push(Intent::Tap(vec![Event::LeakRead {
                cylinder,
                when,
                supply_bar,
                cylinder_bar,
                heard: self.heard.clone(),
            }]));
        }
    }
}

/// Words of a class.
pub fn class_words(v: &View<'_>, class: LeakClass) -> &'static str {
    match class {
        LeakClass::Good => v.words.leak_good,
        LeakClass::Usable => v.words.leak_usable,
        LeakClass::Poor => v.words.leak_poor,
        LeakClass::FindTheLeak => v.words.leak_find,
    }
}

fn tint_of(ui: &Ui, class: LeakClass) -> Tint {
    let c = Theme::of(ui.ctx()).colours;
    match class {
        LeakClass::Good => c.done,
        LeakClass::Usable | LeakClass::Poor => c.open,
        LeakClass::FindTheLeak => c.astray,
    }
}

/// The supply of the latest reading in this job, so that it need not be typed again.
fn last_supply(job: &JobView<'_>) -> Option<f64> {
    job.state.facts().iter().rev().find_map(|f| match f.event {
        Event::LeakRead { supply_bar, .. } => Some(supply_bar),
        _ => None,
    })
}
