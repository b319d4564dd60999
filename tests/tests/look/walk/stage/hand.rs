//! The finger and the eye on a stage: short taps at given times, wheels, what stands where.

use std::collections::BTreeMap;

use egui::accesskit::{Action, Node, NodeId, Role};
use egui::{Event, Pos2, WidgetRect, vec2};

use super::{FRAME_S, Stage, widgets};

impl Stage {
    /// One frame so many seconds after the last.
    pub(super) fn frame_after(&mut self, seconds: f64, events: Vec<Event>) {
        self.time += seconds - FRAME_S;
        self.frame(events);
    }

    /// A short tap of the finger after so many seconds.
    pub fn poke(&mut self, at: Pos2, after_s: f64) {
        self.poke_for(at, after_s, 0.004);
    }

    /// The same, over before much time has gone, so that many fit in a second.
    pub fn poke_fast(&mut self, at: Pos2, after_s: f64) {
        self.poke_for(at, after_s, 0.0004);
    }

    fn poke_for(&mut self, at: Pos2, after_s: f64, frame_s: f64) {
        let button = |pressed| Event::PointerButton {
            pos: at,
            button: egui::PointerButton::Primary,
            pressed,
            modifiers: egui::Modifiers::NONE,
        };
        self.frame_after(after_s, vec![Event::PointerMoved(at), button(true)]);
        self.frame_after(frame_s, vec![button(false), Event::PointerGone]);
        self.frame_after(frame_s, Vec::new());
    }

    /// Puts the cursor into the field of that name.
    pub fn focus_field(&mut self, name: &str) {
        let fields = [Role::TextInput, Role::MultilineTextInput];
        let is_it = |n: &Node| fields.contains(&n.role()) && self.name_of(n) == name;
        let field = self.last.iter().find(|(_, n)| is_it(n)).map(|(id, _)| *id);
        let field = field.unwrap_or_else(|| panic!("no field is called {name:?}"));
        self.act(field, Action::Focus, None);
    }

    /// What stands in the field of that name.
    pub fn value(&self, name: &str) -> Option<String> {
        let fields = [Role::TextInput, Role::MultilineTextInput];
        let is_it = |n: &&Node| fields.contains(&n.role()) && self.name_of(n) == name;
        let field = self.last.values().find(is_it)?;
        field.value().map(str::to_owned)
    }

    /// Scrolls what lies at a place by so many points, up if negative.
    pub fn scroll(&mut self, at: Pos2, by: f32) {
        self.frame(vec![Event::PointerMoved(at)]);
        self.frame(vec![Event::MouseWheel {
            unit: egui::MouseWheelUnit::Point,
            delta: vec2(0.0, by),
            phase: egui::TouchPhase::Move,
            source: egui::MouseWheelSource::Wheel,
            modifiers: egui::Modifiers::default(),
        }]);
        for _ in 0..8 {
            self.frame(Vec::new());
        }
        self.frame(vec![Event::PointerGone]);
    }

    /// The clock of the screen.
    pub fn seconds(&self) -> f64 {
        self.time
    }

    /// How many events the open job holds.
    pub fn events(&self) -> usize {
        let state = self.shell.desk.state();
        state.map_or(0, trayzero_core::job::JobState::event_count)
    }

    /// The spoken nodes of the last frame.
    pub fn nodes(&self) -> &BTreeMap<NodeId, Node> {
        &self.last
    }

    /// The parts of the last frame, the topmost last.
    pub fn widgets(&self) -> Vec<WidgetRect> {
        widgets(&self.ctx)
    }
}
