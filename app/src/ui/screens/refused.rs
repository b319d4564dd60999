//! What was refused, beside the finger that asked for it, until the next tap. So stands
//! what was said otherwise, where the screen has no room for it.

use egui::{Event, Key, Pos2, Ui};

use super::top;
use crate::ui::glass;
use crate::ui::intent::Intent;
use crate::ui::theme::Theme;
use crate::ui::view::{Notice, View};
use crate::ui::widgets::FingerNote;

/// Where the finger or the keyboard was last, and whether a refusal is being shown.
#[derive(Default)]
pub struct RefusalShown {
    finger: Option<Pos2>,
    is_shown: bool,
}

impl RefusalShown {
    /// Notes where the finger comes down; call it before anything else is drawn.
    pub fn follow(&mut self, ui: &Ui) {
        let pressed = ui.input(|i| i.pointer.any_pressed().then(|| i.pointer.interact_pos()));
        if let Some(at) = pressed.flatten() {
            self.finger = Some(at);
            return;
        }
        let key = ui.input(|i| i.key_pressed(Key::Enter) || i.key_pressed(Key::Space));
        let focus = ui.memory(egui::Memory::focused).filter(|_| key);
        if let Some(at) = focus.and_then(|id| ui.ctx().read_response(id)) {
            self.finger = Some(at.rect.center());
        }
    }

    /// The pedal is the big bar: what it is told stands there.
    pub fn follow_pedal(&mut self, ui: &Ui, bar: Option<Pos2>) {
        if glass::pedal(ui.ctx()).is_some() && bar.is_some() {
            self.finger = bar;
        }
    }

    /// Shows the refusal, if there is one, and with `all` any other message. The next tap
    /// takes it away; that tap counts where it goes.
    pub fn ui(&mut self, ui: &Ui, v: &View<'_>, all: bool, out: &mut Vec<Intent>) {
        let note = v.notice.filter(|n| all || is_refusal(n));
        let Some(note) = note.map(|notice| note_of(ui, notice)) else {
            self.is_shown = false;
            return;
        };
        let bounds = top::below(ui);
        let at = self.finger.unwrap_or(bounds.center_bottom());
        note.ui(ui, at, bounds);
        let is_pressed = glass::pedal(ui.ctx()).is_some();
        if self.is_shown && (is_pressed || is_tapped(ui) || is_scrolled(ui)) {
            out.insert(0, Intent::Read);
        }
        self.is_shown = true;
    }
}

fn is_refusal(notice: &Notice) -> bool {
    matches!(notice, Notice::Refused { .. })
}

fn note_of<'a>(ui: &Ui, notice: &'a Notice) -> FingerNote<'a> {
    let c = Theme::of(ui.ctx()).colours;
    // The permanent code stays in the files: beside a field for an engine's fault codes it
    // would look like one.
    let (what, way_out, tint) = match notice {
        Notice::Refused { why, way_out, .. } => (why, way_out.as_str(), c.astray),
        Notice::Fault { what, way_out } => (what, way_out.as_str(), c.astray),
        Notice::Said(text) => (text, "", c.done),
    };
    FingerNote {
        what,
        way_out,
        tint,
        has_sign: tint == c.astray,
    }
}

/// Whether what lies under the note has been moved away from it.
fn is_scrolled(ui: &Ui) -> bool {
    ui.input(|i| i.smooth_scroll_delta() != egui::Vec2::ZERO || i.pointer.is_decidedly_dragging())
}

/// Whether a tap has ended, or its like on the keyboard.
fn is_tapped(ui: &Ui) -> bool {
    ui.input(|i| {
        let is_key = |e: &Event| {
            matches!(
                e,
                Event::Key {
                    key: Key::Enter | Key::Space | Key::Escape,
                    pressed: true,
                    ..
                }
            )
        };
        i.pointer.any_released() || i.events.iter().any(is_key)
    })
}
