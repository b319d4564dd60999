//! A leak-down reading: two gauges and where the air is heard, and what that comes to.

use egui::Ui;
use trayzero_core::bench::{BenchError, LeakClass, LeakGauges, can_hold};
use trayzero_core::job::{Event, HeardAt, Reading};

use super::foot::{Foot, Offer};
use super::{chips, leak_chart};
use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::{GAP, Theme, Tint, Type};
use crate::ui::units::{self, PRESSURE};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::keyboard::Keys;
use crate::ui::widgets::text_field::{self, TextField};
use crate::ui::widgets::{keys, note, paint};

/// Where air may be heard.
const HEARD: [HeardAt; 5] = [
    HeardAt::Intake,
    HeardAt::Exhaust,
    HeardAt::OilFiller,
    HeardAt::Coolant,
    HeardAt::NextPlugHole,
];

/// The gauge that the keys write down.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Gauge {
    #[default]
    Supply,
    Cylinder,
}

/// What is typed into the sheet.
#[derive(Default)]
pub struct LeakForm {
    supply: String,
    cylinder: String,
    gauge: Gauge,
    heard: Vec<HeardAt>,
}

impl LeakForm {
    /// Draws the sheet.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
        let w = v.words;
        // The keys come right below the gauges, so that no key has to be scrolled to.
        let gauges = text_field::height(ui) + GAP;
        let is_low = !are_beside(ui, v) || keys::figure_is_low(ui, w, gauges);
        self.gauges(ui, v, is_low);
        if is_low {
            keys::figure_low(ui, w, self.written());
        } else {
            keys::figure(ui, w, self.written());
        }
        self.as_before(ui, v, job);
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
        self.answer(ui, v, job);
        leak_chart::ui(ui, v, job);
    }

    /// Both gauges; what the keys write into has a ring.
    fn gauges(&mut self, ui: &mut Ui, v: &View<'_>, is_low: bool) {
        let w = v.words;
        let [supply, cylinder] = labels(v);
        let is_beside = is_low || are_beside(ui, v);
        // Side by side, so that the keys below them need no scrolling.
        ui.columns(if is_beside { 2 } else { 1 }, |columns| {
            for ui in columns.iter_mut() {
                ui.spacing_mut().item_spacing.y = GAP;
            }
            let fields = [
                (Gauge::Supply, "supply", &supply, &mut self.supply),
                (Gauge::Cylinder, "cylinder", &cylinder, &mut self.cylinder),
            ];
            for (at, (gauge, salt, label, text)) in fields.into_iter().enumerate() {
                let ui = &mut columns[if is_beside { at } else { 0 }];
                let is_written = self.gauge == gauge;
                let field = TextField::new(label, text).salt(salt).keys(Keys::Figure);
                if field.written_into(is_written).respond(ui, w).has_focus() {
                    self.gauge = gauge;
                }
            }
        });
    }

    /// What the keys write into.
    fn written(&mut self) -> &mut String {
        match self.gauge {
            Gauge::Supply => &mut self.supply,
            Gauge::Cylinder => &mut self.cylinder,
        }
    }

    /// The supply of the reading before, in one tap.
    fn as_before(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
        let Some(bar) = last_supply(job) else {
            return;
        };
        let shown = units::pressure(bar, v.units);
        let name = format!("{}: {shown}", v.words.reads_as_before);
        if Button::new(&name).ui(ui).tapped {
            self.supply = units::pressure_figure(bar, v.units);
            self.gauge = Gauge::Cylinder;
        }
    }

    fn reading(&self, v: &View<'_>) -> Result<LeakGauges, BenchError> {
        Ok(LeakGauges {
            supply_bar: units::read(&PRESSURE, &self.supply, v.units)?,
            cylinder_bar: units::read(&PRESSURE, &self.cylinder, v.units)?,
            orifice_mm: LeakGauges::USUAL_ORIFICE_MM,
        })
    }

    /// The big bar, once both gauges are read.
    pub fn foot(&self, v: &View<'_>, cylinder: u8) -> Foot {
        let w = v.words;
        let is_read = |reading: LeakGauges| reading.answer().is_ok();
        let is_good = self.reading(v).is_ok_and(is_read);
        let missing = (!is_good).then(|| w.enter_both_gauges.to_owned());
        let title = w.bar_leak(cylinder);
        Foot::of_bar(Offer::unless(title, w.bar_leak_more, missing))
    }

    /// The reading is taken.
    pub fn act(&self, v: &View<'_>, cylinder: u8, when: Reading, out: &mut Vec<Intent>) {
        if let Ok(reading) = self.reading(v) {
            out.push(Intent::Tap(vec![Event::LeakRead {
                cylinder,
                when,
                supply_bar: reading.supply_bar,
                cylinder_bar: reading.cylinder_bar,
                heard: self.heard.clone(),
            }]));
        }
    }

    fn answer(&self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
        let w = v.words;
        if self.supply.trim().is_empty() || self.cylinder.trim().is_empty() {
            return;
        }
        let answered = |reading: LeakGauges| Ok((reading, reading.answer()?));
        let (reading, answer) = match self.reading(v).and_then(answered) {
            Ok(both) => both,
            Err(fault) => {
                frame::line(ui, &v.words.error(&fault), Type::Body, true);
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
            frame::line(ui, w.points_to(*heard), Type::Body, false);
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
    }
}

/// The labels of both fields.
fn labels(v: &View<'_>) -> [String; 2] {
    [v.words.supply, v.words.in_cylinder].map(|label| units::field(label, &PRESSURE, v.units))
}

/// Whether both fields have room side by side, each with its label on one line.
fn are_beside(ui: &Ui, v: &View<'_>) -> bool {
    let room = ui.available_width() / 2.0 - 2.0 * GAP;
    let ink = egui::Color32::PLACEHOLDER;
    let is_long = |name: &String| paint::text_line(ui, name, Type::Body, ink, room).elided;
    !labels(v).iter().any(is_long)
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

/// The supply of the latest reading in this job, to be taken over where it reads the same.
fn last_supply(job: &JobView<'_>) -> Option<f64> {
    job.state.facts().iter().rev().find_map(|f| match f.event {
        Event::LeakRead { supply_bar, .. } => Some(supply_bar),
        _ => None,
    })
}
