//! The other tablets' names and public keys, pinned at first sight.
//!
//! `pins.json` in the data folder, sealed by this tablet. Who is met for the first time
//! is believed; who shows another key later is a matter for the foreman.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde::{Deserialize, Serialize};
use trayzero_core::journal::Members;
use trayzero_core::shop_log::TabletCard as MemberCard;
use uuid::Uuid;

use super::folder;
use super::{FileWhy, KeyConflict, SharedFault, ShopFault};
use crate::data::store::sealed::{self, SealedError};
use crate::data::store::{TABLET_NAME_MAX, Tablet};

const FILE: &str = "pins.json";
const PURPOSE: &str = "trayzero pins 1";
const CARD_PURPOSE: &str = "trayzero tablet 1";
/// The most cards of tablets that are looked at.
const CARDS_MAX: usize = 500;
/// The most tablets that are met by a tablet without a shop.
const PINS_MAX: usize = 500;

/// What a tablet tells the others of itself.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct NameCard {
    tablet: Uuid,
    name: String,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Pin {
    name: String,
    key: String,
    /// Another key that it shows now.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    shown: Option<String>,
}

#[derive(Debug)]
pub(super) struct Pins {
    path: PathBuf,
    known: BTreeMap<Uuid, Pin>,
    is_changed: bool,
    /// What is wrong with the file.
    fault: Option<SharedFault>,
}

impl Pins {
    /// Reads the pins. A file that was changed by hand is set aside, and everybody is met
    /// anew; that is said.
    pub fn read(root: &Path, tablet: &Tablet) -> Self {
        let path = root.join(FILE);
        let read = sealed::read::<BTreeMap<Uuid, Pin>>(&path, PURPOSE);
        let (pins, why) = match read {
            Ok(None) => (BTreeMap::new(), None),
            Ok(Some(read)) if read.key == tablet.public_key() => (read.payload, None),
            Ok(Some(_)) => (BTreeMap::new(), Some(FileWhy::OthersPins)),
            Err(error) => (BTreeMap::new(), Some(FileWhy::PinnedAnew(Arc::new(error)))),
        };
        let fault = why.map(|why| {
            // If it cannot be moved it is written over; the fault says what was wrong.
            let _ = fs::rename(&path, path.with_extension("json.set-aside"));
            SharedFault::new(&path, why)
        });
        Self {
            path,
            known: pins,
            is_changed: false,
            fault,
        }
    }

    pub fn fault(&self) -> Option<&SharedFault> {
        self.fault.as_ref()
    }

    /// Whose lines count as long as the shop has no log: this tablet's own, and those of
    /// the keys that are pinned.
    pub fn members(&self, own: &Tablet) -> Members {
        let mut members = Members::own_only(own.id(), &own.public_key());
        for (tablet, pin) in &self.known {
            members.admit(*tablet, &pin.key);
        }
        members
    }

    /// Pins a key, or notes that another one is shown. Gives whether it is the pinned one.
    pub fn meet(&mut self, tablet: Uuid, name: Option<&str>, key: &str) -> bool {
        if self.known.len() >= PINS_MAX && !self.known.contains_key(&tablet) {
            return false;
        }
        let Some(pin) = self.known.get_mut(&tablet) else {
            let pin = Pin {
                name: name.unwrap_or_default().to_owned(),
                key: key.to_owned(),
                shown: None,
            };
            self.known.insert(tablet, pin);
            self.is_changed = true;
            return true;
        };
        if pin.key != key {
            if pin.shown.as_deref() != Some(key) {
                pin.shown = Some(key.to_owned());
                self.is_changed = true;
            }
            return false;
        }
        if let Some(name) = name.filter(|name| *name != pin.name) {
            name.clone_into(&mut pin.name);
            self.is_changed = true;
        }
        true
    }

    /// A foreman has looked at a key: it is the tablet's from here on, if it is still the
    /// one that the tablet shows.
    pub fn accept(&mut self, tablet: Uuid, key: &str) {
        if let Some(pin) = self.known.get_mut(&tablet)
            && let Some(shown) = pin.shown.take_if(|shown| shown == key)
        {
            pin.key = shown;
            self.is_changed = true;
        }
    }

