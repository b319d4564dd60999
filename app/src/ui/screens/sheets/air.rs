//! Air on: the window, the suggested pressure in one big figure, and what the regulator
//! reads. The reading is entered by whoever reads it; nothing stands in its place before.

use egui::Ui;
use trayzero_core::bench::{AirAnswer, AirQuestion, Verdict, air_window_curve};
use trayzero_core::engine::Layout;
use trayzero_core::job::Event;

use super::Sheet;
use super::foot::{Foot, Offer};
use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::units::{self, Measured};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::keyboard::Keys;
use crate::ui::widgets::keys;
use crate::ui::widgets::paint;
use crate::ui::widgets::text_field::TextField;
use crate::ui::widgets::window_chart::WindowChart;

/// What is typed into the sheet.
#[derive(Default)]
pub struct AirForm {
    typed: String,
}

/// The question of a cylinder where it stands. A torque counts as measured only if it was.
fn question(job: &JobView<'_>, cylinder: u8, pressure_bar: Option<f64>) -> AirQuestion {
    let here = job.state.crank().filter(|c| c.cylinder == cylinder);
    let breakaway = job.state.breakaway_nm();
    AirQuestion {
        off_tdc_deg: here.map_or(0.0, |c| c.off_top_deg()),
        pressure_bar,
        breakaway_nm: breakaway
            .filter(|(_, measured)| *measured)
            .map(|(nm, _)| nm),
    }
}

impl AirForm {
    /// Draws the sheet; gives the one to open next.
    pub fn ui(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        cylinder: u8,
    ) -> Option<Sheet> {
        let layout = job.layout()?;
        let layout = &*v.settings.rated(layout);
        let ask = question(job, cylinder, None);
        let answer = match ask.answer(layout) {
            Ok(answer) => answer,
            Err(fault) => {
                frame::line(ui, &fault.to_string(), Type::Body, false);
                return None;
            }
        };
        suggestion(ui, v, &answer);
        let label = units::field(v.words.regulator_reads, Measured::Pressure, v.units);
        TextField::new(&label, &mut self.typed)
            .keys(Keys::Figure)
            .ui(ui, v.words);
        keys::figure(ui, v.words, &mut self.typed);
        self.verdict(ui, v, job, cylinder, layout);
        let hold = Button::new(v.words.hold_without_air).more(v.words.mechanical_hold);
        let next = hold.ui(ui).tapped.then_some(Sheet::Hold(cylinder));
        chart(ui, v, layout, &answer, &ask);
        frame::line(ui, v.words.other_springs_not_in, Type::Small, true);
        next
    }

    /// The big bar, once a reading is there.
    pub fn foot(&self, v: &View<'_>, cylinder: u8) -> Foot {
        let missing = self
            .read_bar(v)
            .is_none()
            .then(|| v.words.enter_regulator.to_owned());
        let title = v.words.bar_air_on(cylinder);
        Foot::of_bar(Offer::unless(title, v.words.bar_air_seen, missing)).by_pedal()
    }

    /// Air is on as it was read.
    pub fn act(&self, v: &View<'_>, cylinder: u8, out: &mut Vec<Intent>) {
        if let Some(bar) = self.read_bar(v) {
            out.push(Intent::Tap(vec![Event::AirOn { cylinder, bar }]));
        }
    }

    fn read_bar(&self, v: &View<'_>) -> Option<f64> {
        let bar = units::read_pressure(&self.typed, v.units).ok()?;
        (bar > 0.0).then_some(bar)
    }

    /// What the reading comes to, in a line that keeps its room.
    fn verdict(&self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, cylinder: u8, layout: &Layout) {
        let read = units::read_pressure(&self.typed, v.units);
        let text = match &read {
            _ if self.typed.trim().is_empty() => String::new(),
            Err(why) => why.clone(),
            Ok(bar) => {
                let answer = question(job, cylinder, Some(*bar)).answer(layout).ok();
                let verdict = answer.and_then(|a| a.verdict);
                verdict_words(v, verdict).to_owned()
            }
        };
        if text.is_empty() {
            ui.add_space(paint::line_height(ui, Type::Strong));
        } else {
            frame::line(ui, &text, Type::Strong, false);
        }
    }
}

fn suggestion(ui: &mut Ui, v: &View<'_>, answer: &AirAnswer) {
    let w = v.words;
    match (answer.suggested_bar, answer.lowest_bar) {
        (Some(bar), _) => {
            frame::line(ui, w.suggested, Type::Body, true);
            frame::line(ui, &units::pressure(bar, v.units), Type::Figure, false);
        }
        // Without the seats nothing is known of a window; it is not that there is none.
        (None, None) => frame::line(ui, w.no_seats, Type::Strong, false),
        (None, Some(_)) => frame::line(ui, w.no_window, Type::Strong, false),
    }
    let rests_on = if answer.breakaway.measured {
        w.measured
    } else {
        w.assumed
    };
    let torque = units::torque(answer.breakaway.torque_nm, v.units);
    let text = format!("{} {torque}, {rests_on}", w.breakaway);
    frame::line(ui, &text, Type::Small, true);
}

fn verdict_words(v: &View<'_>, verdict: Option<Verdict>) -> &'static str {
    let w = v.words;
    match verdict {
        Some(Verdict::Hold) => w.holds_and_stays,
        Some(Verdict::MayTurn) => w.may_turn,
        Some(Verdict::TooLow) => w.too_low,
        Some(Verdict::OverRating) => w.over_rating,
        _ => "",
    }
}

fn chart(ui: &mut Ui, v: &View<'_>, layout: &Layout, answer: &AirAnswer, ask: &AirQuestion) {
    let angles: Vec<f64> = (-45..=45).map(f64::from).collect();
    let Ok(curve) = air_window_curve(layout, ask.breakaway_nm, &angles) else {
        return;
    };
    let turns_above: Vec<(f64, f64)> = curve
        .iter()
        .map(|p| (p.off_tdc_deg, p.highest_bar))
        .collect();
    let Some(lowest_bar) = answer.lowest_bar else {
        return;
    };
    let at_bar = answer.suggested_bar;
    let spoken = at_bar.map_or_else(
        || v.words.no_window.to_owned(),
        |bar| format!("{} {}", v.words.suggested, units::pressure(bar, v.units)),
    );
    let height = 220.0 + 60.0 * (Theme::of(ui.ctx()).scale() - 1.0);
    WindowChart {
        turns_above: &turns_above,
        lowest_bar,
        rating_bar: layout.pressure_rating_bar,
        at_deg: ask.off_tdc_deg,
        at_bar,
        unit: &units::unit(Measured::Pressure, v.units),
        units_per_bar: units::pressure_units_per_bar(v.units),
        spoken: &spoken,
    }
    .ui(ui, v.words, height);
}
