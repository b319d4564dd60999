//! The crank: the dial, the working order, the top by halving, the breakaway torque and
//! the spring.

use egui::Ui;
use trayzero_core::bench::{spring_answer, tdc_by_halving};
use trayzero_core::engine::Layout;
use trayzero_core::job::{CrankAt, Event};
use uom::si::angle::degree;
use uom::si::f64::Angle;

use super::foot::{Foot, Offer};
use crate::ui::intent::Intent;
use crate::ui::screens::bay::told;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::units::{self, TORQUE};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::crank_dial::{CrankDial, DialMark};
use crate::ui::widgets::keyboard::Keys;
use crate::ui::widgets::keys;
use crate::ui::widgets::text_field::TextField;
use crate::ui::words::capital;

/// What is chosen: where the crank is, or where its wrench is.
#[derive(Clone, Copy, Debug, PartialEq)]
enum CrankChoice {
    /// The wrench is on the crank, or off it.
    Wrench(bool),
    /// The crank is at a stop of the order.
    At(CrankAt),
}

/// What is typed and chosen.
#[derive(Default)]
pub struct CrankForm {
    choice: Option<CrankChoice>,
    rising: String,
    falling: String,
    torque: String,
}

impl CrankForm {
    /// Draws the sheet.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) {
        let Some(layout) = job.layout() else {
            return;
        };
        dial(ui, v, job, layout);
        self.wrench(ui, v, job);
        self.order(ui, v, job, layout);
        self.halving(ui, v, layout);
        self.breakaway(ui, v, job, out);
        spring(ui, v, layout);
    }

    /// Two readings at equal piston height, in degrees or along the rim.
    fn halving(&mut self, ui: &mut Ui, v: &View<'_>, layout: &Layout) {
        let w = v.words;
        frame::group(ui, w.top_by_halving);
        frame::line(ui, w.halving_how, Type::Body, true);
        TextField::new(w.reading_rising, &mut self.rising)
            .keys(Keys::Figure)
            .ui(ui, w);
        TextField::new(w.reading_falling, &mut self.falling)
            .keys(Keys::Figure)
            .ui(ui, w);
        let deg = |text: &str| units::read_angle_or_rim(text, layout.rim_diameter_mm);
        if self.rising.is_empty() || self.falling.is_empty() {
            return;
        }
        let answer = deg(&self.rising)
            .and_then(|first| Ok((first, deg(&self.falling)?)))
            .and_then(|(first, second)| {
                let angle = Angle::new::<degree>;
                tdc_by_halving(angle(first), angle(second))
            });
        match answer {
            Ok(top) => {
                let on = top.turn_from_first.get::<degree>();
                let rim = units::along_rim(layout, on, v.units);
                let turn = w.turn_degrees(on, rim.as_deref());
                let text = format!("{} {turn}", w.turn_on);
                frame::line(ui, &text, Type::Title, false);
                let at = w.degrees(top.tdc.get::<degree>());
                frame::line(ui, &format!("{}: {at}", w.top_is_at), Type::Body, false);
                frame::line(ui, w.which_top, Type::Body, true);
            }
            Err(why) => frame::line(ui, &w.error(&why), Type::Body, true),
        }
    }

    /// The torque that just moves this engine, read on a wrench.
    fn breakaway(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) {
        let w = v.words;
        frame::group(ui, w.breakaway);
        if let Some((nm, measured)) = job.state.breakaway_nm() {
            let how = if measured { w.measured } else { w.assumed };
            let text = format!("{}, {how}", units::torque(nm, v.units));
            frame::line(ui, &text, Type::Strong, false);
            if !measured {
                frame::line(ui, w.measure_it, Type::Body, true);
            }
        }
        let label = units::field(w.torque_read, &TORQUE, v.units);
        TextField::new(&label, &mut self.torque)
            .keys(Keys::Figure)
            .ui(ui, w);
        keys::figure(ui, w, &mut self.torque);
        let read = units::read(&TORQUE, &self.torque, v.units);
        let save = Button::new(w.save).named(w.breakaway);
        let save = save.wants(w.enter_figure, read.is_err());
        if let (true, Ok(torque_nm)) = (save.ui(ui).tapped, read) {
            out.push(Intent::Tap(vec![Event::BreakawayMeasured { torque_nm }]));
            self.torque.clear();
        }
    }
}

fn dial(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, layout: &Layout) {
    let w = v.words;
    let state = job.state;
    let marks: Vec<DialMark> = layout
        .cylinders()
        .filter_map(|cylinder| {
            Some(DialMark {
                cylinder,
                at_deg: layout.tdc_deg(cylinder)?,
                is_done: state.cylinder_verified(cylinder),
            })
        })
        .collect();
    let next = job.next_stop().filter(|stop| Some(*stop) != state.crank());
    let next = next.filter(|_| told::turn_is_known(job));
    let turn_deg = next.map(|stop| state.turn_to(stop));
    let title = turn_deg.map_or_else(String::new, |turn| w.degrees(turn));
    let more = turn_deg
        .and_then(|turn| units::along_rim(layout, turn, v.units))
        .unwrap_or_default();
    let here = told::crank(v, job);
    let side = ui.available_width().min(460.0);
    ui.vertical_centered(|ui| {
        CrankDial {
            marks: &marks,
            crank_deg: state.crank_deg().unwrap_or(0.0),
            turn_deg,
            title: &title,
            more: &more,
            spoken: &format!("{here}. {title} {more}"),
        }
        .ui(ui, side);
    });
    frame::line(ui, &here, Type::Strong, false);
}

