//! Whose lines count in a folder that is looked at from outside: by the command line.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use serde::Deserialize;
use trayzero_core::journal::{Link, Members};
use trayzero_core::shop_log::{Line, Proofs, Shop, read_log};
use uuid::Uuid;

use super::folder;
use super::pins;
use crate::data::crew::log_files::logs_in;
use crate::data::store::TABLET_FILE;
use crate::data::store::small_file;

/// Whose lines count in a folder.
#[derive(Clone, Debug, Default)]
pub struct Admitted {
    /// The tablets, with their keys.
    pub members: Members,
    /// The tablet whose own data folder this is; its lines count as they stand.
    pub own: Option<Uuid>,
    /// What signatures are held against.
    pub proofs: Proofs,
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
        let logs = logs_of(folder);
        if let Some(key) = shop_key {
            return Self::held_against(key, &logs);
        }
        let mut admitted = match own_card(folder) {
            Some(card) => Self::of_data(folder, &card),
            None => Self::of_shop(folder),
        };
        if !logs.is_empty() {
            let (shop, source) = on_trust(&logs);
            admitted.members = shop.as_ref().map(Shop::journal_members).unwrap_or_default();
            admitted.proofs = Proofs::of(shop.as_ref(), admitted.own);
            admitted.source = source;
            if let Some(card) = own_card(folder) {
                admitted.members.admit(card.tablet, &card.public_key);
            }
        }
        admitted
    }

    /// Only members of the shop with this first key count, and only as far as they have
    /// sealed.
    fn held_against(key: &str, logs: &Logs) -> Self {
        let shop = Link::from_hex(key).and_then(|key| Shop::of(key, logs).ok());
        let source = match shop {
            Some(_) => format!("the shop log, held against the key {key}"),
            None => format!("nobody's: there is no shop log here that begins with the key {key}"),
        };
        Self {
            members: shop.as_ref().map(Shop::journal_members).unwrap_or_default(),
            own: None,
            proofs: Proofs::of(shop.as_ref(), None),
            source,
        }
    }

    /// What the person who asked has to know of it; nothing of a tablet's own folder.
    pub fn note(&self) -> Option<String> {
        let is_foreign = self.own.is_none();
        is_foreign.then(|| format!("whose lines count: {}", self.source))
    }

    fn of_data(folder: &Path, card: &OwnCard) -> Self {
        let mut members = Members::own_only(card.tablet, &card.public_key);
        for (tablet, key) in pins::pinned(folder, &card.public_key) {
            members.admit(tablet, &key);
        }
        Self {
            members,
            own: Some(card.tablet),
            proofs: Proofs::default(),
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
            proofs: Proofs::default(),
            source:
                "taken on trust from the folder itself: the keys that its tablets show, for it \
                     has no shop log"
                    .to_owned(),
        }
    }
}

type Logs = BTreeMap<Uuid, Vec<Line>>;

/// The shop log of a folder, as far as each tablet's part of it holds.
fn logs_of(folder: &Path) -> Logs {
    let files = logs_in(folder).unwrap_or_default().into_iter();
    files
        .map(|(tablet, bytes)| (tablet, read_log(&bytes, tablet, &[]).lines))
        .filter(|(_, lines)| !lines.is_empty())
        .collect()
}

/// Who is a member, as the log says that lies there. Of two logs neither is believed.
fn on_trust(logs: &Logs) -> (Option<Shop>, String) {
    let firsts = logs.values().filter_map(|lines| lines.first());
    let mut shops: Vec<Shop> = firsts
        .filter_map(|first| Shop::of(first.link(), logs).ok())
        .collect();
    match (shops.pop(), shops.len()) {
        (Some(shop), 0) => {
            let source = format!(
                "the shop log in this folder, taken on trust; its key is {}, hold it against \
                 the one you know with --shop-key",
                shop.key
            );
            (Some(shop), source)
        }
        (None, _) => (
            None,
            "nobody's: the shop log in this folder does not hold".to_owned(),
        ),
        _ => (
            None,
            "nobody's: there are two shop logs in this folder; name the shop's key with \
             --shop-key"
                .to_owned(),
        ),
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
