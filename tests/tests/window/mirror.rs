//! The same screens without a window, on a copy of the data: they tell where things are.
//! Every tap goes to both, so both must come to the same job.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use egui::accesskit::Role;
use egui::{Id, Key, Modifiers, Pos2, Rect, UiBuilder, Vec2, WidgetRect};
use egui_kittest::Harness;
use egui_kittest::kittest::{By, NodeT, Queryable};
use trayzero::data::store::{Clock, Store, SystemClock};
use trayzero::desk::Desk;
use trayzero::power::{Answer, PowerView};
use trayzero::shop::ExchangePace;
use trayzero::ui::screens::bay::bar_words;
use trayzero::window::{Shell, desk_on};

use super::display::NOTCH;

/// What a finger may go to.
const CONTROLS: [Role; 5] = [
    Role::Button,
    Role::RadioButton,
    Role::CheckBox,
    Role::TextInput,
    Role::MultilineTextInput,
];

/// The screens on a copy of a data folder.
pub struct Mirror {
    harness: Harness<'static, Shell>,
}

impl Mirror {
    /// Copies the folder and opens it.
    pub fn of(data: &Path, copy: &Path, size: Vec2) -> Self {
        copy_folder(data, copy);
        let clock: Arc<dyn Clock> = Arc::new(SystemClock);
        let store = Store::open(copy, clock.now()).unwrap();
        Self::over(Desk::open(store, clock).unwrap(), size)
    }

    /// Copies the folder and opens it as the program does, by a clock, with the threads that
    /// keep its board.
    pub fn as_opened(clock: Arc<dyn Clock>, data: &Path, copy: &Path, size: Vec2) -> Self {
        copy_folder(data, copy);
        let mut desk = desk_on(copy, clock).unwrap();
        desk.join_shop(ExchangePace::default(), Box::new(|| {}));
        Self::over(desk, size)
    }

    /// The screens over a desk. As in the window, news from the shop is taken in first.
    pub fn over(mut desk: Desk, size: Vec2) -> Self {
        // The window has no bus to ask, and its settings say so at another length.
        desk.set_power(PowerView {
            awake: Answer::Silent,
            told: Answer::Silent,
            ..PowerView::default()
        });
        let harness = Harness::builder()
            .with_size(size)
            .with_step_dt(0.25)
            .build_ui_state(
                |ui, shell: &mut Shell| {
                    shell.desk.take_news();
                    // The harness keeps 8 points free all round; the window does not.
                    let all = ui.ctx().content_rect();
                    let mut whole = ui.new_child(UiBuilder::new().max_rect(all));
                    whole.set_clip_rect(all);
                    shell.ui(&mut whole);
                },
                Shell::new(desk),
            );
        let mut mirror = Self { harness };
        mirror.harness.run_steps(3);
        mirror
    }

    /// The screens.
    pub fn shell(&self) -> &Shell {
        self.harness.state()
    }

    /// The screens, for what no finger does here; a few frames follow.
    pub fn with_shell(&mut self, change: impl FnOnce(&mut Shell)) {
        change(self.harness.state_mut());
        self.harness.run_steps(2);
    }

    /// No pedal is waited for any more: the mirror hears none.
    pub fn stop_learning(&mut self) {
        trayzero::ui::glass::pedal::learn(&self.harness.ctx, false);
        self.harness.run_steps(2);
    }

    /// What the bar says now.
    pub fn bar(&self) -> String {
        let view = self.shell().desk.view();
        let job = view.job.as_ref().unwrap();
        let step = self.shell().screens.bay.step(job);
        let (title, more) = bar_words(&view, job, &step, job.layout().unwrap());
        if more.is_empty() {
            title
        } else {
            format!("{title}, {more}")
        }
    }

    /// Where a control of this name is; the name may be the beginning of what is spoken.
    pub fn place(&self, name: &str) -> Option<Rect> {
        let all = self.harness.query_all(By::new());
        let buttons: Vec<_> = all
            .filter(|n| CONTROLS.contains(&n.accesskit_node().role()))
            .collect();
        let label = |n: &egui_kittest::Node<'_>| n.accesskit_node().label().unwrap_or_default();
        // Of two of one name the one that takes a tap is meant.
        let exact = |n: &&egui_kittest::Node<'_>| label(n) == name;
        let taken = |n: &&egui_kittest::Node<'_>| exact(n) && !n.accesskit_node().is_disabled();
        let exact = buttons.iter().find(taken).or(buttons.iter().find(exact));
        let node = exact.or_else(|| buttons.iter().find(|n| label(n).starts_with(name)))?;
        Some(node.rect())
    }

