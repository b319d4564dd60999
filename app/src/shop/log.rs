//! The shop log and the boxes in the shop folder.
//!
//! ```text
//! log/<tablet>.jsonl          the shop log, each file appended to by its own tablet
//! members/<tablet>.json       what a tablet is known by: name and keys, sealed by it
//! keys/<to>/<from>.box        locked keys for one tablet, encrypted to its key
//! ```
//! The data folder's copies are what counts. A file in the shop folder that is shorter
//! than the copy is filled up from it; one that differs is named, and the own one is
//! written anew. Nothing here judges who is a member: the fold of the log does.

use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use trayzero_core::shop_log::{Line, Shop, TabletCard, read_log};
use uuid::Uuid;

use super::folder::{make_plain_folder, open_to_append};
use super::{KeyConflict, ShopFault};
use crate::data::crew::boxes::{BoxKey, seal_box};
use crate::data::crew::log_files::{LOG_FOLDER, NO_FILE, log_path, logs_in, no_files_in};
use crate::data::crew::{ForLogExchange, KEYS_FILE, LockedKey, LockedKeys, LogSight, for_exchange};
use crate::data::store::small_file::{self, Readers};
use crate::data::store::{Tablet, sealed};

const CARD_PURPOSE: &str = "trayzero member 1";
/// The most cards and boxes that are looked at.
const FILES_MAX: usize = 200;

/// The exchange of the shop log with one shop folder.
#[derive(Debug, Default)]
pub(super) struct LogExchange {
    told: Option<LogSight>,
    read: Option<Read>,
    /// What was put into the box for each tablet, so that it is put in once.
    boxed: BTreeMap<Uuid, Boxed>,
}

/// What was put into a box.
#[derive(Debug)]
struct Boxed {
    /// The key that it is encrypted to.
    key: String,
    forms: Vec<u8>,
    sealed: Vec<u8>,
}

/// What the data folder holds, checked once as long as its bytes are the same.
#[derive(Debug)]
struct Read {
    bytes: (BTreeMap<Uuid, Vec<u8>>, Option<Vec<u8>>),
    own: Arc<ForLogExchange>,
}

impl LogExchange {
    /// The shop as the data folder's log had it in the last round.
    pub fn shop(&self) -> Option<&Shop> {
        self.read.as_ref()?.own.log.shop()
    }

    /// Members that show another key than the shop knows them by.
    pub fn key_conflicts(&self, shop: &Shop) -> Vec<KeyConflict> {
        let cards = self.told.iter().flat_map(|sight| &sight.cards);
        let conflicts = cards.filter_map(|card| {
            let known = shop.tablets.get(&card.tablet)?;
            let key = known.key().filter(|key| *key != card.key)?;
            Some(KeyConflict {
                tablet: card.tablet,
                name: known.name.clone(),
                pinned: key.to_owned(),
                shown: card.key.clone(),
            })
        });
        conflicts.collect()
    }

    fn read(&mut self, root: &Path, tablet: &Tablet) -> Option<Arc<ForLogExchange>> {
        let bytes = (
            logs_in(root).ok()?,
            small_file::read(&root.join(KEYS_FILE)).ok()?,
        );
        let known = self.read.as_ref().filter(|read| read.bytes == bytes);
        if let Some(known) = known {
            return Some(Arc::clone(&known.own));
        }
        self.read = None;
        let own = Arc::new(for_exchange(root, tablet)?);
        self.read = Some(Read {
            bytes,
            own: Arc::clone(&own),
        });
        Some(own)
    }

