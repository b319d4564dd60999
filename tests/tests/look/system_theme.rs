//! Light or dark: as the settings say, or as the system has it where they leave it to it.

use std::sync::Arc;

use egui::{Context, RawInput};
use trayzero::data::settings::ThemeChoice;
use trayzero::data::store::{Clock, Store, SystemClock};
use trayzero::desk::Desk;
use trayzero::ui::intent::Intent;
use trayzero::ui::theme::{Theme, Tone};
use trayzero::window::Shell;

/// The tone of a screen in a system that is light, dark, or says nothing.
fn tone(choice: ThemeChoice, system: Option<egui::Theme>) -> Tone {
    let folder = tempfile::tempdir().unwrap();
    let clock: Arc<dyn Clock> = Arc::new(SystemClock);
    let store = Store::open(folder.path(), clock.now()).unwrap();
    let mut desk = Desk::open(store, clock).unwrap();
    let mut settings = desk.settings().clone();
    settings.theme = choice;
    desk.carry_out(Intent::Settings(Box::new(settings)));
    let mut shell = Shell::new(desk);
    let ctx = Context::default();
    for _ in 0..3 {
        let input = RawInput {
            system_theme: system,
            ..RawInput::default()
        };
        ctx.run_ui(input, |ui| shell.ui(ui))
            .drop_without_applying_deltas();
    }
    Theme::of(&ctx).tone
}

#[test]
fn the_screen_follows_the_system_where_the_settings_leave_it_to_it() {
    use egui::Theme::{Dark, Light};
    let (day, night) = (Tone::ShopLight, Tone::Night);
    for (choice, system, wanted) in [
        (ThemeChoice::Auto, Some(Dark), night),
        (ThemeChoice::Auto, Some(Light), day),
        (ThemeChoice::Auto, None, day),
        (ThemeChoice::Light, Some(Dark), day),
        (ThemeChoice::Night, Some(Light), night),
    ] {
        assert_eq!(tone(choice, system), wanted, "{choice:?} in {system:?}");
    }
}
