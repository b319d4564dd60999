//! First-use cards: one a screen, in a few words, until it is hidden.
//!
//! They are shown where the settings ask for them: in the demo shop, and in a data folder
//! that was new. Which of them were hidden is kept in the settings, so one that was
//! hidden stays away until all are asked for again.

use std::path::Path;

use crate::data::settings::{Settings, SettingsFile};
use crate::data::store::FileError;
pub use crate::ui::words::FirstUse;

impl FirstUse {
    /// Whether it still waits to be read.
    pub fn waits(self, settings: &Settings) -> bool {
        settings.first_use_cards && !settings.cards_seen.contains(self.key())
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
    fn names_are_distinct() {
        let names: BTreeSet<&str> = FirstUse::ALL.iter().map(|card| card.key()).collect();
        assert_eq!(names.len(), FirstUse::ALL.len());
    }
}
