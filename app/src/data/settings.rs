//! The settings of this tablet, in `settings.json`.
//!
//! Every field stands alone: one that is missing has its usual value, one that does not
//! hold falls back to it and is named, and neither it nor a field that this program does
//! not know is lost when the file is written again.

mod fault;

use std::borrow::Cow;
use std::collections::BTreeSet;
use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use trayzero_core::bench::UnitSystem;
use trayzero_core::engine::Layout;

use crate::data::shop_hours::ShopHours;
use crate::data::store::small_file::{self, Readers};
use crate::data::store::{Doing, FileError};
use crate::ui::units::Figures;
use crate::ui::words::Language;
pub use fault::{SettingsFault, SettingsRule};

/// The file's name in the data folder.
pub const SETTINGS_FILE: &str = "settings.json";
/// Where a file that is no JSON object goes before a new one is written.
const SET_ASIDE: &str = "settings.unreadable.json";

/// The smallest and the largest text, in percent.
pub const TEXT_PERCENT: RangeInclusive<u16> = 100..=200;
/// The shortest and the longest time until air on is pointed out, in minutes.
pub const AIR_REMINDER_MIN: RangeInclusive<u16> = 1..=240;
/// The shortest and the longest time for which a tap keeps the screen on, in minutes.
pub const AWAKE_MIN: RangeInclusive<u16> = 0..=240;
/// The lowest and the highest pressure rating, in bar.
pub const RATING_BAR: RangeInclusive<f64> = 0.5..=25.0;
/// The longest name of a bay or a card, in characters.
pub const NAME_MAX: usize = 40;
/// The most first-use cards that are remembered.
const CARDS_MAX: usize = 200;

/// Units that figures are shown in. Files always have metric ones.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Units {
    /// bar, newton metres, millimetres.
    #[default]
    Metric,
    /// Pounds a square inch, pound-force feet, inches.
    Imperial,
}

impl Units {
    /// The system that the bench reckons with.
    pub fn system(self) -> UnitSystem {
        match self {
            Self::Metric => UnitSystem::Metric,
            Self::Imperial => UnitSystem::Us,
        }
    }
}

/// The hand that holds no tool; the next step lies under its thumb.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum Hand {
    Left,
    #[default]
    Right,
}

/// Which theme is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ThemeChoice {
    /// Ink on paper.
    Light,
    /// Dim grounds.
    Night,
    /// As the system has it.
    #[default]
    Auto,
}

/// When the keys on the glass come.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum KeysShown {
    /// Whenever a field is taken.
    Always,
    /// When a finger touches a field.
    #[default]
    ByTouch,
    /// Never.
    Never,
}

/// The settings of this tablet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Settings {
    /// The language of the screen.
    pub language: Language,
    /// Units that figures are shown in.
    pub units: Units,
    /// The hand that taps.
    pub hand: Hand,
    /// Which theme is shown.
    pub theme: ThemeChoice,
    /// Size of the text in percent, [`TEXT_PERCENT`].
    pub text_percent: u16,
    /// Nothing moves on the screen.
    pub reduced_motion: bool,
    /// Pressure rating of the air hose, bar ([`RATING_BAR`]).
    pub hose_rating_bar: f64,
    /// Pressure rating of the regulator, bar.
    pub regulator_rating_bar: f64,
    /// Pressure rating of the leak-down tester, bar.
    pub tester_rating_bar: f64,
    /// After so many minutes the screen points out that air is on, [`AIR_REMINDER_MIN`].
    pub air_reminder_min: u16,
    /// The bay that a new job starts with.
    pub default_bay: String,
    /// The folder that the tablets of the shop share.
    pub shop_folder: Option<PathBuf>,
    /// The folder in which the tablet's camera program leaves its pictures.
    pub pictures_folder: Option<PathBuf>,
    /// When the shop works.
    pub shop_hours: ShopHours,
    /// This tablet keeps a page of the board in the shop folder.
    pub board_page: bool,
    /// Names of people stand in it.
    pub board_page_names: bool,
    /// When the keys on the glass come.
    pub keys: KeysShown,
    /// What the pedal or the big button sends; empty where there is none.
    pub pedal: String,
    /// The window takes the whole screen.
    pub full_screen: bool,
    /// For so many minutes after a tap the screen is kept on, [`AWAKE_MIN`].
    pub awake_min: u16,
    /// First-use cards are shown.
    pub first_use_cards: bool,
    /// First-use cards that were hidden.
    pub cards_seen: BTreeSet<String>,
}

impl Default for Settings {
    /// Ratings and reminder are common practice, no source; the shop sets its own.
    fn default() -> Self {
        Self {
            language: Language::default(),
            units: Units::default(),
            hand: Hand::default(),
            theme: ThemeChoice::default(),
            text_percent: 100,
            reduced_motion: false,
            hose_rating_bar: 10.0,
            regulator_rating_bar: 10.0,
            tester_rating_bar: 7.0,
            air_reminder_min: 10,
            default_bay: String::new(),
            shop_folder: None,
            pictures_folder: None,
            shop_hours: ShopHours::default(),
            board_page: false,
            board_page_names: false,
            keys: KeysShown::default(),
            pedal: String::new(),
            full_screen: false,
            awake_min: 15,
            first_use_cards: false,
            cards_seen: BTreeSet::new(),
        }
    }
}

