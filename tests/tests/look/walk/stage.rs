//! The screens on a data folder, drawn frame by frame: taps go by spoken names, and each
//! frame can be looked at in any size, text scale and hand.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use egui::accesskit::{Action, ActionRequest, Node, NodeId, Role, TreeId};
use egui::epaint::ClippedShape;
use egui::{Context, Event, Pos2, RawInput, Rect, Ui, Vec2, WidgetRect, vec2};
use trayzero::data::settings::{Hand, Settings, ThemeChoice};
use trayzero::data::store::{Clock, SetClock, Stamp, Store};
use trayzero::desk::{Desk, Outcome};
use trayzero::ui::intent::{Intent, Screen};
use trayzero::ui::picture::picture;
use trayzero::ui::screens::lay_paper;
use trayzero::ui::theme::{Theme, Tone};
use trayzero::ui::view::View;
use trayzero::ui::words::{Language, Words};
use trayzero::window::Shell;
use uuid::Uuid;

use super::finger::{self, Found};

mod hand;
mod keys;

/// When everything here takes place.
pub const NOW: Stamp = Stamp {
    at_ms: 1_796_000_000_000,
    offset_min: 60,
};

/// The size in which scenes are set up.
pub const USUAL: Vec2 = vec2(1280.0, 800.0);

/// Seconds from one frame to the next.
const FRAME_S: f64 = 0.25;