    /// One round. Gives what lies in the folder, if it is not what it was.
    ///
    /// # Errors
    /// [`ShopFault`] where the folder does not serve.
    pub fn round(
        &mut self,
        root: &Path,
        folder: &Path,
        tablet: &Tablet,
    ) -> Result<Option<LogSight>, ShopFault> {
        let Some(own) = self.read(root, tablet) else {
            // What does not hold here is told by the crew itself.
            return Ok(None);
        };
        let Ok(box_key) = BoxKey::open(root) else {
            return Ok(None);
        };
        for part in [LOG_FOLDER, "members", "keys"] {
            let path = folder.join(part);
            make_plain_folder(&path).map_err(|e| ShopFault::of(&path, &e))?;
        }
        let mut sight = LogSight::default();
        show_card(folder, tablet, &box_key)?;
        exchange_lines(folder, tablet, &own, &mut sight)?;
        read_cards(folder, &mut sight);
        if let Some(shop) = own.log.shop() {
            self.fill_boxes(folder, tablet, shop, &own)?;
            remove_old_lists(folder)?;
        }
        sight.forms = open_boxes(folder, tablet.id(), &box_key);
        sight.faults.sort();
        if self.told.as_ref() == Some(&sight) {
            return Ok(None);
        }
        self.told = Some(sight.clone());
        Ok(Some(sight))
    }

    /// Puts the locked keys into a box for each other member.
    fn fill_boxes(
        &mut self,
        folder: &Path,
        tablet: &Tablet,
        shop: &Shop,
        own: &ForLogExchange,
    ) -> Result<(), ShopFault> {
        if !shop.is_member(tablet.id(), &tablet.public_key()) {
            return Ok(());
        }
        for (id, member) in shop.members().filter(|(id, _)| *id != tablet.id()) {
            let Some(key) = &member.box_key else { continue };
            let path = box_path(folder, id, tablet.id());
            // Somebody may have put another in its place.
            let is_boxed = |boxed: &Boxed| {
                let lies_there = || small_file::read(&path).ok().flatten();
                boxed.key == *key
                    && boxed.forms.as_slice() == own.forms.as_slice()
                    && lies_there().as_ref() == Some(&boxed.sealed)
            };
            if self.boxed.get(&id).is_some_and(is_boxed) {
                continue;
            }
            let failed = |e: &dyn std::fmt::Display| ShopFault::Io {
                path: path.clone(),
                cause: e.to_string(),
            };
            let sealed = seal_box(key, &own.forms).map_err(|e| failed(&e))?;
            let within = folder.join("keys").join(id.to_string());
            make_plain_folder(&within).map_err(|e| failed(&e))?;
            small_file::write(&path, sealed.as_bytes(), Readers::Usual).map_err(|e| failed(&e))?;
            let boxed = Boxed {
                key: key.clone(),
                forms: own.forms.to_vec(),
                sealed: sealed.into(),
            };
            self.boxed.insert(id, boxed);
        }
        Ok(())
    }
}

fn box_path(folder: &Path, to: Uuid, from: Uuid) -> PathBuf {
    let within = folder.join("keys").join(to.to_string());
    within.join(format!("{from}.box"))
}

/// Puts what this tablet is known by into the folder unless it lies there as it should.
fn show_card(folder: &Path, tablet: &Tablet, box_key: &BoxKey) -> Result<(), ShopFault> {
    let path = folder.join("members").join(format!("{}.json", tablet.id()));
    let card = TabletCard {
        tablet: tablet.id(),
        name: tablet.name().to_owned(),
        key: tablet.public_key(),
        box_key: Some(box_key.public()),
        was: tablet.was(),
    };
    let read = sealed::read::<TabletCard>(&path, CARD_PURPOSE);
    let is_there = read
        .ok()
        .flatten()
        .is_some_and(|read| read.payload == card && read.key == card.key);
    if is_there {
        return Ok(());
    }
    sealed::write(&path, CARD_PURPOSE, &card, tablet).map_err(|e| ShopFault::Io {
        path: path.clone(),
        cause: e.to_string(),
    })
}

fn read_cards(folder: &Path, sight: &mut LogSight) {
    let Ok(names) = fs::read_dir(folder.join("members")) else {
        return;
    };
    let mut paths: Vec<PathBuf> = names.flatten().map(|name| name.path()).collect();
    paths.sort();
    for path in paths.into_iter().take(FILES_MAX) {
        if path.extension().is_none_or(|e| e != "json") {
            continue;
        }
        match sealed::read::<TabletCard>(&path, CARD_PURPOSE) {
            Ok(Some(read)) => {
                let card = read.payload;
                let stem = path.file_stem().and_then(|stem| stem.to_str());
                let is_its_own = read.key == card.key && stem == Some(&*card.tablet.to_string());
                if is_its_own {
                    sight.cards.push(card);
                } else {
                    let why = "it was not sealed by the tablet that it tells of";
                    sight.faults.push(format!("{}: {why}", path.display()));
                }
            }
            Ok(None) => {}
            Err(error) => sight.faults.push(error.to_string()),
        }
    }
}