    pub fn conflicts(&self) -> Vec<KeyConflict> {
        let conflict = |(tablet, pin): (&Uuid, &Pin)| {
            Some(KeyConflict {
                tablet: *tablet,
                name: pin.name.clone(),
                pinned: pin.key.clone(),
                shown: pin.shown.clone()?,
            })
        };
        self.known.iter().filter_map(conflict).collect()
    }

    /// Tablets met, as a shop that takes them over knows them.
    pub fn cards(&self) -> Vec<MemberCard> {
        let cards = self.known.iter().map(|(id, pin)| MemberCard {
            tablet: *id,
            name: match pin.name.trim() {
                "" => format!("Tablet {}", &id.simple().to_string()[28..]),
                name => name.chars().take(TABLET_NAME_MAX).collect(),
            },
            key: pin.key.clone(),
            box_key: None,
            was: None,
        });
        cards.collect()
    }

    /// Tablets met, with their names.
    pub fn names(&self) -> Vec<(Uuid, String)> {
        let names = self.known.iter();
        names.map(|(id, pin)| (*id, pin.name.clone())).collect()
    }

    /// Writes the pins if they have changed.
    pub fn keep(&mut self, tablet: &Tablet) -> Result<(), SealedError> {
        if self.is_changed {
            sealed::write(&self.path, PURPOSE, &self.known, tablet)?;
            self.is_changed = false;
        }
        Ok(())
    }

    /// Puts this tablet's card into the shop folder unless it lies there as it should.
    pub fn show_own_card(folder: &Path, tablet: &Tablet) -> Result<(), ShopFault> {
        let path = folder::tablets(folder).join(format!("{}.json", tablet.id()));
        let card = NameCard {
            tablet: tablet.id(),
            name: tablet.name().to_owned(),
        };
        Ok(sealed::keep(&path, CARD_PURPOSE, &card, tablet)?)
    }

    /// Reads the other tablets' cards and pins who is new.
    pub fn meet_all(
        &mut self,
        folder: &Path,
        own: Uuid,
        faults: &mut Vec<SharedFault>,
    ) -> Result<(), ShopFault> {
        let cards = folder::tablets(folder);
        let failed = ShopFault::at(&cards);
        for name in fs::read_dir(&cards).map_err(failed)?.take(CARDS_MAX) {
            let path = name.map_err(failed)?.path();
            if path.extension().is_none_or(|e| e != "json") {
                // Half-written cards of others have another ending.
                continue;
            }
            match read_card(&path) {
                Ok((card, _)) if card.tablet == own => {}
                Ok((card, key)) => {
                    self.meet(card.tablet, Some(&card.name), &key);
                }
                Err(why) => faults.push(SharedFault { path, why }),
            }
        }
        Ok(())
    }
}

fn read_card(path: &Path) -> Result<(NameCard, String), FileWhy> {
    let read = sealed::read::<NameCard>(path, CARD_PURPOSE)
        .map_err(FileWhy::told)?
        .ok_or(FileWhy::Gone)?;
    let card = read.payload;
    let named = path
        .file_stem()
        .is_some_and(|stem| *stem == *card.tablet.to_string());
    if !named {
        return Err(FileWhy::OtherTablet);
    }
    if card.name.chars().count() > TABLET_NAME_MAX || card.name.chars().any(char::is_control) {
        return Err(FileWhy::BadTabletName);
    }
    Ok((card, read.key))
}

/// The keys that a data folder has pinned, if its own tablet has sealed them.
pub(super) fn pinned(root: &Path, own_key: &str) -> Vec<(Uuid, String)> {
    let read = sealed::read::<BTreeMap<Uuid, Pin>>(&root.join(FILE), PURPOSE);
    let Ok(Some(read)) = read else {
        return Vec::new();
    };
    if read.key != own_key {
        return Vec::new();
    }
    let pins = read.payload.into_iter();
    pins.map(|(tablet, pin)| (tablet, pin.key)).collect()
}

/// The tablet and the key that a card in a shop folder shows, if it holds.
pub(super) fn shown(card: &Path) -> Option<(Uuid, String)> {
    let (card, key) = read_card(card).ok()?;
    Some((card.tablet, key))
}
