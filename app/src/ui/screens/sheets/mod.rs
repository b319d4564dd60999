//! Sheets: what lies over the panel while a step needs more than a tap. The engine and
//! the figures stay in sight.

mod adrift;
mod air;
mod air_now;
mod card;
mod caution;
pub mod chips;
mod conflicts;
mod count;
mod crank;
mod cut;
mod done;
mod drop;
mod finding;
mod follow_up;
mod foot;
mod gate;
mod hand_over;
mod hold;
mod hours;
mod kit;
mod leak;
mod leak_chart;
mod more;
mod names;
mod order_list;
mod paper;
mod paper_rows;
mod paper_typed;
mod part;
mod parts;
mod pictures;
mod sheet;
mod sign;
mod steps;
mod take_in;
mod talk;

use egui::{Rect, Ui, pos2};
use trayzero_core::engine::ValveName;
use trayzero_core::job::{Caution, NextStep, PictureOf};

use super::bay::back::air_to_look_at;
use super::{first_use, frame, notice};
use crate::ui::first_use::FirstUse;
use crate::ui::intent::{Intent, SignedAct};
use crate::ui::theme::{GAP, Theme, Type};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::note;
use foot::{Foot, Touched};
use names::{first_use_of, shows_figures, title};
pub use sheet::{Sheet, TalkKind, sheet_of};

/// The sheets of a bay, with what is typed into them.
#[derive(Default)]
pub struct Sheets {
    open: Option<Sheet>,
    /// The bank whose gate led here.
    gate: Option<u8>,
    /// What opens once the tap under way was taken: the sheet of a step behind its caution.
    then: Option<Sheet>,
    /// How many sheets were opened before.
    opened: u64,
    /// Whether the open sheet has been drawn; at first it shows its top.
    is_drawn: bool,
    /// How far the bay's bar stands above the lower edge of the panel.
    pub bar_up: f32,
    done: done::Done,
    air: air::AirForm,
    air_now: air_now::AirNowForm,
    hold: hold::HoldForm,
    drop: drop::DropForm,
    adrift: adrift::AdriftForm,
    part: part::PartForm,
    kit: kit::KitForm,
    count: count::CountForm,
    sign: sign::SignForm,
    talk: talk::TalkForm,
    leak: leak::LeakForm,
    finding: finding::FindingForm,
    take_in: take_in::TakeInForm,
    picture: pictures::PictureForm,
    crank: crank::CrankForm,
    order_list: order_list::OrderListForm,
    steps: steps::StepsForm,
    hand_over: hand_over::HandOverForm,
    paper: paper::PaperForm,
    follow_up: follow_up::FollowUpForm,
}

/// What a sheet is drawn from.
#[derive(Clone, Copy)]
pub struct SheetScene<'a> {
    /// What the screens see.
    pub v: &'a View<'a>,
    /// The open job.
    pub job: &'a JobView<'a>,
    /// The valve that the panel is about.
    pub valve: Option<ValveName>,
    /// The step that the bay's bar shows, and its line.
    pub step: &'a NextStep,
    /// The line of that step.
    pub step_says: &'a str,
}

impl Sheets {
    /// Opens a sheet with nothing typed yet. What a gate leads to leads back to it. A blind
    /// count keeps its figures until it is signed.
    pub fn open(&mut self, sheet: Sheet) {
        let gate = match &self.open {
            Some(Sheet::Gate(bank)) => Some(*bank),
            Some(Sheet::Count(_)) => self.gate,
            _ => None,
        };
        *self = Self {
            gate,
            opened: self.opened + 1,
            open: Some(sheet),
            ..self.kept()
        };
    }

    /// Closes what is open.
    pub fn close(&mut self) {
        *self = self.kept();
    }

    /// What stays from one sheet to the next.
    fn kept(&mut self) -> Self {
        Self {
            opened: self.opened,
            bar_up: self.bar_up,
            count: std::mem::take(&mut self.count),
            // A sheet of paper is long: what is ticked stays until it is entered.
            paper: std::mem::take(&mut self.paper),
            ..Self::default()
        }
    }

    /// Whether one is open.
    pub fn is_open(&self) -> bool {
        self.open.is_some()
    }

    /// Which one is open.
    pub fn sheet(&self) -> Option<&Sheet> {
        self.open.as_ref()
    }

    /// Whether a blind count is under way: until both have counted the same, nothing on
    /// this tablet shows what is expected.
    pub fn is_blind(&self, job: &JobView<'_>) -> bool {
        let is_counting = matches!(self.open, Some(Sheet::Count(_)));
        is_counting || self.count.is_under_way() || job.state.is_count_open()
    }

