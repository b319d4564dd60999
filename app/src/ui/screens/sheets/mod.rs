//! Sheets: what lies over the panel while a step needs more than a tap. The engine and
//! the figures stay in sight.

mod adrift;
mod air;
mod card;
mod caution;
pub mod chips;
mod conflicts;
mod count;
mod crank;
mod drop;
mod finding;
mod gate;
mod hand_over;
mod kit;
mod leak;
mod leak_chart;
mod more;
mod order_list;
mod part;
mod parts;
mod sign;
mod steps;
mod take_in;
mod talk;

use egui::Ui;
use trayzero_core::engine::ValveName;
use trayzero_core::job::{Caution, Event, Reading};

use super::bay::back::air_to_look_at;
use super::{first_use, frame, notice};
use crate::ui::first_use::FirstUse;
use crate::ui::intent::{Intent, SignedAct};
use crate::ui::theme::Theme;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::note;
use crate::ui::words::Words;

/// Which sheet lies open.
#[derive(Clone, Debug, PartialEq)]
pub enum Sheet {
    /// A caution, to be read once a job.
    Caution(Caution),
    /// Air on in a cylinder.
    Air(u8),
    /// A leak-down reading.
    Leak(u8, Reading),
    /// Something fell.
    Drop,
    /// What is adrift: find it, or search and sign.
    Adrift,
    /// A part is changed, taken from stock, put away, issued.
    Part,
    /// The kit list, to be counted in.
    Kit,
    /// Where everything is.
    Parts,
    /// The close-up gate of a bank.
    Gate(u8),
    /// One person's blind count for a bank's gate.
    Count(u8),
    /// A code.
    Sign(SignedAct),
    /// The other things a bay can do.
    More,
    /// The crank: dial, order, turning.
    Crank,
    /// A note or a rest, in words.
    Talk(talk::Kind),
    /// A finding.
    Finding,
    /// Take-in and evidence.
    TakeIn,
    /// The order list.
    OrderList,
    /// Steps before and after.
    Steps,
    /// Conflicts between tablets.
    Conflicts,
    /// Where we are: for whoever comes back or takes over.
    Card,
    /// Another tablet takes the job.
    HandOver,
}

/// The sheets of a bay, with what is typed into them.
#[derive(Default)]
pub struct Sheets {
    open: Option<Sheet>,
    /// The bank whose gate led here.
    gate: Option<u8>,
    /// How many sheets were opened before.
    opened: u64,
    air: air::AirForm,
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
    crank: crank::CrankForm,
}

impl Sheets {
    /// Opens a sheet with nothing typed yet. What a gate leads to leads back to it.
    pub fn open(&mut self, sheet: Sheet) {
        let gate = match &self.open {
            Some(Sheet::Gate(bank)) => Some(*bank),
            Some(Sheet::Count(_)) => self.gate,
            _ => None,
        };
        *self = Self {
            open: Some(sheet),
            gate,
            opened: self.opened + 1,
            ..Self::default()
        };
    }

    /// Closes what is open.
    pub fn close(&mut self) {
        *self = Self {
            opened: self.opened,
            ..Self::default()
        };
    }

    /// Whether one is open.
    pub fn is_open(&self) -> bool {
        self.open.is_some()
    }

    /// Which one is open.
    pub fn sheet(&self) -> Option<&Sheet> {
        self.open.as_ref()
    }

    /// Tells one sheet's scroll position from another's: each opens at its top, where it
    /// says what it is about.
    pub fn salt(&self) -> String {
        format!("sheet {}", self.opened)
    }

