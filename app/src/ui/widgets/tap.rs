//! When a tap counts.
//!
//! A second tap on the same target within 600 ms does nothing, so that a double tap or
//! a wipe never takes two steps. What has come to lie where another control was does
//! nothing for longer, see [`guard`]. Between targets there is dead room, so that a tap on
//! an uncertain place means nothing.

use egui::accesskit::Role;
use egui::{Context, Id, Rect, Response, Sense, Ui, WidgetInfo};

use super::guard;

/// The time in seconds after a tap in which its target is deaf.
pub const DEAF_S: f64 = 0.6;

/// A widget's response, and whether it was tapped in earnest.
pub struct Tapped {
    /// The response, for its place and its focus.
    pub response: Response,
    /// A tap that counts.
    pub tapped: bool,
    /// The same, but as often in a row as the finger likes: for keys.
    pub touched: bool,
}

#[derive(Clone, Copy)]
struct LastTap {
    target: Id,
    at_s: f64,
}

fn rest_key() -> Id {
    Id::unique("trayzero all targets rest")
}

/// Makes every target deaf for [`DEAF_S`]: what lies under the finger has just moved.
pub fn rest(ctx: &Context) {
    let until = ctx.input(|i| i.time) + DEAF_S;
    ctx.data_mut(|d| d.insert_temp(rest_key(), until));
}

/// Whether all targets are deaf now.
fn rests(ctx: &Context, now: f64) -> bool {
    let until: Option<f64> = ctx.data(|d| d.get_temp(rest_key()));
    until.is_some_and(|until| (until - DEAF_S..until).contains(&now))
}

/// Whether a tap on a target counts; if it does, the target is deaf for [`DEAF_S`].
pub fn counts(ctx: &Context, target: Id) -> bool {
    let now = ctx.input(|i| i.time);
    if rests(ctx, now) {
        return false;
    }
    let key = Id::unique("trayzero last tap");
    let last: Option<LastTap> = ctx.data(|d| d.get_temp(key));
    let deaf = last.is_some_and(|l| l.target == target && (0.0..DEAF_S).contains(&(now - l.at_s)));
    if !deaf {
        ctx.data_mut(|d| d.insert_temp(key, LastTap { target, at_s: now }));
    }
    !deaf
}

/// A button-like area: takes the tap and tells a screen reader its name.
pub fn area(ui: &mut Ui, rect: Rect, id: Id, name: &str, enabled: bool) -> Tapped {
    area_said(ui, rect, id, || name.to_owned(), enabled)
}

/// The same for a name that is put together only when somebody listens.
pub fn area_said(
    ui: &mut Ui,
    rect: Rect,
    id: Id,
    name: impl Fn() -> String,
    enabled: bool,
) -> Tapped {
    let sense = if enabled {
        Sense::click()
    } else {
        Sense::hover()
    };
    let response = ui.interact(rect, id, sense);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, enabled, name()));
    taken(ui, response)
}

/// The same for a control that is on or off.
pub fn switch(ui: &mut Ui, rect: Rect, id: Id, name: &str, role: Role, on: bool) -> Tapped {
    let response = ui.interact(rect, id, Sense::click());
    response.widget_info(|| WidgetInfo::selected(role, true, on, name));
    taken(ui, response)
}

/// Applies the guard to a response.
pub fn taken(ui: &Ui, response: Response) -> Tapped {
    // What the keyboard has come to is brought into sight.
    if response.gained_focus() {
        response.scroll_to_me(None);
    }
    let (ctx, target) = (ui.ctx(), response.id);
    guard::note(ctx, target, response.interact_rect);
    if ui.input(|i| i.pointer.any_pressed())
        && let Some(at) = response.interact_pointer_pos()
    {
        guard::press(ctx, target, at);
    }
    let touched = response.clicked() && !is_deaf(ui, &response);
    let tapped = touched && counts(ctx, target);
    if touched {
        guard::mark(ctx);
    }
    Tapped {
        response,
        tapped,
        touched,
    }
}

/// Whether a finger went to a place where another control lay a moment ago. The keyboard
/// and a screen reader name the control itself.
fn is_deaf(ui: &Ui, response: &Response) -> bool {
    let Some(at) = response.interact_pointer_pos() else {
        return false;
    };
    guard::is_deaf(ui.ctx(), response.id, at) || guard::was_deaf(ui.ctx(), response.id)
}
