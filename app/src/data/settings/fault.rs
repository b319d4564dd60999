//! What does not hold in the settings, in the words of a language.

use std::path::PathBuf;

use super::{CARDS_MAX, NAME_MAX, RATING_BAR, TEXT_PERCENT};
use crate::ui::words::Words;

/// A setting that does not hold. Its usual value is used instead, and the file keeps it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SettingsFault {
    /// The file.
    pub file: PathBuf,
    /// The field; empty where the file as a whole is meant.
    pub field: String,
    /// Its value as it stands in the file, shortened.
    pub value: String,
    /// What it has to be.
    pub rule: SettingsRule,
}

impl SettingsFault {
    /// What is wrong, in words, naming the file.
    pub fn said(&self, w: &Words) -> String {
        let (file, rule) = (self.file.display().to_string(), self.rule.said(w));
        match &*self.field {
            "" => w.settings_unread(&file, &rule),
            field => w.setting_broken(&file, field, &self.value, &rule),
        }
    }
}

/// What a field of the settings has to be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SettingsRule {
    /// A size of text.
    Percent,
    /// A pressure that something stands.
    Pressure,
    /// Minutes from and to.
    Minutes(u16, u16),
    /// A short text.
    Name,
    /// Hours that hold together.
    ShopHours,
    /// Names of cards.
    CardNames,
    /// A field that this program knows.
    Known,
    /// Something that reads as what it has to be, and what the reader says.
    Right(String),
    /// Settings at all, and why the file is none.
    Settings(String),
}

impl SettingsRule {
    /// The rule in words.
    pub fn said(&self, w: &Words) -> String {
        match self {
            Self::Percent => w.from_to(*TEXT_PERCENT.start(), *TEXT_PERCENT.end(), w.percent_word),
            Self::Pressure => w.rule_pressure(*RATING_BAR.start(), *RATING_BAR.end()),
            Self::Minutes(from, to) => w.from_to(*from, *to, w.minutes_word),
            Self::Name => w.rule_name(NAME_MAX),
            Self::ShopHours => w.rule_shop_hours.to_owned(),
            Self::CardNames => w.rule_card_names(CARDS_MAX),
            Self::Known => w.rule_known.to_owned(),
            Self::Right(why) => w.rule_right(why),
            Self::Settings(why) => w.rule_settings(why),
        }
    }
}
