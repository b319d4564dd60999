//! The native window: one frame draws the view, then the intents are carried out.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use egui::Ui;

use crate::desk::{Desk, Outcome};
use crate::first_use;
use crate::intent::Intent;
use crate::screens::Screens;
use crate::settings::ThemeChoice;
use crate::shop::Pace;
use crate::store::{Clock, Store, SystemClock, TABLET_FILE};
use crate::theme::{Theme, Tone};

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

struct Window {
    shell: Shell,
}

impl eframe::App for Window {
    fn logic(&mut self, _ctx: &egui::Context, _frame: &mut eframe::Frame) {
        self.shell.desk.take_news();
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        self.shell.ui(ui);
        if let Some(ms) = self.shell.desk.wakes_in_ms() {
            ui.ctx().request_repaint_after(Duration::from_millis(ms));
        }
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

/// Opens the window on a data folder and stays until it is closed.
///
/// # Errors
/// A sentence that says what stood in the way.
pub fn open(data: &Path) -> Result<(), String> {
    let desk = desk_on(data, Arc::new(SystemClock))?;
    let options = eframe::NativeOptions {
        viewport: egui::ViewportBuilder::default()
            .with_title("Tray Zero")
            .with_app_id(APP_ID)
            .with_icon(icon().unwrap_or_default())
            .with_inner_size([1280.0, 800.0])
            .with_min_inner_size([800.0, 560.0]),
        ..eframe::NativeOptions::default()
    };
    let mut shell = Shell::new(desk);
    eframe::run_native(
        "Tray Zero",
        options,
        Box::new(|made| {
            let ctx = made.egui_ctx.clone();
            shell
                .desk
                .join_shop(Pace::default(), Box::new(move || ctx.request_repaint()));
            Ok(Box::new(Window { shell }))
        }),
    )
    .map_err(|e| e.to_string())
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