    /// Tells one sheet's parts from another's.
    fn salt(&self) -> String {
        format!("sheet {}", self.opened)
    }

    /// After a tap was taken: sheets that are done with close.
    pub fn after_tap(&mut self) {
        self.done.after_tap();
        if let Some(next) = self.then.take() {
            self.open(next);
            return;
        }
        let stays = match &self.open {
            Some(Sheet::Kit) => !self.kit.is_counted,
            Some(Sheet::TakeIn) => !self.take_in.is_written,
            Some(Sheet::Gate(_) | Sheet::Part | Sheet::OrderList | Sheet::Picture(_)) => true,
            other => matches!(other, Some(Sheet::Steps | Sheet::Conflicts)),
        };
        let counted = matches!(self.open, Some(Sheet::Sign(SignedAct::Count(_))));
        if matches!(self.open, Some(Sheet::Sign(SignedAct::Paper(_)))) {
            self.paper.entered();
        }
        let took_over = matches!(self.open, Some(Sheet::Sign(SignedAct::TakeOver)));
        if counted {
            self.count = count::CountForm::default();
        }
        match self.gate {
            Some(bank) if counted => self.open(Sheet::Gate(bank)),
            _ if took_over => self.open(Sheet::Card),
            _ if !stays => self.close(),
            _ => {}
        }
    }

    /// Draws the open sheet into the panel's room: its name above, its foot below, and
    /// between them what scrolls, from its top when it has just been opened.
    pub fn ui(&mut self, ui: &mut Ui, inner: Rect, seen: SheetScene<'_>, out: &mut Vec<Intent>) {
        let Some(sheet) = self.open.clone() else {
            return;
        };
        self.then = None;
        let (v, salt) = (seen.v, self.salt());
        let mut area = frame::child(ui, inner, &salt);
        let foot = self.foot(seen, &sheet);
        let counted = self.count.title(v, seen.job.state);
        let name = match counted.filter(|_| matches!(sheet, Sheet::Count(_))) {
            Some(counted) => counted,
            None => title(v.words, &sheet),
        };
        let head = frame::title_height(&area, &name, inner.width());
        let cut = cut::sheet_cut(&area, v.words, (inner, head, self.bar_up), &sheet, foot);
        let (is_tight, is_named_below) = (cut.is_tight, cut.is_named_below);
        let (foot, below, places) = (cut.foot, cut.below, cut.places);
        if !is_tight {
            frame::title(&mut area, &name);
        }
        let top = if is_tight {
            inner.top()
        } else {
            inner.top() + head + GAP
        };
        let bottom = places.top - GAP;
        let room = Rect::from_min_max(pos2(inner.left(), top), pos2(inner.right(), bottom));
        let mut body = frame::child(&mut area, room, "body");
        let mut scroll = frame::scrolling().id_salt(&salt);
        if !std::mem::replace(&mut self.is_drawn, true) {
            scroll = scroll.vertical_scroll_offset(0.0);
        }
        let shown = scroll.show(&mut body, |ui| {
            ui.spacing_mut().item_spacing.y = GAP;
            if is_tight && !is_named_below {
                frame::title(ui, &name);
            }
            let next = self.middle(ui, seen, &sheet, out);
            if is_named_below {
                frame::title(ui, &name);
            }
            (next, foot::below(ui, &below))
        });
        let (next, below) = shown.inner;
        let touched = foot::ui(&mut area, v.words, &places, &foot).or(below);
        let next = match touched {
            _ if self.open.as_ref() != Some(&sheet) => return,
            Some(Touched::Close) => {
                self.close();
                return;
            }
            Some(touched) => self.act(touched, seen, &sheet, out),
            None => next,
        };
        if let Some(next) = next {
            self.open(next);
        }
    }

    /// Shows over everything what can be taken back in its place.
    pub fn taking_back(&mut self, ui: &Ui, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) {
        self.done.ui(ui, v, job, out);
    }

    /// What scrolls.
    fn middle(
        &mut self,
        ui: &mut Ui,
        seen: SheetScene<'_>,
        sheet: &Sheet,
        out: &mut Vec<Intent>,
    ) -> Option<Sheet> {
        let (v, job) = (seen.v, seen.job);
        notice::ui(ui, v);
        let card = first_use_of(sheet);
        let is_above =
            card.is_some_and(|card| card != FirstUse::Gate && first_use::leaves_room(ui, v, card));
        if let Some(card) = card.filter(|_| is_above) {
            first_use::ui(ui, v, card, out);
        }
        if let (Some((cylinder, minutes)), true) = (air_to_look_at(v, job), *sheet != Sheet::Card) {
            let tint = Theme::of(ui.ctx()).colours.air;
            note::ui(ui, &v.words.air_look(cylinder, minutes), "", tint);
        }
        let next = if shows_figures(sheet) && self.is_blind(job) {
            frame::line(ui, v.words.count_is_blind, Type::Title, false);
            frame::line(ui, v.words.count_is_blind_more, Type::Body, false);
            None
        } else {
            self.body(ui, seen, sheet, out)
        };
        if let Some(card) = card.filter(|_| !is_above) {
            first_use::ui(ui, v, card, out);
        }
        next
    }