/// Brings every file of the folder up to the copies here, and reads what is new in them.
fn exchange_lines(
    folder: &Path,
    tablet: &Tablet,
    own: &ForLogExchange,
    sight: &mut LogSight,
) -> Result<(), ShopFault> {
    let failed = |e: io::Error| ShopFault::of(&folder.join(LOG_FOLDER), &e);
    let there = logs_in(folder).map_err(failed)?;
    for path in no_files_in(folder) {
        sight.faults.push(format!("{}: {NO_FILE}", path.display()));
    }
    let none = Vec::new();
    let mut all: Vec<Uuid> = own.log.lines().keys().copied().collect();
    all.extend(there.keys().filter(|id| !own.log.lines().contains_key(id)));
    for id in all {
        let known = own.log.lines().get(&id).unwrap_or(&none);
        let ours: Vec<u8> = known.iter().flat_map(Line::encode).collect();
        let theirs = there.get(&id).map_or(&[][..], Vec::as_slice);
        let path = log_path(folder, id);
        if let Some(missing) = ours.strip_prefix(theirs) {
            if !missing.is_empty() {
                let added = open_to_append(&path).and_then(|mut file| {
                    file.write_all(missing)?;
                    file.sync_data()
                });
                added.map_err(|e| ShopFault::of(&path, &e))?;
            }
            continue;
        }
        let new = theirs.strip_prefix(ours.as_slice());
        if id == tablet.id() && own.log.shop().is_some() {
            // Only this tablet writes it, so whatever else is in it is nobody's.
            small_file::write(&path, &ours, Readers::Usual)
                .map_err(|e| ShopFault::of(&e.path, &e.cause))?;
            sight.faults.push(format!(
                "{}: somebody else has changed it; it is written anew",
                path.display()
            ));
            continue;
        }
        let Some(new) = new else {
            let why = "it no longer has the lines that were checked before; they are kept here";
            sight.faults.push(format!("{}: {why}", path.display()));
            continue;
        };
        let read = read_log(new, id, known);
        if let Some((line, why)) = read.fault {
            sight
                .faults
                .push(format!("{}: line {line}: {why}", path.display()));
        }
        if !read.lines.is_empty() {
            sight.lines.insert(id, read.lines);
        }
    }
    Ok(())
}

/// What lies in the boxes for this tablet. What is not for it, or is rubbish, is nothing.
fn open_boxes(folder: &Path, own: Uuid, key: &BoxKey) -> Vec<(String, LockedKey)> {
    let mut forms = Vec::new();
    let Ok(names) = fs::read_dir(folder.join("keys").join(own.to_string())) else {
        return forms;
    };
    let mut paths: Vec<PathBuf> = names.flatten().map(|name| name.path()).collect();
    paths.sort();
    for path in paths.into_iter().take(FILES_MAX) {
        let Ok(Some(bytes)) = small_file::read(&path) else {
            continue;
        };
        let opened = str::from_utf8(&bytes)
            .ok()
            .and_then(|text| key.open_box(text));
        let read = opened.and_then(|text| serde_json::from_slice::<LockedKeys>(&text).ok());
        forms.extend(read.unwrap_or_default());
    }
    forms
}

/// The version before left everybody's crew list here, and with it the forms that codes
/// can be tried on.
fn remove_old_lists(folder: &Path) -> Result<(), ShopFault> {
    let crew = super::folder::crew(folder);
    let Ok(names) = fs::read_dir(&crew) else {
        return Ok(());
    };
    for path in names.flatten().map(|name| name.path()) {
        if path.extension().is_some_and(|e| e == "json" || e == "new") {
            fs::remove_file(&path).map_err(|e| ShopFault::of(&path, &e))?;
        }
    }
    Ok(())
}