    /// After a tap was taken: sheets that are done with close.
    pub fn after_tap(&mut self) {
        let stays = matches!(
            self.open,
            Some(
                Sheet::Gate(_)
                    | Sheet::Part
                    | Sheet::Kit
                    | Sheet::TakeIn
                    | Sheet::OrderList
                    | Sheet::Steps
                    | Sheet::Conflicts
            )
        );
        let counted = matches!(self.open, Some(Sheet::Sign(SignedAct::Count(_))));
        let took_over = matches!(self.open, Some(Sheet::Sign(SignedAct::TakeOver)));
        let is_kit_counted = self.open == Some(Sheet::Kit) && self.kit.is_counted;
        match self.gate {
            Some(bank) if counted => self.open(Sheet::Gate(bank)),
            _ if took_over => self.open(Sheet::Card),
            _ if !stays || is_kit_counted => self.close(),
            _ => {}
        }
    }

    /// Draws the open sheet.
    pub fn ui(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        valve: Option<ValveName>,
        out: &mut Vec<Intent>,
    ) {
        let Some(sheet) = self.open.clone() else {
            return;
        };
        ui.spacing_mut().item_spacing.y = crate::ui::theme::GAP;
        if frame::head(ui, &title(v.words, &sheet), v.words.close) {
            self.close();
            return;
        }
        notice::ui(ui, v);
        let card = first_use_of(&sheet);
        let is_above = card != Some(FirstUse::Gate);
        if let Some(card) = card.filter(|_| is_above) {
            first_use::ui(ui, v, card, out);
        }
        if let (Some((cylinder, minutes)), true) = (air_to_look_at(v, job), sheet != Sheet::Card) {
            let tint = Theme::of(ui.ctx()).colours.air;
            note::ui(ui, &v.words.air_look(cylinder, minutes), "", tint);
        }
        if let Some(next) = self.body(ui, v, job, valve, &sheet, out) {
            self.open(next);
        }
        // Here the bar keeps its place, so that the card lies below it.
        if let Some(card) = card.filter(|_| !is_above) {
            first_use::ui(ui, v, card, out);
        }
    }

    fn body(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        valve: Option<ValveName>,
        sheet: &Sheet,
        out: &mut Vec<Intent>,
    ) -> Option<Sheet> {
        match sheet {
            Sheet::Caution(caution) => caution::ui(ui, v, *caution, out),
            Sheet::Air(cylinder) => self.air.ui(ui, v, job, *cylinder, out),
            Sheet::Drop => self.drop.ui(ui, v, job, valve, out),
            Sheet::Adrift => return self.adrift.ui(ui, v, job, out),
            Sheet::Part => self.part.ui(ui, v, job, valve, out),
            Sheet::Kit => self.kit.ui(ui, v, job, out),
            Sheet::Parts => parts::ui(ui, v, job),
            Sheet::Gate(bank) => return gate::ui(ui, v, job, *bank),
            Sheet::Count(_) => return self.count.ui(ui, v, job),
            Sheet::Sign(act) => self.sign.ui(ui, v, job, act, out),
            Sheet::More => return more::ui(ui, v, job, valve, out),
            Sheet::Talk(kind) => return self.talk.ui(ui, v, job, *kind, out),
            Sheet::Leak(cylinder, when) => self.leak.ui(ui, v, job, *cylinder, *when, out),
            Sheet::Crank => self.crank.ui(ui, v, job, out),
            Sheet::Finding => self.finding.ui(ui, v, job, valve, out),
            Sheet::TakeIn => self.take_in.ui(ui, v, job, out),
            Sheet::OrderList => order_list::ui(ui, v, job, out),
            Sheet::Steps => steps::ui(ui, v, job, out),
            Sheet::Conflicts => return conflicts::ui(ui, v, job),
            Sheet::Card => {
                if card::ui(ui, v, job, out) {
                    self.close();
                }
            }
            Sheet::HandOver => hand_over::ui(ui, v, out),
        }
        None
    }
}

/// The first-use card of a sheet.
fn first_use_of(sheet: &Sheet) -> Option<FirstUse> {
    Some(match sheet {
        Sheet::Parts => FirstUse::Parts,
        Sheet::Gate(_) => FirstUse::Gate,
        Sheet::TakeIn => FirstUse::TakeIn,
        Sheet::Crank => FirstUse::Crank,
        Sheet::Drop => FirstUse::Drop,
        _ => return None,
    })
}