    fn body(
        &mut self,
        ui: &mut Ui,
        seen: SheetScene<'_>,
        sheet: &Sheet,
        out: &mut Vec<Intent>,
    ) -> Option<Sheet> {
        let SheetScene { v, job, valve, .. } = seen;
        let is_blind = self.is_blind(job);
        match sheet {
            Sheet::Caution(caution) => caution::ui(ui, v, *caution),
            Sheet::Air(cylinder) => return self.air.ui(ui, v, job, *cylinder),
            Sheet::AirNow(cylinder) => return self.air_now.ui(ui, v, job, *cylinder, out),
            Sheet::Hold(_) => self.hold.ui(ui, v),
            Sheet::Drop => self.drop.ui(ui, v, job, (valve, is_blind), out),
            Sheet::Adrift => self.adrift.ui(ui, v, job),
            Sheet::Part => self.part.ui(ui, v, job, valve),
            Sheet::Kit => self.kit.ui(ui, v, job, out),
            Sheet::Parts => parts::ui(ui, v, job),
            Sheet::Gate(bank) => return gate::ui(ui, v, job, *bank),
            Sheet::Count(_) => self.count.ui(ui, v, job),
            Sheet::Sign(act) => {
                let only = self
                    .count
                    .signer()
                    .filter(|_| matches!(act, SignedAct::Count(_)));
                self.sign.ui(ui, v, job, act, only);
            }
            Sheet::More => return more::ui(ui, v, job, valve, out),
            Sheet::Talk(kind) => self.talk.ui(ui, v, job, *kind),
            Sheet::Leak(..) => self.leak.ui(ui, v, job),
            Sheet::Crank => self.crank.ui(ui, v, job, out),
            Sheet::Finding => self.finding.ui(ui, v, job, valve, out),
            Sheet::TakeIn => self.take_in.ui(ui, v, job, out),
            Sheet::Picture(of) => return self.picture.ui(ui, v, job, *of, out),
            Sheet::Pictures => return pictures::all(ui, v, job, out),
            Sheet::Enlarged(_) => {}
            Sheet::OrderList => self.order_list.ui(ui, v, job),
            Sheet::Steps => self.steps.ui(ui, v, job),
            Sheet::Hours => hours::ui(ui, v, job),
            Sheet::Conflicts => return conflicts::ui(ui, v, job),
            Sheet::Card => return card::ui(ui, v, job, out),
            Sheet::HandOver => self.hand_over.ui(ui, v),
            Sheet::Paper => self.paper.ui(ui, v, job),
            Sheet::FollowUp => return self.follow_up.ui(ui, v, job),
        }
        None
    }

    /// What lies at the foot of a sheet.
    fn foot(&self, seen: SheetScene<'_>, sheet: &Sheet) -> Foot {
        let SheetScene { v, job, valve, .. } = seen;
        if shows_figures(sheet) && self.is_blind(job) {
            let give_up = foot::Offer::ready(v.words.give_count_up, v.words.give_count_up_more);
            return Foot::of_deed(give_up);
        }
        match sheet {
            Sheet::Caution(caution) => caution::foot(v, *caution, seen.step_says),
            Sheet::Air(cylinder) => self.air.foot(v, *cylinder),
            Sheet::AirNow(cylinder) => self.air_now.foot(v, job, *cylinder),
            Sheet::Hold(cylinder) => self.hold.foot(v, *cylinder),
            Sheet::Drop => self.drop.foot(v),
            Sheet::Adrift => self.adrift.foot(v, job),
            Sheet::Part => self.part.foot(v),
            Sheet::Kit => self.kit.foot(v, job),
            Sheet::Gate(bank) => gate::foot(v, job, *bank),
            Sheet::Count(_) => self.count.foot(v, job),
            Sheet::Sign(act) => self.sign.foot(v, job, act),
            Sheet::Talk(kind) => self.talk.foot(v, job, *kind),
            Sheet::Leak(cylinder, _) => self.leak.foot(v, *cylinder),
            Sheet::Crank => self.crank.foot(v, job),
            Sheet::Finding => self.finding.foot(v, valve),
            Sheet::OrderList => self.order_list.foot(v, job),
            Sheet::Steps => self.steps.foot(v, job),
            Sheet::Card => card::foot(v, job),
            Sheet::HandOver => self.hand_over.foot(v),
            Sheet::Paper => self.paper.foot(v, job),
            Sheet::FollowUp => self.follow_up.foot(v, job),
            Sheet::TakeIn => self.take_in.foot(v),
            Sheet::Picture(_) => pictures::foot_of_adding(v, job),
            Sheet::Pictures => pictures::foot_of_all(v, job),
            Sheet::Parts | Sheet::More | Sheet::Hours | Sheet::Conflicts | Sheet::Enlarged(_) => {
                Foot::default()
            }
        }
    }

