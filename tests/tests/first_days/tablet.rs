//! The screens on a data folder, worked by the names of their controls.

use std::path::Path;
use std::sync::Arc;

use egui::accesskit::Role;
use egui::{Pos2, Rect, Vec2};
use egui_kittest::kittest::{By, NodeT, Queryable};
use egui_kittest::{Harness, Node};
use trayzero::data::settings::Settings;
use trayzero::data::store::{Clock, SetClock, Stamp};
use trayzero::shop::ExchangePace;
use trayzero::ui::intent::{Intent, Screen};
use trayzero::ui::picture::picture;
use trayzero::ui::screens::sheets::Sheet;
use trayzero::window::{Shell, desk_on};

pub const NOW: Stamp = Stamp {
    at_ms: 1_796_000_000_000,
    offset_min: 60,
};

/// Seconds of one step.
const STEP_S: f32 = 0.125;
/// Steps in which every guard against a second tap has passed.
const REST_STEPS: usize = 6;

pub struct Tablet {
    window: Harness<'static, Shell>,
}

impl Tablet {
    /// Opens a data folder as the program does.
    pub fn open(data: &Path, size: Vec2) -> Self {
        let clock: Arc<dyn Clock> = Arc::new(SetClock::at(NOW));
        let shell = Shell::new(desk_on(data, clock).unwrap());
        let window = Harness::builder()
            .with_size(size)
            .with_step_dt(STEP_S)
            .build_ui_state(|ui, shell: &mut Shell| shell.ui(ui), shell);
        let mut tablet = Self { window };
        tablet.rest();
        tablet
    }

    pub fn shell(&self) -> &Shell {
        self.window.state()
    }

    pub fn rest(&mut self) {
        self.window.run_steps(REST_STEPS);
    }

    pub fn ask(&mut self, intent: Intent) {
        let shell = self.window.state_mut();
        shell.desk.carry_out(intent);
        shell.screens.after_move();
        self.rest();
    }

    pub fn go(&mut self, place: Screen) {
        self.ask(Intent::Go(place));
    }

    pub fn set(&mut self, change: impl FnOnce(&mut Settings)) {
        let mut settings = self.shell().desk.settings().clone();
        change(&mut settings);
        self.ask(Intent::Settings(Box::new(settings)));
    }

    /// Meets the others, and hears what has come of it.
    pub fn hear_the_shop(&mut self) {
        let desk = &mut self.window.state_mut().desk;
        if !desk.has_shop() {
            desk.join_shop(ExchangePace::default(), Box::new(|| ()));
        }
        desk.take_news();
        self.rest();
    }

    /// Lays a sheet over the panel of the bay.
    pub fn lay(&mut self, sheet: Sheet) {
        self.window.state_mut().screens.bay.sheets.open(sheet);
        self.rest();
    }

    fn named(&self, name: &str) -> Option<Node<'_>> {
        let roles = [Role::Button, Role::TextInput];
        let by = By::new().predicate(move |n| roles.contains(&n.role()));
        let mut all = self.window.query_all(by).filter(|n| label(n) == name);
        let found = all.next();
        assert!(all.next().is_none(), "there are two \"{name}\"");
        found
    }

    /// Where the control of that name is.
    pub fn place(&self, name: &str) -> Option<Rect> {
        self.named(name).map(|node| node.rect())
    }

    /// The places of all buttons whose names begin so.
    pub fn places(&self, begin: &str) -> Vec<Rect> {
        let all = self.window.query_all_by_role(Role::Button);
        all.filter(|n| label(n).starts_with(begin))
            .map(|n| n.rect())
            .collect()
    }

    /// Taps the control of that name, and lets the guards pass.
    pub fn tap(&mut self, name: &str) {
        let Some(node) = self.named(name) else {
            panic!("no \"{name}\" among {:#?}", self.spoken());
        };
        node.click_accesskit();
        self.rest();
    }

    /// A tap of the pointer, quicker than any guard.
    pub fn tap_at(&mut self, at: Pos2) {
        self.window.hover_at(at);
        self.window.drag_at(at);
        self.window.run_steps(1);
        self.window.drop_at(at);
        self.window.run_steps(1);
    }

    /// Types into the field of that name.
    pub fn write(&mut self, name: &str, text: &str) {
        let field = || self.named(name).unwrap();
        field().focus();
        self.window.run_steps(2);
        self.named(name).unwrap().type_text(text);
        self.window.run_steps(2);
    }

    /// Keeps a picture of what is shown now.
    pub fn keep(&mut self, name: &str, size: Vec2) {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../target/pictures");
        std::fs::create_dir_all(&folder).unwrap();
        let shell = self.window.state_mut();
        let image = picture(shell.theme(), size, 1.0, 4, |ui| shell.ui(ui));
        image.save_png(&folder.join(format!("{name}.png"))).unwrap();
    }

    pub fn spoken(&self) -> Vec<String> {
        let all = self.window.query_all(By::new());
        all.flat_map(|n| [n.accesskit_node().label(), n.accesskit_node().value()])
            .flatten()
            .collect()
    }

    pub fn says(&self, text: &str) -> bool {
        self.spoken().iter().any(|said| said.contains(text))
    }
}

fn label(node: &Node<'_>) -> String {
    node.accesskit_node().label().unwrap_or_default()
}
