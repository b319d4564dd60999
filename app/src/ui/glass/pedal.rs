//! A pedal or one big button that sends a key or a button of a mouse.
//!
//! It is learnt by pressing it. What it sends goes to nothing else from then on, wherever
//! the keyboard is.

use std::time::Duration;

use egui::{Context, Event, Id, PointerButton};

/// Held for so many seconds, a press takes the last step back.
pub const HOLD_S: f64 = 1.2;
/// A key that is held repeats within so many seconds; common practice, no source.
const REPEAT_S: f64 = 0.75;
/// What seems to be held for so many seconds is no foot: something lies on it, or it was
/// let go and nobody said so.
const LIES_S: f64 = 5.0;
/// Between two frames no more than so many seconds count as watched.
const WATCHED_S: f64 = 0.25;

/// What the pedal did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PedalPress {
    /// It was pressed and let go.
    Short,
    /// It was held.
    Long,
}

/// The pedal that was learnt, and the press that has begun.
#[derive(Debug, Default)]
pub struct Pedal {
    /// What it sends, as [`name_of`] says it; empty where none was learnt.
    pub sends: String,
    held: Option<PedalHeld>,
}

/// A press that has begun.
#[derive(Clone, Copy, Debug)]
struct PedalHeld {
    since_s: f64,
    /// When the key last said that it is down.
    said_s: f64,
    /// Until when it was watched, and for how long in all.
    seen_s: f64,
    watched_s: f64,
    /// It went down a second time and was not let go in between: whether it is one press or
    /// two, nobody knows.
    is_doubtful: bool,
}

impl PedalHeld {
    fn from(now_s: f64) -> Self {
        Self {
            since_s: now_s,
            said_s: now_s,
            seen_s: now_s,
            watched_s: 0.0,
            is_doubtful: false,
        }
    }

    /// It is down, and says so again. The raw hook comes before egui tells what repeats.
    fn says_down(&mut self, now_s: f64) {
        let silent_s = now_s - self.said_s;
        if silent_s > LIES_S {
            *self = Self::from(now_s);
        }
        self.is_doubtful |= silent_s > REPEAT_S && silent_s <= LIES_S;
        self.said_s = now_s;
    }

    /// What it was, now that it is let go. Where that is not certain it was nothing: a press
    /// that is lost costs another one, a step that nobody asked for may cost more.
    fn is_let_go(self, now_s: f64) -> Option<PedalPress> {
        let held_s = now_s - self.since_s;
        if self.is_doubtful || held_s >= LIES_S {
            None
        } else if held_s < HOLD_S {
            Some(PedalPress::Short)
        } else {
            // The window stood still meanwhile: the foot may have been gone long before.
            (self.watched_s >= HOLD_S).then_some(PedalPress::Long)
        }
    }
}

fn learning_key() -> Id {
    Id::unique("trayzero learns a pedal")
}

/// What learning has come to.
#[derive(Clone, Debug, PartialEq)]
enum Learning {
    Waits,
    Learnt(String),
}

/// Lets the next key or button be the pedal, or no longer.
pub fn learn(ctx: &Context, is_wanted: bool) {
    ctx.data_mut(|d| {
        d.remove::<Learning>(learning_key());
        if is_wanted {
            d.insert_temp(learning_key(), Learning::Waits);
        }
    });
}

/// Whether the next press is waited for.
pub fn is_learning(ctx: &Context) -> bool {
    ctx.data(|d| d.get_temp(learning_key()) == Some(Learning::Waits))
}

/// What was learnt since [`learn`]; it is told once.
pub fn learnt(ctx: &Context) -> Option<String> {
    ctx.data_mut(|d| match d.get_temp(learning_key()) {
        Some(Learning::Learnt(name)) => {
            d.remove::<Learning>(learning_key());
            Some(name)
        }
        _ => None,
    })
}

/// What an event sends, if it may be that of a pedal: any key, and any button but the
/// first, which is the finger's; whether it goes down, and whether it only repeats.
pub fn name_of(event: &Event) -> Option<(String, bool, bool)> {
    match event {
        Event::Key {
            key,
            pressed,
            repeat,
            ..
        } => Some((format!("key {}", key.name()), *pressed, *repeat)),
        Event::PointerButton {
            button, pressed, ..
        } => {
            let name = match button {
                PointerButton::Primary => return None,
                PointerButton::Secondary => "button 2",
                PointerButton::Middle => "button 3",
                PointerButton::Extra1 => "button 4",
                PointerButton::Extra2 => "button 5",
            };
            Some((name.to_owned(), *pressed, false))
        }
        _ => None,
    }
}

impl Pedal {
    /// Takes what the pedal sends out of what egui would hear.
    pub(super) fn hear(
        &mut self,
        ctx: &Context,
        events: &mut Vec<Event>,
        now_s: f64,
    ) -> Option<PedalPress> {
        let is_learning = is_learning(ctx);
        if self.sends.is_empty() && !is_learning {
            return None;
        }
        self.watch(events, now_s);
        let mut press = None;
        let mut was_taken = false;
        events.retain(|event| {
            // The letter that a key writes comes right behind it.
            if was_taken && matches!(event, Event::Text(_)) {
                return false;
            }
            was_taken = false;
            let Some((name, is_down, is_repeat)) = name_of(event) else {
                return true;
            };
            if is_learning {
                if is_down && !is_repeat {
                    let learnt = Learning::Learnt(name);
                    ctx.data_mut(|d| d.insert_temp(learning_key(), learnt));
                    was_taken = true;
                }
                return false;
            }
            if name != self.sends {
                return true;
            }
            was_taken = true;
            if is_down {
                let held = self.held.get_or_insert(PedalHeld::from(now_s));
                held.says_down(now_s);
            } else if let Some(held) = self.held.take() {
                press = held.is_let_go(now_s);
            }
            false
        });
        if self.held.is_some_and(|held| now_s - held.since_s < LIES_S) {
            ctx.request_repaint_after(Duration::from_secs_f64(WATCHED_S / 2.0));
        }
        press
    }

    /// Follows a press from frame to frame. One that outlasts the window's turn at the
    /// keyboard ends as nothing: its release goes elsewhere.
    fn watch(&mut self, events: &[Event], now_s: f64) {
        let is_away = |e: &Event| matches!(e, Event::WindowFocused(false));
        if events.iter().any(is_away) {
            self.held = None;
        }
        let Some(held) = &mut self.held else {
            return;
        };
        held.watched_s += (now_s - held.seen_s).clamp(0.0, WATCHED_S);
        held.seen_s = now_s;
    }
}

#[cfg(test)]
mod tests;