    /// What a tap at the foot does; gives the sheet to open next.
    fn act(
        &mut self,
        touched: Touched,
        seen: SheetScene<'_>,
        sheet: &Sheet,
        out: &mut Vec<Intent>,
    ) -> Option<Sheet> {
        let SheetScene { v, job, valve, .. } = seen;
        if shows_figures(sheet) && self.is_blind(job) {
            self.count = count::CountForm::default();
            // A count that is signed already is taken back by a code, like all signed things.
            let count = job.state.round_counts().into_iter().next_back()?;
            let needed = job.state.signatures_to_take_back(count.id);
            return Some(Sheet::Sign(SignedAct::TakeBack(count.id, needed)));
        }
        match sheet {
            Sheet::Caution(caution) => self.go_on_after(*caution, seen, out),
            Sheet::Air(cylinder) => self.air.act(v, *cylinder, out),
            Sheet::Hold(cylinder) => self.hold.act(*cylinder, out),
            Sheet::Kit => self.kit.act(job, out),
            Sheet::Gate(bank) => return Some(gate::next(job, *bank)),
            Sheet::Count(_) if touched == Touched::Bar => return self.count.next(job),
            Sheet::Count(_) => self.count.back(),
            Sheet::Sign(act) => self.sign.sign(act, out),
            Sheet::Talk(kind) => return self.talk.act(*kind, out),
            Sheet::Leak(cylinder, when) => self.leak.act(v, *cylinder, *when, out),
            Sheet::Finding => self.finding.act(v, valve, out),
            Sheet::HandOver => self.hand_over.act(v, job, out),
            Sheet::Paper => return self.paper.next(v, job),
            Sheet::FollowUp => return self.follow_up.next(v),
            Sheet::Card => {
                if card::act(v, job, out) {
                    self.close();
                }
            }
            Sheet::AirNow(_) | Sheet::Drop | Sheet::Adrift | Sheet::Part | Sheet::Crank => {
                return self.deed(touched, seen, sheet, out);
            }
            Sheet::OrderList | Sheet::Steps => return self.deed(touched, seen, sheet, out),
            Sheet::TakeIn => self.take_in.act(v, out),
            Sheet::Picture(_) => return Some(Sheet::Pictures),
            Sheet::Pictures => return Some(Sheet::Picture(PictureOf::Job {})),
            Sheet::Parts | Sheet::More | Sheet::Hours | Sheet::Conflicts | Sheet::Enlarged(_) => {}
        }
        None
    }

    /// What is done besides the next step: its taking back lies in its place afterwards.
    fn deed(
        &mut self,
        touched: Touched,
        seen: SheetScene<'_>,
        sheet: &Sheet,
        out: &mut Vec<Intent>,
    ) -> Option<Sheet> {
        let SheetScene { v, job, valve, .. } = seen;
        let says = match sheet {
            Sheet::AirNow(cylinder) => self.air_now.act(v, job, *cylinder, touched, out),
            Sheet::Drop => self.drop.act(v, valve, out),
            Sheet::Adrift => match self.adrift.act(v, job, out) {
                Ok(says) => says,
                Err(next) => return Some(next),
            },
            Sheet::Part => self.part.act(v, job, out),
            Sheet::Crank => self.crank.act(v, job, out),
            Sheet::OrderList => self.order_list.act(out),
            Sheet::Steps => self.steps.act(v, out),
            _ => String::new(),
        };
        if let Touched::Deed(place) = touched {
            self.done.begin(place, says);
        }
        None
    }

    /// A caution was read: the step that waits behind it is taken, or its sheet opens.
    fn go_on_after(&mut self, caution: Caution, seen: SheetScene<'_>, out: &mut Vec<Intent>) {
        caution::act(caution, out);
        if seen.step.caution() != Some(caution) {
            return;
        }
        if let Some(sheet) = sheet_of(seen.step) {
            self.then = Some(sheet);
        } else {
            let events = seen.job.state.events_of(seen.step);
            if !events.is_empty() {
                out.push(Intent::Tap(events));
            }
        }
    }
}