impl Settings {
    /// How figures are written.
    pub fn figures(&self) -> Figures {
        let decimal = self.language.words().decimal_point;
        Figures::new(self.units.system(), decimal)
    }

    /// The lowest of the ratings between compressor and cylinder, bar.
    pub fn lowest_rating_bar(&self) -> f64 {
        self.hose_rating_bar
            .min(self.regulator_rating_bar)
            .min(self.tester_rating_bar)
    }

    /// The layout with a pressure rating no higher than [`Settings::lowest_rating_bar`]:
    /// what any pressure of this tablet is worked out from.
    pub fn rated<'l>(&self, layout: &'l Layout) -> Cow<'l, Layout> {
        let lowest = self.lowest_rating_bar();
        if layout.pressure_rating_bar <= lowest {
            return Cow::Borrowed(layout);
        }
        Cow::Owned(Layout {
            pressure_rating_bar: lowest,
            ..layout.clone()
        })
    }

    /// The first field that does not hold, with its rule.
    pub fn broken_rule(&self) -> Option<(&'static str, SettingsRule)> {
        use SettingsRule as R;
        let within = |bar: f64| RATING_BAR.contains(&bar);
        let (text, cards) = (self.text_percent, &self.cards_seen);
        let are_cards = cards.len() <= CARDS_MAX && cards.iter().all(|card| is_name(card));
        let minutes = |range: RangeInclusive<u16>| R::Minutes(*range.start(), *range.end());
        let rules = [
            ("text_percent", TEXT_PERCENT.contains(&text), R::Percent),
            ("hose_rating_bar", within(self.hose_rating_bar), R::Pressure),
            (
                "regulator_rating_bar",
                within(self.regulator_rating_bar),
                R::Pressure,
            ),
            (
                "tester_rating_bar",
                within(self.tester_rating_bar),
                R::Pressure,
            ),
            (
                "air_reminder_min",
                AIR_REMINDER_MIN.contains(&self.air_reminder_min),
                minutes(AIR_REMINDER_MIN),
            ),
            ("default_bay", is_name(&self.default_bay), R::Name),
            ("shop_hours", self.shop_hours.holds(), R::ShopHours),
            (
                "awake_min",
                AWAKE_MIN.contains(&self.awake_min),
                minutes(AWAKE_MIN),
            ),
            ("pedal", is_name(&self.pedal), R::Name),
            ("cards_seen", are_cards, R::CardNames),
        ];
        let broken = rules.into_iter().find(|(_, holds, _)| !holds);
        broken.map(|(field, _, rule)| (field, rule))
    }
}

fn is_name(text: &str) -> bool {
    text.chars().count() <= NAME_MAX && !text.chars().any(char::is_control)
}

/// Settings with the file they came from.
#[derive(Clone, Debug)]
pub struct SettingsFile {
    /// The settings in use.
    pub settings: Settings,
    /// What did not hold when they were read.
    pub faults: Vec<SettingsFault>,
    path: PathBuf,
    /// As read, so that only what a person changes is written over.
    as_read: Settings,
    raw: Map<String, Value>,
    is_unreadable: bool,
}

impl SettingsFile {
    /// Reads the settings of a data folder. It always gives settings.
    pub fn read(root: &Path) -> Self {
        let path = root.join(SETTINGS_FILE);
        let mut file = Self {
            settings: Settings::default(),
            faults: Vec::new(),
            path,
            as_read: Settings::default(),
            raw: Map::new(),
            is_unreadable: false,
        };
        let parsed = match small_file::read(&file.path) {
            Ok(None) => return file,
            Ok(Some(bytes)) => serde_json::from_slice(&bytes).map_err(|e| e.to_string()),
            Err(error) => Err(error.to_string()),
        };
        match parsed {
            Ok(raw) => file.take_fields(raw),
            Err(why) => {
                file.is_unreadable = true;
                file.blame("", String::new(), SettingsRule::Settings(why));
            }
        }
        file
    }

    /// Takes each field that holds; names each that does not.
    fn take_fields(&mut self, raw: Map<String, Value>) {
        let Ok(Value::Object(usual)) = serde_json::to_value(&self.settings) else {
            return;
        };
        for field in usual.keys() {
            let Some(value) = raw.get(field) else {
                continue;
            };
            if let Err(rule) = self.take_field(field, value) {
                let shown = value.to_string().chars().take(60).collect();
                self.blame(field, shown, rule);
            }
        }
        for (field, value) in &raw {
            if !usual.contains_key(field) {
                let shown = value.to_string().chars().take(60).collect();
                let field: String = field.chars().take(60).collect();
                self.blame(&field, shown, SettingsRule::Known);
            }
        }
        self.as_read = self.settings.clone();
        self.raw = raw;
    }