/// What is chosen on the sheet, and what is done with it.
impl CrankForm {
    fn choose(&mut self, choice: CrankChoice) {
        self.choice = (self.choice != Some(choice)).then_some(choice);
    }

    fn wrench(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
        let w = v.words;
        let goes_on = !job.state.wrench_on();
        let text = if goes_on {
            w.bar_wrench_on
        } else {
            w.bar_wrench_off
        };
        let choice = CrankChoice::Wrench(goes_on);
        let button = Button::new(text).chosen(self.choice == Some(choice));
        if button
            .wants(w.read_only, job.read_only.is_some())
            .ui(ui)
            .tapped
        {
            self.choose(choice);
        }
    }

    /// The rest of the working order; a tap on a stop chooses it.
    fn order(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, layout: &Layout) {
        let w = v.words;
        let Some(order) = job.order else {
            return;
        };
        frame::group(ui, w.working_order);
        let minutes = w.minutes(order.minutes.round() as i64);
        frame::line(ui, &minutes, Type::Body, true);
        for stop in &order.stops {
            let title = format!(
                "{} · {}",
                capital(&w.cylinder_n(stop.cylinder)),
                w.offset_text(stop.offset_deg)
            );
            let rim = units::along_rim(layout, stop.turn_deg, v.units);
            let why = layout
                .working_positions
                .iter()
                .find(|p| p.cylinder == stop.cylinder)
                .map_or("", |p| p.why.as_str());
            let more = format!(
                "{} {} · {} {why}",
                w.turn,
                w.turn_degrees(stop.turn_deg, rim.as_deref()),
                stop.adaptors.join(", ")
            );
            let to = CrankAt {
                cylinder: stop.cylinder,
                offset_deg: stop.offset_deg,
            };
            let choice = CrankChoice::At(to);
            let why_not = match job.read_only {
                Some(_) => Some(w.read_only),
                None => (job.state.crank() == Some(to)).then_some(w.crank_is_here),
            };
            let button = Button::new(&title).more(more.trim());
            let button = button.chosen(self.choice == Some(choice));
            let button = button.wants(why_not.unwrap_or_default(), why_not.is_some());
            if button.ui(ui).tapped {
                self.choose(choice);
            }
        }
    }

    /// That the crank, or its wrench, is where it was chosen.
    pub fn foot(&self, v: &View<'_>, job: &JobView<'_>) -> Foot {
        let w = v.words;
        let missing = match self.choice {
            _ if job.read_only.is_some() => Some(w.read_only),
            None => Some(w.choose_above),
            Some(_) => None,
        };
        let title = match self.choice {
            Some(CrankChoice::At(to)) => w.bar_turn(to.cylinder, to.offset_deg),
            _ => w.it_is_seen.to_owned(),
        };
        Foot::of_deed(Offer::unless(title, "", missing.map(str::to_owned)))
    }

    /// Does what is chosen; gives the sentence that says so.
    pub fn act(&mut self, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) -> String {
        let w = v.words;
        match self.choice.take() {
            None => String::new(),
            Some(CrankChoice::Wrench(true)) => {
                out.push(Intent::Tap(vec![Event::WrenchOn {}]));
                w.bar_wrench_on.to_owned()
            }
            Some(CrankChoice::Wrench(false)) => {
                out.push(Intent::Tap(vec![Event::WrenchOff {}]));
                w.bar_wrench_off.to_owned()
            }
            Some(CrankChoice::At(to)) => {
                let mut events = Vec::new();
                if !job.state.wrench_on() {
                    events.push(Event::WrenchOn {});
                }
                events.push(Event::CrankTurned {
                    from: job.state.crank(),
                    to,
                    turn_deg: job.state.turn_to(to),
                });
                events.push(Event::WrenchOff {});
                out.push(Intent::Tap(events));
                w.bar_turn(to.cylinder, to.offset_deg)
            }
        }
    }
}

fn spring(ui: &mut Ui, v: &View<'_>, layout: &Layout) {
    let w = v.words;
    frame::group(ui, w.spring_word);
    match spring_answer(layout) {
        Ok(Some(answer)) => {
            let text = w.spring_figures(
                &units::force(answer.force_at_locks_n, v.units),
                &units::energy(answer.energy_j, v.units),
                &units::length(answer.margin_mm, v.units),
            );
            frame::line(ui, &text, Type::Body, false);
        }
        Ok(None) => frame::line(ui, w.spring_unknown, Type::Body, true),
        Err(fault) => frame::line(ui, &w.error(&fault), Type::Body, true),
    }
}