/// Changes what the screens see, for what comes from elsewhere.
pub type Dress = Box<dyn Fn(&mut View<'_>)>;

/// How one frame is drawn.
#[derive(Clone, Copy, Debug)]
pub struct Setting {
    /// Points across and down.
    pub size: Vec2,
    /// Size of the text in percent.
    pub percent: u16,
    /// The hand that taps.
    pub hand: Hand,
    /// Whether the first-use cards still wait to be read.
    pub cards: bool,
    /// Light or dark.
    pub tone: Tone,
}

impl Setting {
    /// A size and a text size, for the right hand in daylight with every card read.
    pub fn of(size: Vec2, percent: u16) -> Self {
        Self {
            size,
            percent,
            hand: Hand::Right,
            cards: false,
            tone: Tone::ShopLight,
        }
    }
}

/// Everything that one frame left: what can be reached, what is said, what is painted.
pub struct Frame {
    /// The screen.
    pub screen: Rect,
    /// Spoken nodes by identity.
    pub nodes: BTreeMap<NodeId, Node>,
    /// Places of widgets, in painting order within each layer.
    pub widgets: Vec<WidgetRect>,
    /// Shapes in painting order.
    pub shapes: Vec<ClippedShape>,
}

/// The screens of one tablet.
pub struct Stage {
    pub shell: Shell,
    pub words: &'static Words,
    pub dress: Option<Dress>,
    /// What is found under the finger after each tap, where that is looked for.
    pub finger: Option<Found>,
    size: Vec2,
    root: PathBuf,
    ctx: Context,
    time: f64,
    last: BTreeMap<NodeId, Node>,
    settings: Settings,
}

impl Stage {
    /// Opens the screens on a data folder in a language.
    pub fn open(root: &Path, language: Language) -> Self {
        Self::open_sized(root, language, USUAL)
    }

    /// The same in another size than the usual one.
    pub fn open_sized(root: &Path, language: Language, size: Vec2) -> Self {
        let clock: Arc<dyn Clock> = Arc::new(SetClock::at(NOW));
        let store = Store::open(root, clock.now()).unwrap();
        let mut desk = Desk::open(store, clock).unwrap();
        let mut settings = desk.settings().clone();
        settings.language = language;
        settings.theme = ThemeChoice::Light;
        desk.carry_out(Intent::Settings(Box::new(settings.clone())));
        desk.carry_out(Intent::Go(Screen::Bays));
        let ctx = Context::default();
        ctx.enable_accesskit();
        let mut time = 0.0;
        touch(&ctx, &mut time);
        let mut stage = Self {
            shell: Shell::new(desk),
            words: language.words(),
            dress: None,
            finger: None,
            size,
            root: root.to_owned(),
            ctx,
            time,
            last: BTreeMap::new(),
            settings,
        };
        stage.settle();
        stage
    }

    /// The data folder.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// Shows a screen, with nothing typed on it.
    pub fn go(&mut self, place: Screen) {
        self.shell.desk.carry_out(Intent::LeaveJob);
        self.shell.desk.carry_out(Intent::Go(place));
        self.shell.screens.after_move();
        self.dress = None;
        self.settle();
    }

    /// Opens a job, or reads it only; the card that shows by itself is put away.
    pub fn job(&mut self, job: Uuid, only_read: bool) {
        self.come_back(job, only_read);
        self.shell.screens.bay.sheets.close();
        self.settle();
    }

    /// Opens a job and leaves what shows by itself.
    pub fn come_back(&mut self, job: Uuid, only_read: bool) {
        self.go(Screen::Bays);
        let outcome = self.shell.desk.carry_out(if only_read {
            Intent::ReadJob(job)
        } else {
            Intent::OpenJob(job)
        });
        if outcome == Outcome::Returned {
            self.shell.screens.after_return();
        } else {
            self.shell.screens.after_move();
        }
        self.settle();
    }

    /// Two frames in the usual size, as the window draws them.
    pub fn settle(&mut self) {
        self.frame(Vec::new());
        self.frame(Vec::new());
    }

    /// One frame as the window draws it; what is asked for is carried out.
    fn frame(&mut self, events: Vec<Event>) {
        let shell = &mut self.shell;
        let size = self.size;
        let nodes = run(&self.ctx, &mut self.time, size, events, |ui| shell.ui(ui)).0;
        self.last = nodes;
    }

    /// Taps the control of that name; the name may be the beginning of what is spoken.
    pub fn tap(&mut self, name: &str) {
        self.tap_nth(name, 0);
    }

    /// Taps one of several controls of the same name.
    pub fn tap_nth(&mut self, name: &str, nth: usize) {
        let label = |node: &Node| node.label().unwrap_or_default().to_owned();
        let mut found: Vec<NodeId> = self
            .in_order()
            .filter(|(_, node)| label(node) == name)
            .map(|(id, _)| *id)
            .collect();
        if found.is_empty() {
            found = self
                .in_order()
                .filter(|(_, node)| label(node).starts_with(name))
                .map(|(id, _)| *id)
                .collect();
        }
        let Some(target) = found.get(nth) else {
            let all: Vec<String> = self.in_order().map(|(_, n)| label(n)).collect();
            panic!("no control is called {name:?}; there are {all:?}");
        };
        self.act(*target, Action::Click, None);
    }

    /// Where a control of that name is.
    pub fn place(&self, name: &str) -> Rect {
        let node = self.in_order().find(|(_, n)| n.label() == Some(name));
        let bounds = node.and_then(|(_, n)| n.bounds());
        let bounds = bounds.unwrap_or_else(|| panic!("no control is called {name:?}"));
        Rect::from_min_max(
            egui::pos2(bounds.x0 as f32, bounds.y0 as f32),
            egui::pos2(bounds.x1 as f32, bounds.y1 as f32),
        )
    }

    /// A tap of the finger at a place, as the window gets it.
    pub fn press(&mut self, at: Pos2) {
        self.time += 1.0;
        let button = |pressed| Event::PointerButton {
            pos: at,
            button: egui::PointerButton::Primary,
            pressed,
            modifiers: egui::Modifiers::NONE,
        };
        self.frame(vec![Event::PointerMoved(at), button(true)]);
        self.frame(vec![button(false), Event::PointerGone]);
        self.time += 1.0;
        self.settle();
    }

    /// Puts the keyboard on a control.
    pub fn focus(&mut self, name: &str) {
        let node = self.in_order().find(|(_, n)| n.label() == Some(name));
        let id = *node
            .unwrap_or_else(|| panic!("no control is called {name:?}"))
            .0;
        self.act(id, Action::Focus, None);
    }

    /// A key on the keyboard.
    pub fn type_key(&mut self, which: egui::Key) {
        self.frame(vec![key(which, egui::Modifiers::NONE)]);
        self.time += 1.0;
        self.settle();
    }

    /// Types into the field of that name, in place of what stands there.
    pub fn write(&mut self, name: &str, text: &str) {
        let fields = [Role::TextInput, Role::MultilineTextInput];
        let field = self
            .last
            .iter()
            .find(|(_, n)| fields.contains(&n.role()) && self.name_of(n) == name)
            .map(|(id, _)| *id);
        let Some(field) = field else {
            let all: Vec<String> = self.last.values().map(|n| self.name_of(n)).collect();
            panic!("no field is called {name:?}; there are {all:?}");
        };
        self.act(field, Action::Focus, None);
        let command = egui::Modifiers::COMMAND;
        self.frame(vec![
            key(egui::Key::A, command),
            key(egui::Key::Backspace, egui::Modifiers::NONE),
        ]);
        self.frame(vec![Event::Text(text.to_owned())]);
        self.ctx.memory_mut(|m| {
            if let Some(id) = m.focused() {
                m.surrender_focus(id);
            }
        });
        self.settle();
    }

    fn act(&mut self, target: NodeId, action: Action, data: Option<egui::accesskit::ActionData>) {
        self.time += 1.0;
        let is_click = action == Action::Click;
        let before = finger::controls(self);
        let name = self.last.get(&target).and_then(|n| n.label());
        let name = name.unwrap_or_default().to_owned();
        self.frame(vec![Event::AccessKitActionRequest(ActionRequest {
            action,
            target_tree: TreeId::ROOT,
            target_node: target,
            data,
        })]);
        if let Some(mut found) = self.finger.take() {
            if is_click {
                for _ in 0..2 {
                    self.frame_after(0.01, Vec::new());
                }
                finger::look_under(self, &name, &before, &mut found);
            }
            self.finger = Some(found);
        }
        self.time += 1.0;
        self.settle();
    }

    /// Controls, from the top down and from left to right.
    fn in_order(&self) -> impl Iterator<Item = (&NodeId, &Node)> {
        let mut all: Vec<_> = self
            .last
            .iter()
            .filter(|(_, node)| super::check::is_control(node.role()))
            .collect();
        let place = |node: &Node| node.bounds().map_or((0, 0), |b| (b.y0 as i64, b.x0 as i64));
        all.sort_by_key(|(_, node)| place(node));
        all.into_iter()
    }

    /// What a node is called: its own label, or the label that names it.
    fn name_of(&self, node: &Node) -> String {
        name_of(&self.last, node)
    }

    /// Whether there is a control of that name.
    pub fn has(&self, name: &str) -> bool {
        self.in_order().any(|(_, node)| node.label() == Some(name))
    }

    /// Draws the same screen in another setting and looks at what it leaves. Nothing
    /// that is asked for in it is carried out.
    pub fn look(&mut self, setting: Setting) -> Frame {
        let mut seen = None;
        for _ in 0..3 {
            seen = Some(self.look_once(setting, Vec::new()));
        }
        seen.unwrap()
    }

    /// One frame of [`Stage::look`], with input.
    pub fn look_once(&mut self, setting: Setting, events: Vec<Event>) -> Frame {
        let settings = self.dressed(setting);
        let theme = theme_of(setting);
        let Self {
            shell,
            dress,
            ctx,
            time,
            ..
        } = self;
        let Shell { desk, screens } = shell;
        frame_of(ctx, time, setting.size, events, |ui| {
            theme.install(ui.ctx());
            let mut view = desk.view();
            view.settings = &settings;
            if let Some(dress) = dress {
                dress(&mut view);
            }
            lay_paper(ui, &theme);
            screens.ui(ui, &view, &mut Vec::new());
        })
    }

    /// Keeps a picture of the screen in a setting.
    pub fn picture(&mut self, setting: Setting, path: &Path) {
        let settings = self.dressed(setting);
        let Self { shell, dress, .. } = self;
        let Shell { desk, screens } = shell;
        let theme = theme_of(setting);
        let image = picture(theme, setting.size, 1.0, 3, |ui| {
            let mut view = desk.view();
            view.settings = &settings;
            if let Some(dress) = dress {
                dress(&mut view);
            }
            lay_paper(ui, &theme);
            screens.ui(ui, &view, &mut Vec::new());
        });
        image.save_png(path).unwrap();
    }

    fn dressed(&self, setting: Setting) -> Settings {
        Settings {
            text_percent: setting.percent,
            hand: setting.hand,
            first_use_cards: setting.cards,
            reduced_motion: true,
            ..self.settings.clone()
        }
    }
}

fn theme_of(setting: Setting) -> Theme {
    let scale = f32::from(setting.percent) / 100.0;
    Theme::new(setting.tone, scale).still(true)
}

/// A finger comes down and goes: from then on the screen is one that is touched, and its
/// lists are dragged.
pub fn touch(ctx: &Context, time: &mut f64) {
    let finger = |phase| Event::Touch {
        device_id: egui::TouchDeviceId(1),
        id: egui::TouchId(1),
        phase,
        pos: Pos2::ZERO,
        force: None,
    };
    let events = vec![
        finger(egui::TouchPhase::Start),
        finger(egui::TouchPhase::End),
    ];
    run(ctx, time, USUAL, events, |_| {});
}

/// A key that is pressed.
pub fn key(key: egui::Key, modifiers: egui::Modifiers) -> Event {
    Event::Key {
        key,
        physical_key: None,
        pressed: true,
        repeat: false,
        modifiers,
    }
}

/// What a node is called: its own label, or the label that names it.
pub fn name_of(nodes: &BTreeMap<NodeId, Node>, node: &Node) -> String {
    if let Some(label) = node.label() {
        return label.to_owned();
    }
    let names = node.labelled_by().iter().filter_map(|id| nodes.get(id));
    names
        .filter_map(|n| n.label().or(n.value()))
        .collect::<Vec<_>>()
        .join(" ")
}

fn run(
    ctx: &Context,
    time: &mut f64,
    size: Vec2,
    events: Vec<Event>,
    mut ui: impl FnMut(&mut Ui),
) -> (BTreeMap<NodeId, Node>, Vec<ClippedShape>) {
    *time += FRAME_S;
    let input = RawInput {
        screen_rect: Some(Rect::from_min_size(Pos2::ZERO, size)),
        time: Some(*time),
        events,
        focused: true,
        ..RawInput::default()
    };
    let mut output = ctx.run_ui(input, |root| ui(root));
    let nodes = output
        .platform_output
        .accesskit_update
        .take()
        .map(|update| update.nodes.into_iter().collect())
        .unwrap_or_default();
    let shapes = std::mem::take(&mut output.shapes);
    output.drop_without_applying_deltas();
    (nodes, shapes)
}

/// One frame of any screen, with what it leaves.
pub fn frame_of(
    ctx: &Context,
    time: &mut f64,
    size: Vec2,
    events: Vec<Event>,
    ui: impl FnMut(&mut Ui),
) -> Frame {
    let (nodes, shapes) = run(ctx, time, size, events, ui);
    Frame {
        screen: Rect::from_min_size(Pos2::ZERO, size),
        widgets: widgets(ctx),
        nodes,
        shapes,
    }
}

/// The widgets of the last pass, layer by layer.
fn widgets(ctx: &Context) -> Vec<WidgetRect> {
    ctx.viewport(|state| {
        let mut layers: Vec<_> = state.prev_pass.widgets.layers().collect();
        layers.sort_by_key(|(layer, _)| (layer.order, layer.id.value()));
        layers
            .into_iter()
            .flat_map(|(_, all)| all.iter().copied())
            .collect()
    })
}