fn title(w: &Words, sheet: &Sheet) -> String {
    match sheet {
        Sheet::Caution(_) => w.caution_title.to_owned(),
        Sheet::Air(cylinder) => w.bar_air_on(*cylinder),
        Sheet::Leak(cylinder, _) => format!("{}: {}", w.leak_test, w.cylinder_n(*cylinder)),
        Sheet::Drop => w.dropped_one.to_owned(),
        Sheet::Adrift => w.still_adrift.to_owned(),
        Sheet::Part => w.part_changed.to_owned(),
        Sheet::Kit => w.kit_list.to_owned(),
        Sheet::Parts => w.parts.to_owned(),
        Sheet::Gate(_) => w.gate.to_owned(),
        Sheet::Count(_) => w.blind_count.to_owned(),
        Sheet::Sign(_) => w.sign.to_owned(),
        Sheet::More => w.more.to_owned(),
        Sheet::Crank => w.crank.to_owned(),
        Sheet::Talk(talk::Kind::Note) => w.note.to_owned(),
        Sheet::Talk(talk::Kind::Rest) => w.pause.to_owned(),
        Sheet::Talk(talk::Kind::Stop) => w.stop_job.to_owned(),
        Sheet::Finding => w.finding.to_owned(),
        Sheet::TakeIn => w.take_in.to_owned(),
        Sheet::OrderList => w.order_list.to_owned(),
        Sheet::Steps => w.steps_word.to_owned(),
        Sheet::Conflicts => w.conflicts.to_owned(),
        Sheet::Card => w.welcome_back.to_owned(),
        Sheet::HandOver => w.hand_over.to_owned(),
    }
}

/// What an undo would take back, in a few words.
pub fn undo_words(w: &Words, event: &Event) -> String {
    match event {
        Event::StageSeen { stage, .. } => w.stage(*stage).to_owned(),
        Event::AirOn { cylinder, .. } => w.air_on_cylinder(*cylinder),
        Event::AirOff { .. } => format!("{} {}", w.air, w.off),
        Event::CrankTurned { to, .. } => format!("{} {}", w.turn, to.cylinder),
        Event::PartDropped { .. } => w.dropped_one.to_owned(),
        Event::PartFound { .. } => w.found_it.to_owned(),
        Event::WrenchOn {} => w.wrench_on.to_owned(),
        Event::WrenchOff {} => w.wrench_off.to_owned(),
        Event::StepSeen { step } => w.step(*step).to_owned(),
        Event::KitCounted { item, .. }
        | Event::StockIssued { item, .. }
        | Event::StockReturned { item, .. }
        | Event::TakenFromStock { item, .. }
        | Event::PartUsed { item, .. }
        | Event::PutAway { item, .. }
        | Event::PutAboard { item, .. }
        | Event::TakenOff { item, .. }
        | Event::PartReplaced { item, .. } => w.item(item),
        Event::BlindCount { .. } => w.blind_count.to_owned(),
        Event::BankClosed { .. } => w.cover_on.to_owned(),
        Event::HoseIn { .. } | Event::HoseOut { .. } => w.items[13].to_owned(),
        Event::VentedCoverIn { .. } | Event::VentedCoverOut { .. } => w.items[9].to_owned(),
        Event::PlugIn { .. } | Event::PlugOut { .. } => w.items[8].to_owned(),
        Event::CoverOff { .. } => w.items[7].to_owned(),
        Event::HoldDeclared { .. } | Event::HoldReleased { .. } => w.mechanical_hold.to_owned(),
        Event::LeakRead { .. } => w.leak_test.to_owned(),
        Event::FindingNoted(_) => w.finding.to_owned(),
        Event::Noted { .. } => w.note.to_owned(),
        Event::SearchSigned { .. } => w.sign_unfound.to_owned(),
        Event::JobClosed { .. } | Event::JobStopped { .. } => w.job_closed.to_owned(),
        _ => w.last_step.to_owned(),
    }
}