    fn take_field(&mut self, field: &str, value: &Value) -> Result<(), SettingsRule> {
        let unread = |e: serde_json::Error| SettingsRule::Right(e.to_string());
        let mut all = serde_json::to_value(&self.settings).map_err(unread)?;
        all[field] = value.clone();
        let settings: Settings = serde_json::from_value(all).map_err(unread)?;
        if let Some((_, rule)) = settings.broken_rule() {
            return Err(rule);
        }
        self.settings = settings;
        Ok(())
    }

    fn blame(&mut self, field: &str, value: String, rule: SettingsRule) {
        self.faults.push(SettingsFault {
            file: self.path.clone(),
            field: field.to_owned(),
            value,
            rule,
        });
    }

    /// Writes the settings: what a person has changed, and what the file did not have.
    /// A file that was no settings is set aside first.
    ///
    /// # Errors
    /// [`FileError`]; the old file is still there then.
    pub fn write(&mut self) -> Result<(), FileError> {
        let failed = |e: serde_json::Error| FileError::of(&self.path, Doing::Writing, e.into());
        if self.is_unreadable {
            let aside = self.path.with_file_name(SET_ASIDE);
            std::fs::rename(&self.path, &aside)
                .map_err(|e| FileError::of(&self.path, Doing::SettingAside, e))?;
            self.is_unreadable = false;
        }
        let now = serde_json::to_value(&self.settings).map_err(failed)?;
        let before = serde_json::to_value(&self.as_read).map_err(failed)?;
        let Value::Object(now) = now else {
            return Ok(());
        };
        let mut raw = self.raw.clone();
        for (field, value) in now {
            if !raw.contains_key(&field) || before[&field] != value {
                raw.insert(field, value);
            }
        }
        let mut text = serde_json::to_vec_pretty(&raw).map_err(failed)?;
        text.push(b'\n');
        small_file::write(&self.path, &text, Readers::Usual)?;
        self.raw = raw;
        self.as_read = self.settings.clone();
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn with(text: &str) -> (tempfile::TempDir, SettingsFile) {
        let root = tempfile::tempdir().unwrap();
        std::fs::write(root.path().join(SETTINGS_FILE), text).unwrap();
        let file = SettingsFile::read(root.path());
        (root, file)
    }

    #[test]
    fn what_is_written_is_read_again() {
        let root = tempfile::tempdir().unwrap();
        let mut file = SettingsFile::read(root.path());
        assert_eq!(file.settings, Settings::default());
        file.settings.language = Language::German;
        file.settings.hand = Hand::Left;
        file.settings.text_percent = 150;
        file.settings.shop_folder = Some(PathBuf::from("/srv/bays"));
        file.settings.cards_seen.insert("bay".to_owned());
        file.write().unwrap();
        let again = SettingsFile::read(root.path());
        assert_eq!(again.settings, file.settings);
        assert_eq!(again.faults, []);
    }

    #[test]
    fn a_bad_value_falls_back_is_named_and_stays_in_the_file() {
        let (root, mut file) = with(
            r#"{"text_percent": 900, "units": "cubits", "hand": "left",
                "air_reminder_min": -3, "tester_rating_bar": 1e9, "later_field": [1]}"#,
        );
        let usual = Settings::default();
        assert_eq!(file.settings.hand, Hand::Left);
        assert_eq!(file.settings.text_percent, usual.text_percent);
        assert_eq!(file.settings.units, usual.units);
        let named: Vec<&str> = file.faults.iter().map(|f| f.field.as_str()).collect();
        assert_eq!(
            named,
            [
                "air_reminder_min",
                "tester_rating_bar",
                "text_percent",
                "units",
                "later_field"
            ]
        );
        let message = file.faults[2].said(Language::English.words());
        assert!(message.contains("text_percent") && message.contains("900"));
        assert!(message.contains("from 100 to 200"), "{message}");
        file.settings.text_percent = 120;
        file.write().unwrap();
        let text = std::fs::read_to_string(root.path().join(SETTINGS_FILE)).unwrap();
        let raw: Value = serde_json::from_str(&text).unwrap();
        assert_eq!(raw["text_percent"], 120, "what a person sets is written");
        assert_eq!(raw["units"], "cubits", "what nobody touched stays");
        assert_eq!(raw["later_field"][0], 1);
    }

    #[test]
    fn a_file_that_is_no_settings_is_set_aside_before_a_new_one_is_written() {
        let (root, mut file) = with("{ not json");
        assert_eq!(file.settings, Settings::default());
        assert_eq!(file.faults.len(), 1);
        file.write().unwrap();
        let aside = std::fs::read_to_string(root.path().join(SET_ASIDE)).unwrap();
        assert_eq!(aside, "{ not json");
        assert_eq!(SettingsFile::read(root.path()).faults, []);
    }

    #[test]
    fn the_lowest_rating_counts() {
        let settings = Settings {
            hose_rating_bar: 6.5,
            ..Settings::default()
        };
        assert!((settings.lowest_rating_bar() - 6.5).abs() < 1e-12);
    }
}