    /// What is seen of a control that lies there; what scrolls may hide it in part or whole.
    pub fn seen_of(&self, rect: Rect) -> Rect {
        let is_it = |w: &WidgetRect| w.sense.senses_click() && w.rect.center() == rect.center();
        let all = self.widgets();
        all.into_iter()
            .find(is_it)
            .map_or(rect, |w| w.interact_rect)
    }

    /// What takes a tap, and where: the identity of each control, and what is seen of it.
    pub fn controls(&self) -> Vec<(Id, Rect)> {
        // One that is off takes no tap, and is as high as any other.
        let is_off = |w: &WidgetRect| (54.0..240.0).contains(&w.rect.height());
        let taken = |w: &WidgetRect| w.sense.senses_click() || is_off(w);
        let all = self.widgets().into_iter().filter(taken);
        all.map(|w| (w.id, w.interact_rect)).collect()
    }

    fn widgets(&self) -> Vec<WidgetRect> {
        self.harness.ctx.viewport(|state| {
            let layers = state.prev_pass.widgets.layers();
            layers.flat_map(|(_, all)| all.iter().copied()).collect()
        })
    }

    /// Where a key on the glass is; what lies below it may have the same name.
    pub fn key(&self, name: &str) -> Option<Rect> {
        if !trayzero::ui::widgets::keyboard::is_open(&self.harness.ctx) {
            return None;
        }
        let all = self.harness.query_all(By::new());
        let is_it = |n: &egui_kittest::Node<'_>| {
            let node = n.accesskit_node();
            CONTROLS.contains(&node.role()) && node.label().as_deref() == Some(name)
        };
        let layer = self.harness.ctx.clone();
        let on_top = |rect: &Rect| {
            let at = layer.layer_id_at(rect.center());
            at.is_some_and(|layer| layer.order == egui::Order::Foreground)
        };
        all.filter(is_it).map(|n| n.rect()).rfind(on_top)
    }

    /// What stands in the field of that name.
    pub fn value(&self, name: &str) -> Option<String> {
        let is_field = |role| matches!(role, Role::TextInput | Role::MultilineTextInput);
        let fields = self.harness.query_all(By::new());
        fields
            .map(|n| n.accesskit_node())
            .find(|n| is_field(n.role()) && n.label().as_deref() == Some(name))
            .and_then(|n| n.value())
    }

    /// Marks all that stands in the field that has the cursor.
    pub fn select_all(&mut self) {
        self.harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
        self.harness.run_steps(2);
    }

    /// Types a text.
    pub fn write(&mut self, text: &str) {
        for sign in text.chars() {
            self.harness.event(egui::Event::Text(sign.to_string()));
        }
        self.harness.run_steps(3);
    }

    /// Whether anything that is spoken contains these words.
    pub fn says(&self, words: &str) -> bool {
        self.spoken().iter().any(|said| said.contains(words))
    }

    /// Everything that is spoken, for a failing test.
    pub fn spoken(&self) -> Vec<String> {
        let all = self.harness.query_all(By::new());
        all.flat_map(|n| {
            let node = n.accesskit_node();
            [node.label(), node.value()]
        })
        .flatten()
        .collect()
    }

    /// The same tap.
    pub fn tap(&mut self, at: Pos2) {
        self.harness.hover_at(at);
        self.harness.run_steps(1);
        self.harness.drag_at(at);
        self.harness.run_steps(1);
        self.harness.drop_at(at);
        // What has come to lie under the finger is deaf for a while.
        self.harness.run_steps(6);
    }

    /// Two fingers round a place, as the glass tells egui of them.
    pub fn pinch(&mut self, at: Pos2, factor: f32) {
        self.harness.hover_at(at);
        self.harness.event(egui::Event::Zoom(factor));
        self.harness.run_steps(4);
        self.harness.event(egui::Event::PointerGone);
        self.harness.run_steps(2);
    }

    /// Time goes by, and nobody touches anything.
    pub fn rest(&mut self) {
        self.harness.run_steps(60);
    }

    /// The same turn of the wheel by whole notches, down if positive.
    pub fn wheel(&mut self, at: Pos2, notches: i32) {
        self.harness.hover_at(at);
        self.harness.run_steps(1);
        for _ in 0..notches.abs() {
            self.harness.event(egui::Event::MouseWheel {
                unit: egui::MouseWheelUnit::Point,
                delta: Vec2::new(0.0, -NOTCH * notches.signum() as f32),
                phase: egui::TouchPhase::Move,
                source: egui::MouseWheelSource::Wheel,
                modifiers: egui::Modifiers::default(),
            });
        }
        self.harness.run_steps(16);
    }
}

fn copy_folder(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy_folder(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).unwrap();
        }
    }
}
