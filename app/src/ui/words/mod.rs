//! Every text of the screen, in one place for each language.
//!
//! [`Words`] is one set: a language that lacks a text does not compile. To add a text,
//! give it with its English in `list.rs` and in every other language, such as `de.rs`. A step's answer says
//! what is seen or counted, never that something is done.

mod cards;
mod checked;
mod day;
mod de;
mod de_faults;
mod de_files;
mod de_journal;
mod de_log;
mod de_refusals;
mod de_shop_files;
mod deeds;
mod en_refusals;
mod history;
mod layout_words;
mod list;
mod next;
mod paper;
pub mod record;
mod record_de;
mod record_en;
mod sample;
mod shop;
mod sights;
mod tiles;
pub mod verified;
mod verified_de;
mod verified_en;

use serde::{Deserialize, Serialize};
use trayzero_core::engine::{Side, ValveName};
use trayzero_core::job::{Refusal, Stage};
use trayzero_core::parts::Item;

use crate::data::pictures::BadPicture;
use crate::data::store::InGerman;
use crate::ui::units::{self, Figures};

pub use cards::FirstUse;
pub use day::{AskFace, DayFace, DayLine};
pub use de::DE;
pub use list::{EN, Words};
use record::RecordWords;
pub use tiles::{EndFace, MarkKind, TileFace, Urgency};

/// The languages that are complete.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Language {
    /// English.
    #[default]
    English,
    /// German.
    German,
}

impl Language {
    /// Every language.
    pub const ALL: [Language; 2] = [Language::English, Language::German];

    /// Its words.
    pub fn words(self) -> &'static Words {
        match self {
            Language::English => &EN,
            Language::German => &DE,
        }
    }

    /// The words of the record.
    pub fn record_words(self) -> &'static RecordWords {
        match self {
            Language::English => &record_en::RECORD_EN,
            Language::German => &record_de::RECORD_DE,
        }
    }

    /// Its name in itself.
    pub fn own_name(self) -> &'static str {
        match self {
            Language::English => "English",
            Language::German => "Deutsch",
        }
    }
}

/// The same text with a capital first letter, where it begins a line by itself.
pub fn capital(text: &str) -> String {
    let mut rest = text.chars();
    rest.next()
        .map(|first| first.to_uppercase().chain(rest).collect())
        .unwrap_or_default()
}

impl Words {
    /// Name of a stage, or the word for a valve that none is seen of.
    pub fn stage_or_untouched(&self, stage: Option<Stage>) -> &'static str {
        stage.map_or(self.untouched, |s| self.stage(s))
    }

    /// What is seen when a stage is reached; the second line says what else.
    /// `locks` is the layout's number of locks a valve.
    pub fn seen(&self, stage: Stage, locks: u32, has_follower: bool) -> (String, &'static str) {
        let plain = |text: &'static str| text.to_owned();
        match stage {
            Stage::Positioned if has_follower => {
                (plain(self.follower_in_tray), self.follower_in_tray_more)
            }
            Stage::Positioned => (plain(self.cylinder_at_top), self.cylinder_at_top_more),
            Stage::SpringHeld => (self.locks_in_sight(locks), self.locks_in_sight_more),
            Stage::LocksOut => (self.locks_in_tray(locks), self.locks_in_tray_more),
            Stage::SealFitted => (plain(self.seal_home), self.seal_home_more),
            Stage::LocksIn => (self.locks_home(locks), self.locks_home_more),
            Stage::Verified => (self.locks_level(locks), self.locks_level_more),
        }
    }

    /// Why a picture is not shown, or not taken.
    pub fn bad_picture(&self, why: &BadPicture) -> String {
        match why {
            BadPicture::Unknown => self.picture_unknown.to_owned(),
            BadPicture::Heif => self.picture_heif.to_owned(),
            BadPicture::TooLong { bytes, .. } => self.picture_too_long(bytes >> 20),
            BadPicture::TooLarge { width, height } => {
                let pixels = u64::from(*width) * u64::from(*height);
                self.picture_too_large(pixels.div_ceil(1_000_000))
            }
            BadPicture::Broken(_) => self.picture_broken.to_owned(),
        }
    }

    /// Name of a side.
    pub fn side(&self, side: Side) -> &'static str {
        match side {
            Side::Intake => self.intake,
            Side::Exhaust => self.exhaust,
        }
    }

    /// A valve inside its cylinder, such as `exhaust 2`.
    pub fn valve_within(&self, valve: ValveName) -> String {
        format!("{} {}", self.side(valve.side), valve.place)
    }

    /// A valve in full, such as `cylinder 3, exhaust 2`.
    pub fn valve(&self, valve: ValveName) -> String {
        let cylinder = self.cylinder_n(valve.cylinder);
        format!("{cylinder}, {}", self.valve_within(valve))
    }

    /// Name of an item.
    pub fn item(&self, item: &Item) -> String {
        (self.item_names)(item)[0].to_owned()
    }

    /// Name of several of an item.
    pub fn items_n(&self, item: &Item, count: u32) -> String {
        let name = (self.item_names)(item)[usize::from(count != 1)];
        format!("{count} {name}")
    }

    /// Name of many of an item, without a figure.
    pub fn items_n_word(&self, item: &Item) -> String {
        (self.item_names)(item)[1].to_owned()
    }

    /// What went wrong, with a file, a journal, a layout, a code or a figure.
    pub fn error(&self, error: &(impl InGerman + ?Sized)) -> String {
        match self.language {
            Language::English => error.to_string(),
            Language::German => error.in_german(),
        }
    }

    /// Why an event was refused.
    pub fn refusal_why(&self, refusal: &Refusal) -> String {
        match self.language {
            Language::English => en_refusals::why(refusal),
            Language::German => de_refusals::why(refusal),
        }
    }

    /// The same with its pressures as they are shown.
    pub fn refusal_why_in(&self, refusal: &Refusal, figures: Figures) -> String {
        match refusal {
            Refusal::OverRating { bar, rating_bar } => {
                let shown = |bar| units::pressure(bar, figures);
                self.above_rating(&shown(*bar), &shown(*rating_bar))
            }
            _ => self.refusal_why(refusal),
        }
    }

    /// The way out of a refusal.
    pub fn refusal_way_out(&self, refusal: &Refusal) -> String {
        match self.language {
            Language::English => en_refusals::way_out(refusal),
            Language::German => de_refusals::way_out(refusal),
        }
        .to_owned()
    }
}
