//! Air on: the window, the suggested pressure in one big figure, and what the regulator
//! reads.

use egui::Ui;
use trayzero_core::bench::{AirAnswer, AirQuestion, Verdict, air_window_curve};
use trayzero_core::engine::Layout;
use trayzero_core::job::{Event, HoldKind};

use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::units::{self, Measured};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::big_bar::BigBar;
use crate::ui::widgets::button::Button;
use crate::ui::widgets::keys;
use crate::ui::widgets::text_field::TextField;
use crate::ui::widgets::window_chart::WindowChart;

/// What is typed into the sheet.
#[derive(Default)]
pub struct AirForm {
    typed: Option<String>,
}

impl AirForm {
    /// Draws the sheet.
    pub fn ui(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        cylinder: u8,
        out: &mut Vec<Intent>,
    ) {
        let Some(layout) = job.layout() else {
            return;
        };
        let layout = &*v.settings.rated(layout);
        let offset = job
            .state
            .crank()
            .filter(|c| c.cylinder == cylinder)
            .map_or(0.0, |c| c.offset_deg);
        let breakaway = job.state.breakaway_nm().map(|(nm, _)| nm);
        let ask = |pressure_bar| AirQuestion {
            off_tdc_deg: offset,
            pressure_bar,
            breakaway_nm: breakaway,
        };
        let answer = match ask(None).answer(layout) {
            Ok(answer) => answer,
            Err(fault) => {
                frame::line(ui, &fault.to_string(), Type::Body, false);
                return;
            }
        };
        suggestion(ui, v, &answer);
        let text = self.typed.get_or_insert_with(|| {
            let bar = answer.suggested_bar.unwrap_or(0.0);
            if bar > 0.0 {
                units::pressure_figure(bar, v.units)
            } else {
                String::new()
            }
        });
        let label = units::field(v.words.regulator_reads, Measured::Pressure, v.units);
        TextField::new(&label, text).ui(ui, v.words);
        keys::ui(ui, v.words, text, true);
        let bar = units::read_pressure(text, v.units);
        let judged = bar
            .as_ref()
            .ok()
            .and_then(|bar| ask(Some(*bar)).answer(layout).ok());
        verdict(ui, v, judged.as_ref().and_then(|a| a.verdict));
        match bar {
            Ok(bar) => {
                let title = v.words.bar_air_on(cylinder);
                if BigBar::new(&title, v.words.bar_air_seen).ui(ui).tapped {
                    out.push(Intent::Tap(vec![Event::AirOn { cylinder, bar }]));
                }
            }
            Err(why) => frame::line(ui, &why, Type::Body, false),
        }
        chart(ui, v, layout, &answer, breakaway, offset);
        frame::line(ui, v.words.other_springs_not_in, Type::Small, true);
        holds(ui, v, cylinder, out);
    }
}

fn suggestion(ui: &mut Ui, v: &View<'_>, answer: &AirAnswer) {
    let w = v.words;
    match answer.suggested_bar {
        Some(bar) => {
            frame::line(ui, w.suggested, Type::Body, true);
            frame::line(ui, &units::pressure(bar, v.units), Type::Figure, false);
        }
        None => frame::line(ui, w.no_window, Type::Strong, false),
    }
    for left in &answer.left_out {
        frame::line(ui, &left.reason, Type::Small, true);
    }
    let rests_on = if answer.breakaway.measured {
        w.measured
    } else {
        w.assumed
    };
    let torque = units::torque(answer.breakaway.torque_nm, v.units);
    frame::line(
        ui,
        &format!("{} {torque}, {rests_on}", w.breakaway),
        Type::Small,
        true,
    );
}

fn verdict(ui: &mut Ui, v: &View<'_>, verdict: Option<Verdict>) {
    let w = v.words;
    let text = match verdict {
        Some(Verdict::Hold) => w.holds_and_stays,
        Some(Verdict::MayTurn) => w.may_turn,
        Some(Verdict::TooLow) => w.too_low,
        Some(Verdict::OverRating) => w.over_rating,
        _ => return,
    };
    frame::line(ui, text, Type::Strong, false);
}

fn chart(
    ui: &mut Ui,
    v: &View<'_>,
    layout: &Layout,
    answer: &AirAnswer,
    breakaway: Option<f64>,
    offset: f64,
) {
    let angles: Vec<f64> = (-45..=45).map(f64::from).collect();
    let Ok(curve) = air_window_curve(layout, breakaway, &angles) else {
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
        at_deg: offset,
        at_bar,
        unit: &units::unit(Measured::Pressure, v.units),
        units_per_bar: units::pressure_units_per_bar(v.units),
        spoken: &spoken,
    }
    .ui(ui, v.words, height);
}

/// A mechanical hold instead of air.
fn holds(ui: &mut Ui, v: &View<'_>, cylinder: u8, out: &mut Vec<Intent>) {
    frame::group(ui, v.words.mechanical_hold);
    for hold in [HoldKind::Cord, HoldKind::Piston, HoldKind::Prop] {
        let seen = v.words.holds_seen[hold as usize];
        if Button::new(v.words.hold(hold)).more(seen).ui(ui).tapped {
            out.push(Intent::Tap(vec![Event::HoldDeclared { cylinder, hold }]));
        }
    }
}
