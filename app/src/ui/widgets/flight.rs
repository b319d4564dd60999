//! The one motion of the screen: parts moving from the valve in hand to the tray, and
//! back home. It tells where they went, takes a third of a second, and does not happen
//! where motion is unwanted.

use egui::{Context, Id, LayerId, Order, Pos2, Shape, Stroke, vec2};

use super::valve_mark;
use crate::ui::theme::Theme;

/// How long a part is under way, in seconds.
pub const FLIGHT_S: f64 = 0.35;
/// Most parts that are drawn under way at once.
const PARTS_MOST: u32 = 4;

/// Where something was seen, and in which pass of the screen.
#[derive(Clone, Copy)]
struct LastSeen<T> {
    what: T,
    pass: u64,
}

#[derive(Clone, Copy)]
struct Flight {
    from: Pos2,
    to: Pos2,
    parts: u32,
    begun_s: f64,
}

fn hand_key() -> Id {
    Id::unique("trayzero valve in hand")
}

fn loose_key() -> Id {
    Id::unique("trayzero loose before")
}

fn flight_key() -> Id {
    Id::unique("trayzero flight")
}

/// Notes where the valve in hand is drawn; the diagram calls it.
pub(super) fn note_hand(ctx: &Context, center: Pos2) {
    let pass = ctx.cumulative_pass_nr();
    let seen = LastSeen { what: center, pass };
    ctx.data_mut(|d| d.insert_temp(hand_key(), seen));
}

/// Notes how many parts are loose and where the tray's figure is drawn; the counters
/// call it. A change since the pass before sets parts moving.
pub(super) fn note_loose(ctx: &Context, loose: u32, tray: Pos2) {
    let pass = ctx.cumulative_pass_nr();
    let before: Option<LastSeen<u32>> = ctx.data(|d| d.get_temp(loose_key()));
    let hand: Option<LastSeen<Pos2>> = ctx.data(|d| d.get_temp(hand_key()));
    ctx.data_mut(|d| d.insert_temp(loose_key(), LastSeen { what: loose, pass }));
    let recent = |then: u64| pass.saturating_sub(then) <= 1;
    if let (Some(before), Some(hand)) = (before, hand) {
        let moved = loose.abs_diff(before.what);
        let is_seen = recent(before.pass) && recent(hand.pass);
        if moved > 0 && is_seen && !Theme::of(ctx).still {
            let (from, to) = if loose > before.what {
                (hand.what, tray)
            } else {
                (tray, hand.what)
            };
            let flight = Flight {
                from,
                to,
                parts: moved.min(PARTS_MOST),
                begun_s: ctx.input(|i| i.time),
            };
            ctx.data_mut(|d| d.insert_temp(flight_key(), flight));
        }
    }
    paint(ctx);
}

/// Whether anything is under way.
pub fn is_under_way(ctx: &Context) -> bool {
    ctx.data(|d| d.get_temp::<Flight>(flight_key())).is_some()
}

fn paint(ctx: &Context) {
    let Some(flight) = ctx.data(|d| d.get_temp::<Flight>(flight_key())) else {
        return;
    };
    let age = ctx.input(|i| i.time) - flight.begun_s;
    if !(0.0..FLIGHT_S).contains(&age) {
        ctx.data_mut(|d| d.remove::<Flight>(flight_key()));
        return;
    }
    let part = (age / FLIGHT_S) as f32;
    let eased = part * part * (3.0 - 2.0 * part);
    let colours = Theme::of(ctx).colours;
    let layer = LayerId::new(Order::Foreground, flight_key());
    let painter = ctx.layer_painter(layer);
    for i in 0..flight.parts {
        let aside = (i as f32 - (flight.parts as f32 - 1.0) / 2.0) * 22.0;
        let rise = -60.0 * (eased * (1.0 - eased));
        let at = flight.from.lerp(flight.to, eased) + vec2(aside, rise);
        let off = if i % 2 == 0 { -0.05 } else { 0.05 };
        let points: Vec<Pos2> = valve_mark::half_moon(off, 0.9)
            .into_iter()
            .map(|p| at + p * 14.0)
            .collect();
        let outline = Stroke::new(2.0, colours.card);
        painter.add(Shape::convex_polygon(points, colours.open.mark, outline));
    }
    ctx.request_repaint();
}
