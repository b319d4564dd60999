//! The first-use card of a screen, where it has not been hidden yet.

use egui::{Rect, Ui, pos2};

use super::frame;
use crate::ui::first_use::FirstUse;
use crate::ui::intent::Intent;
use crate::ui::theme::GAP;
use crate::ui::view::View;
use crate::ui::widgets::first_card::FirstCard;

fn card(v: &View<'_>, card: FirstUse) -> Option<FirstCard<'static>> {
    card.waits(v.settings).then(|| FirstCard {
        title: v.words.first_use_title(card),
        text: v.words.first_use_text(card),
        hide: v.words.hide_card,
        is_short: false,
    })
}

/// Draws the card, if it still waits, over the width that is there.
pub fn ui(ui: &mut Ui, v: &View<'_>, which: FirstUse, out: &mut Vec<Intent>) {
    if card(v, which).is_some_and(|card| card.ui(ui)) {
        out.push(Intent::HideCard(which));
    }
}

/// Whether the card, if it waits, leaves the greater part of a scrolled room to what is below
/// it. Where it does not it stands behind that: the field that is asked for comes first.
pub fn leaves_room(ui: &Ui, v: &View<'_>, which: FirstUse) -> bool {
    let room = ui.clip_rect().height() / 2.0;
    card(v, which).is_none_or(|card| card.height(ui, ui.available_width()) < room)
}

/// Draws the card at the foot of a rectangle if it waits and leaves so many points above it:
/// with its text, else without. Gives what is left.
pub fn at_foot(
    ui: &mut Ui,
    rect: Rect,
    above: f32,
    v: &View<'_>,
    which: FirstUse,
    out: &mut Vec<Intent>,
) -> Rect {
    let Some(card) = card(v, which) else {
        return rect;
    };
    let short = FirstCard {
        is_short: true,
        ..card
    };
    for card in [card, short] {
        let height = card.height(ui, rect.width());
        if rect.height() < above + GAP + height {
            continue;
        }
        let top = rect.bottom() - height;
        let place = Rect::from_min_max(pos2(rect.left(), top), rect.max);
        if card.ui(&mut frame::child(ui, place, "first use")) {
            out.push(Intent::HideCard(which));
        }
        return rect.with_max_y(top - GAP);
    }
    rect
}
