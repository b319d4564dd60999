//! A pedal or one big button that sends a key or a button of a mouse.
//!
//! It is learnt by pressing it. What it sends goes to nothing else from then on, wherever
//! the keyboard is.

use egui::{Context, Event, Id, PointerButton};

/// Held for so many seconds, a press takes the last step back.
pub const HOLD_S: f64 = 1.2;

/// What the pedal did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PedalPress {
    /// It was pressed and let go.
    Short,
    /// It was held.
    Long,
}

/// The pedal that was learnt, and since when it is held.
#[derive(Debug, Default)]
pub struct Pedal {
    /// What it sends, as [`name_of`] says it; empty where none was learnt.
    pub sends: String,
    since_s: Option<f64>,
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
                if !is_repeat {
                    self.since_s.get_or_insert(now_s);
                }
            } else if let Some(since_s) = self.since_s.take() {
                press = Some(if now_s - since_s >= HOLD_S {
                    PedalPress::Long
                } else {
                    PedalPress::Short
                });
            }
            false
        });
        press
    }
}
