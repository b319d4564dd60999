//! The native window: one frame draws the view, then the intents are carried out.

use std::num::NonZero;
use std::panic::resume_unwind;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::thread::{self, ScopedJoinHandle};
use std::time::{Duration, Instant};

use egui::{Context, RawInput, Ui};

use crate::data::settings::ThemeChoice;
use crate::data::store::{Clock, Store, SystemClock, TABLET_FILE};
use crate::desk::{Desk, Outcome};
use crate::power::Power;
use crate::shop::ExchangePace;
use crate::ui::first_use;
use crate::ui::glass::Glass;
use crate::ui::intent::Intent;
use crate::ui::screens::{Screens, lay_paper};
use crate::ui::theme::{Theme, Tone};

/// The whole app: the desk and the screens on it. It knows no window, so tests and
/// pictures run it too.
pub struct Shell {
    /// The desk.
    pub desk: Desk,
    /// The screens.
    pub screens: Screens,
}

impl Shell {
    /// A shell over a desk.
    pub fn new(desk: Desk) -> Self {
        Self {
            desk,
            screens: Screens::default(),
        }
    }

    /// The theme that the settings ask for, where the system says nothing of its own.
    pub fn theme(&self) -> Theme {
        self.theme_with(None)
    }

    /// The theme that the settings ask for, or the system where they leave it to it.
    pub fn theme_with(&self, system: Option<egui::Theme>) -> Theme {
        let settings = self.desk.settings();
        let tone = match (settings.theme, system) {
            (ThemeChoice::Night, _) => Tone::Night,
            (ThemeChoice::Auto, Some(egui::Theme::Dark)) => Tone::Night,
            (ThemeChoice::Light | ThemeChoice::Auto, _) => Tone::ShopLight,
        };
        let scale = f32::from(settings.text_percent) / 100.0;
        Theme::new(tone, scale).still(settings.reduced_motion)
    }

    /// Draws one frame and carries out what was asked for in it.
    pub fn ui(&mut self, ui: &mut Ui) {
        lay_paper(ui, &self.theme_with(ui.ctx().system_theme()));
        self.ui_on_paper(ui);
    }

    /// The same where the ground is paper already.
    fn ui_on_paper(&mut self, ui: &mut Ui) {
        self.theme_with(ui.ctx().system_theme()).install(ui.ctx());
        let mut intents = Vec::new();
        self.screens.ui(ui, &self.desk.view(), &mut intents);
        if intents.is_empty() {
            return;
        }
        for intent in intents {
            self.carry_out(intent);
        }
        ui.ctx().request_repaint();
    }

    /// Carries an intent out, and tells the screens what came of it.
    pub fn carry_out(&mut self, intent: Intent) -> Outcome {
        let outcome = self.desk.carry_out(intent);
        match outcome {
            Outcome::Taken => self.screens.after_tap(),
            Outcome::Moved => self.screens.after_move(),
            Outcome::Returned => self.screens.after_return(),
            Outcome::Stayed => {}
        }
        outcome
    }
}

/// A record that the program is started for.
#[derive(Clone, Debug)]
pub struct RecordToOpen {
    /// The file.
    pub path: PathBuf,
    /// The key of the shop that it is to be of, 64 hex digits.
    pub shop_key: Option<String>,
}

struct Window {
    shell: Shell,
    ctx: Context,
    /// The screen that is kept on, and the battery; begun once the first picture stands.
    power: Option<Power>,
    /// When somebody was last at the screen.
    last_used: Option<Instant>,
    /// The record that the program was started for.
    opens: Option<RecordToOpen>,
    /// Whether the whole screen was asked for when the program was started.
    wants_full: bool,
    /// Whether the window has the whole screen.
    is_full: bool,
    /// The fingers and the pedal.
    glass: Glass,
    /// That a picture has been painted.
    is_shown: bool,
}

