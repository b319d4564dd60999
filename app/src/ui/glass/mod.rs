//! The glass: every finger by itself, a pedal or a big button, and what came of them for
//! the widgets.
//!
//! The window system lends the pointer to the first finger and forgets the others. Here the
//! raw touches are followed instead, and egui hears of a tap once it is one.

pub mod pedal;
mod throw;
pub mod tracker;

use std::sync::Arc;

use egui::{
    Context, Event, Id, Modifiers, PointerButton, Pos2, RawInput, Rect, Response, TouchPhase,
};

pub use pedal::{Pedal, PedalPress};
use tracker::{Act, Down, TAP_S, Tracker};

/// What widgets may ask about the glass in this frame.
#[derive(Clone, Debug, Default, PartialEq)]
struct GlassFrame {
    /// Where fingers press that may still become taps, and since when.
    pressed: Vec<(Pos2, f64)>,
    /// The tap of this frame comes from a finger.
    is_finger: bool,
    /// A key of a keyboard was pressed.
    is_key: bool,
    /// Whether a pedal is known.
    has_pedal: bool,
    /// What the pedal did.
    pedal: Option<PedalPress>,
}

fn seen_key() -> Id {
    Id::unique("trayzero glass")
}

fn keys_key() -> Id {
    Id::unique("trayzero keys on the glass")
}

fn seen<R>(ctx: &Context, read: impl FnOnce(&GlassFrame) -> R) -> R {
    let seen: Option<Arc<GlassFrame>> = ctx.data(|d| d.get_temp(seen_key()));
    read(&seen.unwrap_or_default())
}

/// Since when a finger presses a target, in seconds; `None` while none does.
pub fn pressed_since(response: &Response) -> Option<f64> {
    let ctx = &response.ctx;
    let rect = response.interact_rect;
    let found = seen(ctx, |s| {
        let mut all = s.pressed.iter();
        all.find(|(at, _)| rect.contains(*at)).copied()
    });
    let (at, since_s) = found?;
    (target_at(ctx, at) == Some(response.id)).then_some(since_s)
}

/// Whether the tap of this frame comes from a finger.
pub fn is_finger(ctx: &Context) -> bool {
    seen(ctx, |s| s.is_finger)
}

/// Whether a key of a keyboard was pressed.
pub fn is_hard_key(ctx: &Context) -> bool {
    seen(ctx, |s| s.is_key)
}

/// What the pedal did in this frame.
pub fn pedal(ctx: &Context) -> Option<PedalPress> {
    seen(ctx, |s| s.pedal)
}

/// Whether a pedal is known.
pub fn has_pedal(ctx: &Context) -> bool {
    seen(ctx, |s| s.has_pedal)
}

/// Says where the keys lie: there the next finger may come before the last has gone.
pub fn keys_lie(ctx: &Context, rect: Option<Rect>) {
    ctx.data_mut(|d| d.insert_temp(keys_key(), rect));
}

/// What takes a tap at a place: the uppermost target of the uppermost layer there.
pub fn target_at(ctx: &Context, at: Pos2) -> Option<Id> {
    let layer = ctx.layer_id_at(at)?;
    ctx.viewport(|state| {
        let all = state.prev_pass.widgets.get_layer(layer);
        let takes = |w: &&egui::WidgetRect| {
            w.enabled && w.sense.senses_click() && w.interact_rect.contains(at)
        };
        all.filter(takes).last().map(|w| w.id)
    })
}

/// Follows what comes from the glass between two frames.
#[derive(Debug, Default)]
pub struct Glass {
    tracker: Tracker,
    /// The pedal, if one was learnt.
    pub pedal: Pedal,
    /// The pointer stands where a finger was and is to go.
    is_placed: bool,
    /// A wheel's turn is told to egui and has not ended.
    is_turning: bool,
    /// A mouse holds its button.
    is_mouse_down: bool,
    /// What egui has not been told yet: it takes one tap a frame.
    later: Vec<Act>,
}

impl Glass {
    /// Changes what egui hears: no touches, but what they have come to. Call it before
    /// every frame.
    pub fn hear(&mut self, ctx: &Context, input: &mut RawInput) {
        let now_s = input.time.unwrap_or_default();
        let screen = input.screen_rect.unwrap_or_else(|| ctx.content_rect());
        let mut now = GlassFrame {
            has_pedal: !self.pedal.sends.is_empty(),
            pedal: self.pedal.hear(ctx, &mut input.events, now_s),
            ..GlassFrame::default()
        };
        let has_touch = |e: &Event| matches!(e, Event::Touch { .. });
        let is_glass = self.tracker.is_touched() || input.events.iter().any(has_touch);
        let mut acts = std::mem::take(&mut self.later);
        acts.extend(self.tracker.runs_on(now_s));
        let mut kept = Vec::with_capacity(input.events.len());
        for event in input.events.drain(..) {
            match event {
                Event::Touch { id, phase, pos, .. } => {
                    acts.extend(self.touch(ctx, (id.0, phase, pos), now_s, screen));
                }
                other if is_glass && !self.is_mouse_down && is_pointer(&other) => {}
                other => {
                    now.is_key |= is_key(&other);
                    if let Event::PointerButton { pressed, .. } = other {
                        self.is_mouse_down = pressed;
                    }
                    kept.push(other);
                }
            }
        }
        let is_tap = |act: &Act| matches!(act, Act::Tap(_));
        if let Some(first) = acts.iter().position(is_tap) {
            // Of two taps that a slow frame brings together egui would lose one.
            self.later = acts.split_off(first + 1);
            now.is_finger = true;
        }
        self.tell(&mut kept, &acts);
        input.events = kept;
        now.pressed = self.tracker.pressed(now_s).collect();
        self.wake(ctx, &now, now_s);
        if seen(ctx, |before| *before != now) {
            ctx.data_mut(|d| d.insert_temp(seen_key(), Arc::new(now)));
        }
    }

