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

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use trayzero_core::shop_log::{Line, Shop, TabletCard, read_log};
use uuid::Uuid;

use super::cards::{CARD_PURPOSE, Cards};
use super::folder::{make_plain_folder, open_to_append};
use super::{KeyConflict, ShopFault};
use crate::data::crew::boxes::{BoxKey, seal_box};
use crate::data::crew::log_files::{LOG_FOLDER, Most, log_path, logs_in};
use crate::data::crew::{
    CrewFault, ForLogExchange, KEYS_FILE, LockedKey, LockedKeys, LogSight, WhyFaulty, for_exchange,
};
use crate::data::store::small_file::{self, Readers};
use crate::data::store::{Tablet, sealed};

/// The most boxes that are looked at by a tablet that has no shop yet.
const BOXES_MAX: usize = 200;
/// The most that is read of logs of tablets that are none of the shop's: other shops,
/// and whatever somebody has put there. Whoever has no shop yet reads more, for one of them
/// is the one to join.
const OTHERS_MOST: Most = Most {
    files: 200,
    bytes: 8 << 20,
};
const FIRST_MOST: Most = Most {
    files: 2_000,
    bytes: 32 << 20,
};

/// The exchange of the shop log with one shop folder.
#[derive(Debug, Default)]
pub(super) struct LogExchange {
    told: Option<LogSight>,
    read: Option<Read>,
    cards: Cards,
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
            logs_in(root, &BTreeSet::new(), Most::ALL).ok()?.bytes,
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
            make_plain_folder(&path).map_err(ShopFault::at(&path))?;
        }
        let mut sight = LogSight::default();
        let shop = own.log.shop();
        let known: BTreeSet<Uuid> = shop
            .map(|shop| shop.tablets.keys().copied().collect())
            .unwrap_or_default();
        show_card(folder, tablet, &box_key)?;
        exchange_lines(folder, tablet, &own, &known, &mut sight)?;
        self.cards
            .round(&folder.join("members"), &known, &mut sight);
        if let Some(shop) = shop {
            self.fill_boxes(folder, tablet, shop, &own)?;
            remove_old_lists(folder)?;
        }
        sight.forms = open_boxes(folder, tablet.id(), &box_key, &known);
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
            let sealed = seal_box(key, &own.forms).map_err(|e| ShopFault::io(&path, &e))?;
            let within = folder.join("keys").join(id.to_string());
            make_plain_folder(&within).map_err(ShopFault::at(&within))?;
            small_file::write(&path, sealed.as_bytes(), Readers::Usual)?;
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
    Ok(sealed::keep(&path, CARD_PURPOSE, &card, tablet)?)
}

/// Brings every file of the folder up to the copies here, and reads what is new in them.
fn exchange_lines(
    folder: &Path,
    tablet: &Tablet,
    own: &ForLogExchange,
    known: &BTreeSet<Uuid>,
    sight: &mut LogSight,
) -> Result<(), ShopFault> {
    let logs_folder = folder.join(LOG_FOLDER);
    let failed = ShopFault::at(&logs_folder);
    let most = if known.is_empty() {
        FIRST_MOST
    } else {
        OTHERS_MOST
    };
    let known = own.log.lines().keys().chain(known).copied().collect();
    let logs = logs_in(folder, &known, most).map_err(failed)?;
    let there = logs.bytes;
    sight.faults.extend(logs.faults);
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
                added.map_err(ShopFault::at(&path))?;
            }
            continue;
        }
        let new = theirs.strip_prefix(ours.as_slice());
        if id == tablet.id() && own.log.shop().is_some() {
            // Only this tablet writes it, so whatever else is in it is nobody's.
            small_file::write(&path, &ours, Readers::Usual)?;
            let why = WhyFaulty::WrittenAnew;
            sight.faults.push(CrewFault::of(&path, why));
            continue;
        }
        let Some(new) = new else {
            let why = WhyFaulty::LinesGone;
            sight.faults.push(CrewFault::of(&path, why));
            continue;
        };
        let read = read_log(new, id, known);
        if let Some(fault) = read.fault {
            sight.faults.push(CrewFault::of_line(&path, fault));
        }
        if !read.lines.is_empty() {
            sight.lines.insert(id, read.lines);
        }
    }
    Ok(())
}

/// What lies in the boxes for this tablet: in those of the tablets that are `known`, and
/// where none is yet, in any. What is not for it, or is rubbish, is nothing.
fn open_boxes(
    folder: &Path,
    own: Uuid,
    key: &BoxKey,
    known: &BTreeSet<Uuid>,
) -> Vec<(String, LockedKey)> {
    let mut paths: Vec<PathBuf> = known.iter().map(|id| box_path(folder, own, *id)).collect();
    if paths.is_empty() {
        let names = fs::read_dir(folder.join("keys").join(own.to_string()));
        let names = names.into_iter().flatten().flatten();
        paths.extend(names.take(BOXES_MAX).map(|name| name.path()));
    }
    let mut forms = Vec::new();
    for path in paths {
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
/// can be tried on. Nothing else is taken away, whatever folder somebody puts in its place
/// meanwhile.
fn remove_old_lists(folder: &Path) -> Result<(), ShopFault> {
    let crew = super::folder::crew(folder);
    let Ok(names) = fs::read_dir(&crew) else {
        return Ok(());
    };
    for path in names.flatten().map(|name| name.path()) {
        let name = path.file_name().and_then(|name| name.to_str());
        let stem = name.and_then(|name| {
            name.strip_suffix(".new")
                .unwrap_or(name)
                .strip_suffix(".json")
        });
        if stem.is_some_and(|stem| stem.parse::<Uuid>().is_ok()) {
            fs::remove_file(&path).map_err(ShopFault::at(&path))?;
        }
    }
    Ok(())
}
