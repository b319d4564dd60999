//! A first-use card: what a screen is for, and a button that hides the card for good.
//!
//! It takes room of its own and lies over nothing. After it was hidden no target takes a
//! tap for a moment, since what stood below has moved under the finger.

use egui::{Rect, Sense, Ui, pos2, vec2};

use super::button::Button;
use super::{paint, tap};
use crate::ui::theme::{GAP, ROUND_AREA, TARGET, Theme, Tint, Type};

/// Room between the card's edge and its words, in points.
const PAD: f32 = 16.0;

/// A card with its words.
pub struct FirstCard<'a> {
    /// What it says in bold.
    pub title: &'a str,
    /// What it says below.
    pub text: &'a str,
    /// The button's word.
    pub hide: &'a str,
    /// Whether the text below is spoken only, for want of room.
    pub is_short: bool,
}

/// Where things stand on a card of a width.
struct CardPlan {
    room: f32,
    button: egui::Vec2,
    is_beside: bool,
    height: f32,
}

impl FirstCard<'_> {
    /// Height that it takes at a width.
    pub fn height(&self, ui: &Ui, width: f32) -> f32 {
        self.plan(ui, width).height
    }

    /// Draws it over the width that is there. True when it was hidden.
    pub fn ui(&self, ui: &mut Ui) -> bool {
        let width = ui.available_width();
        let plan = self.plan(ui, width);
        let (rect, response) = ui.allocate_exact_size(vec2(width, plan.height), Sense::hover());
        let spoken = format!("{}. {}", self.title, self.text);
        response
            .widget_info(|| egui::WidgetInfo::labeled(egui::accesskit::Role::Label, true, &spoken));
        let tint = tint(ui);
        ui.painter()
            .rect_filled(rect, f32::from(ROUND_AREA), tint.ground);
        let title = paint::text(ui, self.title, Type::Strong, tint.mark, plan.room);
        let at = rect.min + vec2(PAD, PAD);
        let below = at + vec2(0.0, title.size().y);
        ui.painter().galley(at, title, tint.mark);
        if !self.is_short {
            let text = paint::text(ui, self.text, Type::Body, tint.mark, plan.room);
            ui.painter().galley(below, text, tint.mark);
        }
        let top = if plan.is_beside {
            rect.center().y - plan.button.y / 2.0
        } else {
            rect.bottom() - PAD - plan.button.y
        };
        let left = rect.right() - PAD - plan.button.x;
        let place = Rect::from_min_size(pos2(left, top), plan.button);
        let name = format!("{}: {}", self.hide, self.title);
        let hidden = Button::new(self.hide).named(&name).at(ui, place).tapped;
        if hidden {
            tap::rest(ui.ctx());
        }
        hidden
    }

    fn plan(&self, ui: &Ui, width: f32) -> CardPlan {
        let ink = tint(ui).mark;
        let line = paint::text_line(ui, self.hide, Type::Strong, ink, width);
        let inner = width - 2.0 * PAD;
        let wide = (line.size().x + 2.0 * PAD).clamp(1.5 * TARGET, inner.max(1.5 * TARGET));
        let button = vec2(wide, Button::new(self.hide).height(ui, wide));
        let is_beside = inner - wide >= 1.5 * wide;
        let room = if is_beside { inner - wide - PAD } else { inner };
        let down = |text, step| paint::text(ui, text, step, ink, room).size().y;
        let mut words = down(self.title, Type::Strong);
        if !self.is_short {
            words += down(self.text, Type::Body);
        }
        let height = if is_beside {
            words.max(button.y)
        } else {
            words + GAP + button.y
        };
        CardPlan {
            room,
            button,
            is_beside,
            height: height + 2.0 * PAD,
        }
    }
}

/// The quiet ground of a card: it warns of nothing.
fn tint(ui: &Ui) -> Tint {
    let colours = Theme::of(ui.ctx()).colours;
    Tint {
        ground: colours.metal,
        mark: colours.ink,
    }
}
