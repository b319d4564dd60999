//! A person at the window: finds controls by their names, taps and types.

use std::path::PathBuf;
use std::sync::Arc;

use egui::accesskit::Role;
use egui::{Key, Modifiers, Vec2};
use egui_kittest::kittest::{NodeT, Queryable};
use egui_kittest::{Harness, Node};
use trayzero::data::store::{Clock, SetClock, Stamp, Store};
use trayzero::desk::Desk;
use trayzero::ui::intent::{Intent, Screen};
use trayzero::ui::picture::picture;
use trayzero::window::Shell;

const START: Stamp = Stamp {
    at_ms: 1_796_000_000_000,
    offset_min: 60,
};

/// Roles that a finger or the keyboard works with.
const CONTROLS: [Role; 5] = [
    Role::Button,
    Role::RadioButton,
    Role::CheckBox,
    Role::TextInput,
    Role::MultilineTextInput,
];

/// A window of a size on a data folder of its own.
pub struct Hand {
    pub window: Harness<'static, Shell>,
    pub folder: tempfile::TempDir,
    size: Vec2,
}

impl Hand {
    /// Opens it on a screen.
    pub fn at(place: Screen, size: Vec2) -> Self {
        Self::with(place, size, |_| {})
    }

    /// The same with text of a size in percent.
    pub fn with_text(place: Screen, size: Vec2, percent: u16) -> Self {
        Self::with(place, size, |desk| {
            let mut settings = desk.settings().clone();
            settings.text_percent = percent;
            desk.carry_out(Intent::Settings(Box::new(settings)));
        })
    }

    fn with(place: Screen, size: Vec2, prepare: impl Fn(&mut Desk)) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let clock: Arc<dyn Clock> = Arc::new(SetClock::at(START));
        let store = Store::open(folder.path(), clock.now()).unwrap();
        let mut desk = Desk::open(store, clock).unwrap();
        prepare(&mut desk);
        Self::over(desk, folder, place, size)
    }

    /// Opens it over a desk whose data lie in a folder, or in a part of it.
    pub fn over(mut desk: Desk, folder: tempfile::TempDir, place: Screen, size: Vec2) -> Self {
        desk.carry_out(Intent::Go(place));
        Self::at_the_start(desk, folder, size)
    }

    /// Opens it as the program does: what was said at the start still stands.
    pub fn at_the_start(desk: Desk, folder: tempfile::TempDir, size: Vec2) -> Self {
        let mut window = Harness::builder()
            .with_size(size)
            .with_max_steps(40)
            .build_ui_state(|ui, shell: &mut Shell| shell.ui(ui), Shell::new(desk));
        window.run();
        Self {
            window,
            folder,
            size,
        }
    }

    /// Taps the control of that name, even if it has to be scrolled to.
    pub fn tap(&mut self, name: &str) {
        self.control(name).click_accesskit();
        self.window.run();
    }

    /// The one control of that name.
    pub fn control(&self, name: &str) -> Node<'_> {
        let all: Vec<Node<'_>> = self.controls().filter(|n| label(n) == name).collect();
        assert_eq!(
            all.len(),
            1,
            "controls called {name:?}; there are {:?}",
            self.names()
        );
        all.into_iter().next().unwrap()
    }

    /// Everything that can be worked.
    pub fn controls(&self) -> impl Iterator<Item = Node<'_>> {
        self.window
            .query_all(egui_kittest::kittest::By::new().predicate(|n| CONTROLS.contains(&n.role())))
    }

    /// Names of everything that can be worked.
    pub fn names(&self) -> Vec<String> {
        self.controls().map(|n| label(&n)).collect()
    }

    /// Whether a text stands anywhere on the screen; spaces aside, for keys stand in groups.
    pub fn says(&self, text: &str) -> bool {
        let close = |text: &str| text.replace(' ', "");
        let wanted = close(text);
        let by = egui_kittest::kittest::By::new();
        let all = self.window.query_all(by);
        all.into_iter().any(|n| {
            let node = n.accesskit_node();
            let said = [node.label(), node.value()];
            said.into_iter()
                .flatten()
                .any(|t| close(&t).contains(&wanted))
        })
    }

    /// Puts a text into the field of that name, in place of what stands there.
    pub fn write(&mut self, name: &str, text: &str) {
        self.control(name).focus();
        self.window.run();
        self.window.key_press_modifiers(Modifiers::COMMAND, Key::A);
        self.window.key_press(Key::Backspace);
        self.window.run();
        self.control(name).type_text(text);
        self.window.run();
        let stands = self.control(name).value().unwrap_or_default();
        assert_eq!(stands, text, "typed into {name:?}");
    }

    /// Keeps a picture of what is shown now.
    pub fn picture(&mut self, name: &str) {
        let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../target/pictures");
        std::fs::create_dir_all(&folder).unwrap();
        let shell = self.window.state_mut();
        let theme = shell.theme();
        let image = picture(theme, self.size, 1.0, 4, |ui| shell.ui(ui));
        image.save_png(&folder.join(format!("{name}.png"))).unwrap();
    }
}

/// What a screen reader calls a control.
pub fn label(node: &Node<'_>) -> String {
    node.accesskit_node().label().unwrap_or_default()
}