    fn touch(
        &mut self,
        ctx: &Context,
        (id, phase, at): (u64, TouchPhase, Pos2),
        now_s: f64,
        screen: Rect,
    ) -> Option<Act> {
        match phase {
            TouchPhase::Start => {
                let keys: Option<Rect> = ctx.data(|d| d.get_temp(keys_key()).flatten());
                let down = Down {
                    id,
                    at,
                    now_s,
                    target: target_at(ctx, at),
                    is_on_key: keys.is_some_and(|keys| keys.contains(at)),
                };
                self.tracker.begins(down, screen);
                None
            }
            TouchPhase::Move => self.tracker.moves(id, at, now_s),
            TouchPhase::End => {
                let moved = self.tracker.moves(id, at, now_s);
                let (began_at, at) = self.tracker.places(id)?;
                let target = target_at(ctx, began_at);
                // Lifted elsewhere it means nothing, whatever lies there.
                let is_same = target == target_at(ctx, at);
                let nowhere = Id::unique("trayzero no target");
                let target = if is_same { target } else { Some(nowhere) };
                self.tracker.ends(id, now_s, target).or(moved)
            }
            TouchPhase::Cancel => {
                self.tracker.is_cancelled(id);
                None
            }
        }
    }

    /// Tells egui what the fingers have come to, as a pointer would.
    fn tell(&mut self, events: &mut Vec<Event>, acts: &[Act]) {
        if self.is_placed && acts.is_empty() && !self.tracker.is_thrown() {
            if std::mem::take(&mut self.is_turning) {
                events.push(wheel(egui::Vec2::ZERO, TouchPhase::End));
            }
            events.push(Event::PointerGone);
            self.is_placed = false;
        }
        for act in acts {
            self.is_placed = true;
            match *act {
                Act::Tap(at) => {
                    events.push(Event::PointerMoved(at));
                    events.push(button(at, true));
                    events.push(button(at, false));
                }
                Act::Scroll { at, by } => {
                    events.push(Event::PointerMoved(at));
                    self.is_turning = true;
                    // Each time anew: after a rest of 0.15 s egui takes the turn for that of
                    // a wheel, lags behind the finger and loses its last points.
                    events.push(wheel(egui::Vec2::ZERO, TouchPhase::Start));
                    events.push(wheel(by, TouchPhase::Move));
                }
                Act::Pinch { at, factor } => {
                    events.push(Event::PointerMoved(at));
                    events.push(Event::Zoom(factor));
                }
            }
        }
    }

    /// Asks for the frames that are still to come of themselves, and for no others.
    fn wake(&self, ctx: &Context, now: &GlassFrame, now_s: f64) {
        if self.is_placed || !self.later.is_empty() || self.tracker.is_thrown() || now.is_finger {
            ctx.request_repaint();
        }
        // What was pressed and has become a palm no longer looks pressed.
        let ends = now
            .pressed
            .iter()
            .map(|(_, since_s)| since_s + TAP_S - now_s);
        if let Some(in_s) = ends.reduce(f64::min) {
            let after = std::time::Duration::from_secs_f64(in_s.max(0.0) + 0.01);
            ctx.request_repaint_after(after);
        }
    }
}

fn is_pointer(event: &Event) -> bool {
    matches!(
        event,
        Event::PointerMoved(_)
            | Event::PointerButton { .. }
            | Event::PointerGone
            | Event::MouseMoved(_)
    )
}

fn is_key(event: &Event) -> bool {
    matches!(event, Event::Key { pressed: true, .. } | Event::Text(_))
}

fn button(pos: Pos2, pressed: bool) -> Event {
    Event::PointerButton {
        pos,
        button: PointerButton::Primary,
        pressed,
        modifiers: Modifiers::NONE,
    }
}

fn wheel(delta: egui::Vec2, phase: TouchPhase) -> Event {
    Event::MouseWheel {
        unit: egui::MouseWheelUnit::Point,
        delta,
        phase,
        source: egui::MouseWheelSource::Unknown,
        modifiers: Modifiers::NONE,
    }
}
