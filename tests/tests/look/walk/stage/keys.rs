//! The keys on the glass and the keyboard on a stage: which field they are on, coming and going.

use egui::accesskit::{Action, NodeId, Role};
use egui::{Order, WidgetRect};
use trayzero::data::settings::KeysShown;
use trayzero::ui::intent::Intent;
use trayzero::ui::widgets::keyboard;

use super::Stage;

impl Stage {
    /// Every field that is written into, by its label.
    pub fn fields(&self) -> Vec<(NodeId, String)> {
        let fields = [Role::TextInput, Role::MultilineTextInput];
        let all = self.last.iter().filter(|(_, n)| fields.contains(&n.role()));
        all.map(|(id, n)| (*id, self.name_of(n))).collect()
    }

    /// Lets the keys on the glass come whenever a field is taken.
    pub fn always_with_keys(&mut self) {
        self.settings.keys = KeysShown::Always;
        let settings = Box::new(self.settings.clone());
        self.shell.desk.carry_out(Intent::Settings(settings));
    }

    /// Takes a field, so that its keys come.
    pub fn open_keys(&mut self, field: NodeId) {
        self.act(field, Action::Focus, None);
        assert!(keyboard::is_open(&self.ctx), "the keys come");
    }

    /// The names of the keys that lie on the screen, choices too.
    pub fn keys_open(&self) -> Vec<String> {
        let is_above = |w: &WidgetRect| w.layer_id.order == Order::Foreground;
        let above = self.widgets().into_iter().filter(is_above);
        let nodes = above.filter_map(|w| self.last.get(&w.id.accesskit_id()));
        nodes
            .filter(|n| n.role() == Role::Button)
            .map(|n| n.label().unwrap_or_default().to_owned())
            .collect()
    }

    /// Puts the keys away.
    pub fn close_keys(&mut self) {
        keyboard::close(&self.ctx);
        self.let_go();
        self.time += 1.0;
        self.settle();
    }

    /// Whether the keyboard is on anything; it is taken away.
    pub fn let_go(&mut self) {
        self.ctx.memory_mut(|m| {
            if let Some(id) = m.focused() {
                m.surrender_focus(id);
            }
        });
    }

    /// The node that the keyboard is on.
    pub fn focused(&self) -> Option<NodeId> {
        self.ctx
            .memory(egui::Memory::focused)
            .map(|id| id.accesskit_id())
    }
}