impl Window {
    /// A window on a data folder, with the fonts for its first picture.
    fn read(data: &Path, ctx: &Context) -> Result<Self, String> {
        let window = Self {
            shell: Shell::new(desk_on(data, Arc::new(SystemClock))?),
            ctx: ctx.clone(),
            power: None,
            last_used: None,
            opens: None,
            wants_full: false,
            is_full: false,
            glass: Glass::default(),
            is_shown: false,
        };
        window.theme().install(ctx);
        Ok(window)
    }

    /// Asks the system to keep the screen on as long as it must or was just used, and for
    /// the whole screen where the settings want it.
    fn ask_system(&mut self, ctx: &Context) {
        if !self.is_shown {
            return;
        }
        let power = self.power.get_or_insert_with(|| {
            let ctx = ctx.clone();
            Power::start(Arc::new(move || ctx.request_repaint()))
        });
        let is_used = ctx.input(|i| i.pointer.any_released() || i.events.iter().any(is_key_press));
        if is_used {
            self.last_used = Some(Instant::now());
        }
        let kept_on = Duration::from_mins(self.shell.desk.settings().awake_min.into());
        let left = self
            .last_used
            .and_then(|last| kept_on.checked_sub(last.elapsed()));
        if let Some(left) = left.filter(|left| !left.is_zero()) {
            ctx.request_repaint_after(left + Duration::from_secs(1));
        }
        let is_kept_on = left.is_some_and(|left| !left.is_zero());
        power.keep_awake(is_kept_on || self.shell.desk.must_stay_awake());
        self.shell.desk.set_power(power.view());
        let is_full = self.shell.desk.settings().full_screen || self.wants_full;
        if is_full != self.is_full {
            self.is_full = is_full;
            ctx.send_viewport_cmd(egui::ViewportCommand::Fullscreen(is_full));
        }
    }

    fn theme(&self) -> Theme {
        self.shell.theme_with(self.ctx.system_theme())
    }
}

fn is_key_press(event: &egui::Event) -> bool {
    matches!(event, egui::Event::Key { pressed: true, .. })
}

/// What egui is to be in a window.
fn context() -> Context {
    let ctx = Context::default();
    ctx.options_mut(|options| options.max_passes = PASSES);
    ctx
}

/// Side of the picture that holds the letters at most, in pixels. egui makes it as wide as
/// it may, and a wide one is mostly empty.
const LETTERS_SIDE: usize = 4096;

impl eframe::App for Window {
    fn raw_input_hook(&mut self, ctx: &Context, input: &mut RawInput) {
        let most = input.max_texture_side.unwrap_or(LETTERS_SIDE);
        input.max_texture_side = Some(most.min(LETTERS_SIDE));
        let pedal = &self.shell.desk.settings().pedal;
        self.glass.pedal.sends.clone_from(pedal);
        self.glass.hear(ctx, input);
    }

    fn logic(&mut self, ctx: &Context, _frame: &mut eframe::Frame) {
        // The board reads every job. It begins when the first picture stands, and does not
        // hold that one up.
        if !self.shell.desk.has_shop() && self.is_shown {
            let ctx = ctx.clone();
            self.shell.desk.join_shop(
                ExchangePace::default(),
                Box::new(move || ctx.request_repaint()),
            );
        }
        // From here on the window is woken by what is read.
        if let Some(record) = self.opens.take_if(|_| self.is_shown) {
            self.shell.desk.open_record(&record.path, record.shop_key);
        }
        self.shell.desk.take_news();
        self.ask_system(ctx);
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        self.shell.ui_on_paper(ui);
        if !self.is_shown {
            self.is_shown = true;
            ui.ctx().request_repaint();
        }
        if let Some(ms) = self.shell.desk.wakes_in_ms() {
            ui.ctx().request_repaint_after(Duration::from_millis(ms));
        }
    }

    fn clear_color(&self, _visuals: &egui::Visuals) -> [f32; 4] {
        self.theme().colours.paper.to_normalized_gamma_f32()
    }

    fn on_exit(&mut self, _gl: Option<&eframe::glow::Context>) {
        self.shell.desk.end();
    }
}

