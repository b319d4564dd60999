//! Whose lines count in a folder that is looked at from outside: by the command line.

use std::fs;
use std::path::Path;

use serde::Deserialize;
use trayzero_core::journal::Members;
use uuid::Uuid;

use super::folder;
use super::pins;
use crate::data::store::TABLET_FILE;
use crate::data::store::small_file;

/// Whose lines count in a folder.
#[derive(Clone, Debug, Default)]
pub struct Admitted {
    /// The tablets, with their keys.
    pub members: Members,
    /// The tablet whose own data folder this is; its lines count as they stand.
    pub own: Option<Uuid>,
    /// Where that is taken from, in words, for the person who asked.
    pub source: String,
}

#[derive(Deserialize)]
struct OwnCard {
    tablet: Uuid,
    public_key: String,
}

/// The most cards of tablets that are looked at.
const CARDS_MAX: usize = 500;

impl Admitted {
    /// Whose lines count in a data folder or a shop folder. `shop_key` is the shop's first
    /// key as the person who asks knows it, 64 hex digits; without one the folder is taken
    /// at its word, and [`Admitted::source`] says so.
    pub fn of(folder: &Path, shop_key: Option<&str>) -> Self {
        let admitted = match own_card(folder) {
            Some(card) => Self::of_data(folder, &card),
            None => Self::of_shop(folder),
        };
        match shop_key {
            None => admitted,
            Some(key) => admitted.held_against(key),
        }
    }

    fn of_data(folder: &Path, card: &OwnCard) -> Self {
        let mut members = Members::own_only(card.tablet, &card.public_key);
        for (tablet, key) in pins::pinned(folder, &card.public_key) {
            members.admit(tablet, &key);
        }
        Self {
            members,
            own: Some(card.tablet),
            source: "taken from this data folder: its tablet and the keys it knows".to_owned(),
        }
    }

    fn of_shop(folder: &Path) -> Self {
        let mut members = Members::default();
        let names = fs::read_dir(folder::tablets(folder)).into_iter().flatten();
        for name in names.take(CARDS_MAX).flatten() {
            if let Some((tablet, key)) = pins::shown(&name.path()) {
                members.admit(tablet, &key);
            }
        }
        Self {
            members,
            own: None,
            source: "taken on trust from the folder itself: the keys that its tablets show; name \
                     the shop's key with --shop-key to hold them against it"
                .to_owned(),
        }
    }

    /// Only tablets with this key count, and only as far as they have sealed.
    fn held_against(self, shop_key: &str) -> Self {
        let mut members = Members::default();
        for tablet in self.members.tablets() {
            if self.members.covers(tablet, shop_key) {
                members.admit(tablet, shop_key);
            }
        }
        Self {
            members,
            own: None,
            source: format!("held against the key {shop_key}"),
        }
    }
}

/// The card of the tablet whose data folder this is; `None` for any other folder, and for a
/// shop folder whatever somebody has put into it.
fn own_card(folder: &Path) -> Option<OwnCard> {
    if folder::is_shop(folder) {
        return None;
    }
    let bytes = small_file::read(&folder.join(TABLET_FILE)).ok()??;
    serde_json::from_slice(&bytes).ok()
}
