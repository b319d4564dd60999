//! The screens. Each reads a [`View`] and puts what it asks for into a list of intents;
//! none of them changes a job or touches a file.

pub mod bay;
pub mod bays;
pub mod board;
pub mod board_key;
pub mod chooser;
pub mod finished;
mod first_day;
pub mod first_use;
pub mod frame;
mod history;
pub mod layout_made;
mod layouts;
pub mod locked;
pub mod new_job;
pub mod notice;
pub mod pictures;
pub mod record;
pub mod refused;
pub mod settings;
pub mod sheets;
pub mod shop_note;
pub mod top;
pub mod wall;
mod where_time_goes;

use egui::Ui;

use crate::data::settings::KeysShown;
use crate::ui::intent::{Intent, Screen};
use crate::ui::theme::Theme;
use crate::ui::view::View;
use crate::ui::widgets::keyboard::{self, When};

/// Lays paper over the whole area: the ground of every screen, where the window does not.
pub fn lay_paper(ui: &Ui, theme: &Theme) {
    ui.painter()
        .rect_filled(ui.max_rect(), 0.0, theme.colours.paper);
}

fn when_keys(shown: KeysShown) -> When {
    match shown {
        KeysShown::Always => When::Always,
        KeysShown::ByTouch => When::ByTouch,
        KeysShown::Never => When::Never,
    }
}

/// What the screens keep between frames: the finger's choices and what is typed.
#[derive(Default)]
pub struct Screens {
    /// The bay.
    pub bay: bay::Bay,
    /// The board.
    pub board: board::BoardScreen,
    /// The new job.
    pub new_job: new_job::NewJob,
    /// The engine layouts and their editor.
    pub layouts: layouts::Layouts,
    /// The settings.
    pub settings: settings::SettingsScreen,
    /// A record from a file.
    pub record: record::RecordScreen,
    /// The locked screen.
    pub locked: locked::Locked,
    /// What was refused.
    pub refused: refused::RefusalShown,
}

impl Screens {
    /// Draws the screen that is shown, on paper.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        self.refused.follow(ui);
        keyboard::begin(ui.ctx(), when_keys(v.settings.keys));
        match v.screen {
            Screen::Bay => self.bay.ui(ui, v, out),
            Screen::Board => self.board.ui(ui, v, out),
            Screen::NewJob => self.new_job.ui(ui, v, out),
            Screen::Layouts => self.layouts.ui(ui, v, out),
            Screen::Settings => self.settings.ui(ui, v, out),
            Screen::Record => self.record.ui(ui, v, out),
            Screen::Bays => bays::ui(ui, v, &mut self.record.choose, out),
        }
        if v.is_locked {
            self.locked.ui(ui, v, out);
        } else {
            let is_tight = v.screen == Screen::Bay && self.bay.is_tight;
            self.refused.follow_pedal(ui, self.bay.bar_at);
            self.refused.ui(ui, v, is_tight, out);
            keyboard::ui(ui, v.words, top::below(ui));
        }
    }

    /// A tap was taken: choices that belonged to it are forgotten.
    pub fn after_tap(&mut self) {
        self.bay.after_tap();
        self.bay.sheets.after_tap();
        self.layouts.after_tap();
        self.settings.after_tap();
        self.board.after_tap();
    }

    /// A job is opened by somebody who has been away from it: the card shows by itself.
    pub fn after_return(&mut self) {
        self.after_move();
        self.bay.sheets.open(sheets::Sheet::Card);
    }

    /// Another screen or job is shown: everything typed is forgotten. A record is come back
    /// to from its bay.
    pub fn after_move(&mut self) {
        let record = std::mem::take(&mut self.record);
        *self = Self::default();
        self.record = record;
    }
}
