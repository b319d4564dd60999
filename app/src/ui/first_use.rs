//! First-use cards: one a screen, in a few words, until it is hidden.
//!
//! They are shown where the settings ask for them: in the demo shop, and in a data folder
//! that was new. Which of them were hidden is kept in the settings, so one that was
//! hidden stays away until all are asked for again.

use std::path::Path;

use crate::data::settings::{Settings, SettingsFile};
use crate::data::store::FileError;
use crate::ui::words::Words;

/// One card, named by where it is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum FirstUse {
    /// The bays of this tablet.
    Bays,
    /// A new job.
    NewJob,
    /// The bay.
    Bay,
    /// The board.
    Board,
    /// The engine layouts.
    Layouts,
    /// The layout editor.
    Editor,
    /// The settings.
    Settings,
    /// Where every part is.
    Parts,
    /// The gate of a bank, and the counts for it.
    Gate,
    /// Take-in and evidence.
    TakeIn,
    /// The crank.
    Crank,
    /// Something fell.
    Drop,
}

impl FirstUse {
    /// Every card, in the order of the words.
    pub const ALL: [Self; 12] = [
        Self::Bays,
        Self::NewJob,
        Self::Bay,
        Self::Board,
        Self::Layouts,
        Self::Editor,
        Self::Settings,
        Self::Parts,
        Self::Gate,
        Self::TakeIn,
        Self::Crank,
        Self::Drop,
    ];

    /// Its permanent name in `settings.json`.
    pub fn key(self) -> &'static str {
        match self {
            Self::Bays => "bays",
            Self::NewJob => "new job",
            Self::Bay => "bay",
            Self::Board => "board",
            Self::Layouts => "layouts",
            Self::Editor => "layout editor",
            Self::Settings => "settings",
            Self::Parts => "parts",
            Self::Gate => "gate",
            Self::TakeIn => "take-in",
            Self::Crank => "crank",
            Self::Drop => "dropped",
        }
    }

    /// Whether it still waits to be read.
    pub fn waits(self, settings: &Settings) -> bool {
        settings.first_use_cards && !settings.cards_seen.contains(self.key())
    }

    /// What it says in bold.
    pub fn title(self, words: &Words) -> &'static str {
        words.first_use_titles[self as usize]
    }

    /// What it says below.
    pub fn text(self, words: &Words) -> &'static str {
        words.first_use_texts[self as usize]
    }
}

/// Makes the first-use cards be shown in a data folder.
///
/// # Errors
/// [`FileError`] if the settings cannot be written.
pub fn ask_for_cards(root: &Path) -> Result<(), FileError> {
    let mut file = SettingsFile::read(root);
    file.settings.first_use_cards = true;
    file.settings.cards_seen.clear();
    file.write()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn a_card_waits_where_it_is_asked_for_until_it_is_hidden() {
        let mut settings = Settings::default();
        assert!(FirstUse::ALL.iter().all(|card| !card.waits(&settings)));
        settings.first_use_cards = true;
        assert!(FirstUse::ALL.iter().all(|card| card.waits(&settings)));
        settings.cards_seen.insert(FirstUse::Bay.key().to_owned());
        let waiting = FirstUse::ALL.iter().filter(|card| card.waits(&settings));
        assert_eq!(waiting.count(), FirstUse::ALL.len() - 1);
    }

    #[test]
    fn names_are_distinct_and_their_order_is_that_of_the_words() {
        let names: BTreeSet<&str> = FirstUse::ALL.iter().map(|card| card.key()).collect();
        assert_eq!(names.len(), FirstUse::ALL.len());
        for (index, card) in FirstUse::ALL.iter().enumerate() {
            assert_eq!(*card as usize, index);
        }
    }
}