/// The desk on a data folder. One that is new shows the first-use cards.
///
/// # Errors
/// A sentence that says what stood in the way.
pub fn desk_on(data: &Path, clock: Arc<dyn Clock>) -> Result<Desk, String> {
    let is_new = !data.join(TABLET_FILE).exists();
    let store = Store::open(data, clock.now()).map_err(|e| e.to_string())?;
    if is_new {
        first_use::ask_for_cards(store.root()).map_err(|e| e.to_string())?;
    }
    Desk::open(store, clock).map_err(|e| e.to_string())
}

/// Size of the window at first, in points.
const SIZE: [f32; 2] = [1280.0, 800.0];

/// How often egui may lay out one frame, for what is only known once it was tried.
const PASSES: NonZero<usize> = NonZero::new(2).unwrap();

/// The identity under which a desktop knows the window; `app/package` names it too.
const APP_ID: &str = "org.trayzero.TrayZero";

/// The icon of the window. `None` if the picture in the program is none, and the window
/// goes without.
fn icon() -> Option<egui::IconData> {
    let picture = include_bytes!("../../assets/icon/trayzero-128.png");
    let mut decoder = png::Decoder::new(std::io::Cursor::new(&picture[..]));
    decoder.set_transformations(png::Transformations::normalize_to_color8());
    let mut reader = decoder.read_info().ok()?;
    let mut rgba = vec![0; reader.output_buffer_size()?];
    let read = reader.next_frame(&mut rgba).ok()?;
    (read.color_type == png::ColorType::Rgba).then_some(egui::IconData {
        width: read.width,
        height: read.height,
        rgba,
    })
}

/// What a window of the program is, over the whole screen or not.
pub fn options(wants_full: bool) -> eframe::NativeOptions {
    eframe::NativeOptions {
        viewport: egui::ViewportBuilder::default()
            .with_title("Tray Zero")
            .with_app_id(APP_ID)
            .with_icon(icon().unwrap_or_default())
            .with_inner_size(SIZE)
            .with_fullscreen(wants_full)
            .with_min_inner_size([800.0, 560.0]),
        // No colour here runs into another, so there are no bands to break up.
        dithering: false,
        // Every letter that is shown comes with the program.
        system_font_fallback: false,
        ..eframe::NativeOptions::default()
    }
}

/// Opens the window on a data folder, with a record where one is given, and stays until it is
/// closed.
///
/// # Errors
/// A sentence that says what stood in the way.
pub fn open(data: &Path, wants_full: bool, record: Option<RecordToOpen>) -> Result<(), String> {
    let options = options(wants_full);
    thread::scope(|scope| {
        // The folder is read while the window system makes the window.
        let ctx = context();
        let mut reading = Some(scope.spawn({
            let ctx = ctx.clone();
            move || Window::read(data, &ctx)
        }));
        let closed = eframe::run_native_ext(
            "Tray Zero",
            options,
            Some(ctx),
            Box::new(|_| {
                let window = reading.take().ok_or("the folder was read before")?;
                let mut window = outcome(window)?;
                window.opens = record;
                window.wants_full = wants_full;
                window.is_full = wants_full;
                Ok(Box::new(window))
            }),
        );
        // A folder that does not hold is told before a window that does not open.
        if let Some(window) = reading {
            outcome(window)?;
        }
        closed.map_err(|fault| match fault {
            eframe::Error::AppCreation(why) => why.to_string(),
            other => other.to_string(),
        })
    })
}

/// What a thread came to. Its panic goes on here.
fn outcome<T>(thread: ScopedJoinHandle<'_, T>) -> T {
    thread.join().unwrap_or_else(|panic| resume_unwind(panic))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn the_windows_icon_is_a_picture_with_see_through_corners() {
        let icon = icon().unwrap();
        assert_eq!((icon.width, icon.height), (128, 128));
        assert_eq!(icon.rgba.len(), 128 * 128 * 4);
        let alpha = |x: usize, y: usize| icon.rgba[(y * 128 + x) * 4 + 3];
        assert_eq!((alpha(0, 0), alpha(64, 12)), (0, 255));
    }
}
