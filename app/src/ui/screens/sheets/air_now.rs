//! Air that is on: what hangs on it, what the regulator reads now, and the quickest way to
//! say that it is gone.

use egui::Ui;
use trayzero_core::engine::ValveName;
use trayzero_core::job::Event;

use super::foot::{Foot, Offer, Touched};
use super::{Sheet, air};
use crate::ui::intent::Intent;
use crate::ui::screens::{frame, top};
use crate::ui::theme::{GAP, Theme, Type};
use crate::ui::units::{self, PRESSURE};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::keyboard::Keys;
use crate::ui::widgets::text_field::{self, TextField};
use crate::ui::widgets::{keys, note, paint};
use crate::ui::words::capital;

/// What is typed into the sheet.
#[derive(Default)]
pub struct AirNowForm {
    typed: String,
}

impl AirNowForm {
    /// Draws the sheet; gives the one to open next.
    pub fn ui(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        cylinder: u8,
        out: &mut Vec<Intent>,
    ) -> Option<Sheet> {
        let w = v.words;
        let state = job.state.cylinder(cylinder)?;
        let bar = state.air_bar?;
        let since = w.air_since(top::air_minutes(v, cylinder));
        let shown = units::pressure(bar, v.units);
        let label = units::field(w.regulator_reads_now, &PRESSURE, v.units);
        let text = format!("{shown}, {since}");
        if keys::figure_is_low(ui, w, usual_height(ui, &text)) {
            // So that no key has to be scrolled to, the rest comes below them.
            let says = [shown.as_str(), since.as_str()];
            air::beside_field(ui, w, (&label, &mut self.typed), w.air, says);
            keys::figure_low(ui, w, &mut self.typed);
            hangs_on_it(ui, v, job, cylinder);
        } else {
            frame::line(ui, &text, Type::Figure, false);
            hangs_on_it(ui, v, job, cylinder);
            TextField::new(&label, &mut self.typed)
                .keys(Keys::Figure)
                .ui(ui, w);
            keys::figure(ui, w, &mut self.typed);
        }
        let mut next = None;
        if state.hold.is_none() {
            let hold = Button::new(w.hold_takes_over).more(w.hold_takes_over_more);
            if hold.ui(ui).tapped {
                next = Some(Sheet::Hold(cylinder));
            }
        }
        let may_go_off = state.hold.is_some() || hanging(job, cylinder).next().is_none();
        let more = if may_go_off {
            w.bar_air_off_more
        } else {
            w.air_off_needs_hold
        };
        let off = Button::new(w.air_off_deed).more(more).enabled(may_go_off);
        if off.ui(ui).tapped {
            out.push(Intent::Tap(vec![Event::AirOff { cylinder, bar }]));
        }
        next
    }

    /// The reading on the big bar once it is there; the loss beside the way out, always.
    pub fn foot(&self, v: &View<'_>, job: &JobView<'_>, cylinder: u8) -> Foot {
        let w = v.words;
        let missing = self
            .read_bar(v)
            .is_none()
            .then(|| w.enter_regulator.to_owned());
        let is_on = job.state.air_on().is_some_and(|(c, _)| c == cylinder);
        Foot {
            bar: Some(Offer::unless(w.bar_air_anew, w.bar_air_anew_more, missing)),
            deed: is_on.then(|| Offer::ready(w.air_is_gone, w.air_is_gone_more)),
            ..Foot::default()
        }
    }

    /// The reading is taken, or the loss is told; gives what the loss says.
    pub fn act(
        &self,
        v: &View<'_>,
        job: &JobView<'_>,
        cylinder: u8,
        touched: Touched,
        out: &mut Vec<Intent>,
    ) -> String {
        let Some((_, was_bar)) = job.state.air_on().filter(|(c, _)| *c == cylinder) else {
            return String::new();
        };
        let event = match (touched, self.read_bar(v)) {
            (Touched::Deed(_), _) => Event::AirLost { cylinder, was_bar },
            (Touched::Bar, Some(bar)) => Event::AirReadAnew {
                cylinder,
                was_bar,
                bar,
            },
            _ => return String::new(),
        };
        out.push(Intent::Tap(vec![event]));
        v.words.air_is_gone.to_owned()
    }

    fn read_bar(&self, v: &View<'_>) -> Option<f64> {
        let bar = units::read(&PRESSURE, &self.typed, v.units).ok()?;
        (bar > 0.0).then_some(bar)
    }
}

/// The valves of a cylinder that nothing but air or a hold keeps up.
fn hanging<'a>(job: &JobView<'a>, cylinder: u8) -> impl Iterator<Item = ValveName> + use<'a> {
    job.state
        .valves_of(cylinder)
        .filter(|(_, valve)| valve.is_unlocked() || valve.is_spring_held())
        .map(|(name, _)| name)
}

/// What stands above the keys, where there is room; one valve hangs on the air.
fn usual_height(ui: &Ui, text: &str) -> f32 {
    let ink = egui::Color32::PLACEHOLDER;
    let text = paint::text(ui, text, Type::Figure, ink, ui.available_width());
    let note = paint::line_height(ui, Type::Strong) + paint::line_height(ui, Type::Body);
    text.size().y + note + text_field::height(ui) + 5.0 * GAP
}

fn hangs_on_it(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, cylinder: u8) {
    let w = v.words;
    let open = Theme::of(ui.ctx()).colours.open;
    for valve in hanging(job, cylinder) {
        note::ui(ui, &capital(&w.valve(valve)), w.hangs_on_air, open);
    }
    if hanging(job, cylinder).next().is_none() {
        frame::line(ui, w.nothing_hangs_on_it, Type::Body, true);
    }
}
