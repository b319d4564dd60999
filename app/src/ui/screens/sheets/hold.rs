//! A mechanical hold instead of air. A hold is a deed with an eye on it: what holds is
//! chosen, both sights of it are ticked, and only then the bar takes it.

use egui::Ui;
use trayzero_core::job::{Event, HoldKind};

use super::chips;
use super::foot::{Foot, Offer};
use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::view::View;
use crate::ui::widgets::caution_line;
use crate::ui::widgets::choice_row::tick_row;

/// What may hold the valves of a cylinder.
const KINDS: [HoldKind; 3] = [HoldKind::Cord, HoldKind::Piston, HoldKind::Prop];

/// What is chosen, and which of its two sights are ticked.
#[derive(Default)]
pub struct HoldForm {
    kind: Option<HoldKind>,
    seen: [bool; 2],
}

impl HoldForm {
    /// Draws the sheet.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>) {
        let w = v.words;
        frame::line(ui, w.hold_why, Type::Body, false);
        let names = KINDS.map(|kind| w.hold(kind).to_owned());
        if let Some(i) = chips::ui(ui, &names, 3, |i| self.kind == Some(KINDS[i])) {
            self.kind = Some(KINDS[i]);
            self.seen = [false; 2];
        }
        let Some(kind) = self.kind else {
            return;
        };
        let sights = [w.hold_seen(kind), w.hold_stays(kind)];
        for (sight, seen) in sights.into_iter().zip(&mut self.seen) {
            if tick_row(ui, sight, *seen).tapped {
                *seen = !*seen;
            }
        }
        if kind == HoldKind::Piston {
            let open = Theme::of(ui.ctx()).colours.open;
            caution_line::ui(ui, w.piston_holds_little, open);
        }
    }

    /// The big bar, once both sights are ticked.
    pub fn foot(&self, v: &View<'_>, cylinder: u8) -> Foot {
        let w = v.words;
        let is_seen = self.kind.is_some() && self.seen == [true; 2];
        let missing = (!is_seen).then(|| w.choose_and_tick.to_owned());
        let title = self.kind.map_or(w.mechanical_hold, |kind| w.hold(kind));
        let title = w.bar_hold(cylinder, title);
        Foot::of_bar(Offer::unless(title, w.bar_hold_more, missing))
    }

    /// The hold is declared.
    pub fn act(&self, cylinder: u8, out: &mut Vec<Intent>) {
        if let Some(hold) = self.kind.filter(|_| self.seen == [true; 2]) {
            out.push(Intent::Tap(vec![Event::HoldDeclared { cylinder, hold }]));
        }
    }
}
