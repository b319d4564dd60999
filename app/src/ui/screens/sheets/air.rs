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
use crate::ui::theme::{GAP, Theme, Type};
use crate::ui::units::{self, PRESSURE};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::keyboard::Keys;
use crate::ui::widgets::keys;
use crate::ui::widgets::paint;
use crate::ui::widgets::text_field::{self, TextField};
use crate::ui::widgets::window_chart::WindowChart;
use crate::ui::words::Words;

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
                frame::line(ui, &v.words.error(&fault), Type::Body, false);
                return None;
            }
        };
        let verdict = self.verdict(v, job, cylinder, layout);
        if keys::figure_is_low(ui, v.words, usual_height(ui)) {
            self.low(ui, v, &answer, &verdict);
        } else {
            suggestion(ui, v, &answer);
            self.field(ui, v);
            keys::figure(ui, v.words, &mut self.typed);
            if verdict.is_empty() {
                ui.add_space(paint::line_height(ui, Type::Strong));
            } else {
                frame::line(ui, &verdict, Type::Strong, false);
            }
        }
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
        let bar = units::read(&PRESSURE, &self.typed, v.units).ok()?;
        (bar > 0.0).then_some(bar)
    }

    fn field(&mut self, ui: &mut Ui, v: &View<'_>) {
        let label = units::field(v.words.regulator_reads, &PRESSURE, v.units);
        TextField::new(&label, &mut self.typed)
            .keys(Keys::Figure)
            .ui(ui, v.words);
    }

    /// The same in a low room: what is suggested and what the reading comes to stand beside
    /// the field, so that no key has to be scrolled to. The rest comes below the keys.
    fn low(&mut self, ui: &mut Ui, v: &View<'_>, answer: &AirAnswer, verdict: &str) {
        let w = v.words;
        let bar = answer
            .suggested_bar
            .map(|bar| units::pressure(bar, v.units));
        let says = [bar.as_deref().unwrap_or(w.none), verdict];
        let label = units::field(w.regulator_reads, &PRESSURE, v.units);
        beside_field(ui, w, (&label, &mut self.typed), w.suggested, says);
        keys::figure_low(ui, w, &mut self.typed);
        if answer.suggested_bar.is_none() {
            frame::line(ui, why_none(v, answer), Type::Strong, false);
        }
        rests_on(ui, v, answer);
    }

    /// What the reading comes to; nothing while there is none.
    fn verdict(&self, v: &View<'_>, job: &JobView<'_>, cylinder: u8, layout: &Layout) -> String {
        match units::read(&PRESSURE, &self.typed, v.units) {
            _ if self.typed.trim().is_empty() => String::new(),
            Err(why) => v.words.error(&why),
            Ok(bar) => {
                let answer = question(job, cylinder, Some(bar)).answer(layout).ok();
                verdict_words(v, answer.and_then(|a| a.verdict)).to_owned()
            }
        }
    }
}

/// A field for a figure, and beside it what is to be known while it is filled.
pub fn beside_field(
    ui: &mut Ui,
    w: &Words,
    (label, typed): (&str, &mut String),
    name: &str,
    says: [&str; 2],
) {
    let all = ui.available_rect_before_wrap();
    let wide = (all.width() * 0.6).floor();
    let mut left = frame::child(ui, all.with_max_x(all.left() + wide), "figure");
    left.spacing_mut().item_spacing.y = GAP;
    TextField::new(label, typed)
        .keys(Keys::Figure)
        .ui(&mut left, w);
    let used = left.min_rect();
    let beside = all
        .with_min_x(all.left() + wide + GAP)
        .with_max_y(used.bottom());
    let mut right = frame::child(ui, beside, "beside the figure");
    right.spacing_mut().item_spacing.y = 0.0;
    frame::line(&mut right, name, Type::Small, true);
    frame::line(&mut right, says[0], Type::Strong, false);
    if !says[1].is_empty() {
        frame::line(&mut right, says[1], Type::Small, false);
    }
    ui.allocate_rect(used, egui::Sense::hover());
}

/// What stands above the keys and right below them, where there is room.
fn usual_height(ui: &Ui) -> f32 {
    let lines = [Type::Body, Type::Figure, Type::Small, Type::Strong];
    let lines = lines.map(|line| paint::line_height(ui, line) + GAP);
    lines.into_iter().sum::<f32>() + text_field::height(ui) + GAP
}

/// Why no pressure is suggested.
fn why_none(v: &View<'_>, answer: &AirAnswer) -> &'static str {
    // Without the seats nothing is known of a window; it is not that there is none.
    match answer.lowest_bar {
        None => v.words.no_seats,
        Some(_) => v.words.no_window,
    }
}

fn suggestion(ui: &mut Ui, v: &View<'_>, answer: &AirAnswer) {
    if let Some(bar) = answer.suggested_bar {
        frame::line(ui, v.words.suggested, Type::Body, true);
        frame::line(ui, &units::pressure(bar, v.units), Type::Figure, false);
    } else {
        frame::line(ui, why_none(v, answer), Type::Strong, false);
    }
    rests_on(ui, v, answer);
}

/// The torque that the figures rest on.
fn rests_on(ui: &mut Ui, v: &View<'_>, answer: &AirAnswer) {
    let w = v.words;
    let how = if answer.breakaway.measured {
        w.measured
    } else {
        w.assumed
    };
    let torque = units::torque(answer.breakaway.torque_nm, v.units);
    let text = format!("{} {torque}, {how}", w.breakaway);
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
        unit: PRESSURE.unit(v.units.system),
        units_per_bar: units::pressure_units_per_bar(v.units),
        spoken: &spoken,
    }
    .ui(ui, v.words, height);
}
