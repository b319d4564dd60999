//! Whose lines count in a folder that is looked at from outside: by the command line.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};

use super::Board;
use serde::Deserialize;
use trayzero_core::journal::{JournalError, Limits, Link, Members};
use trayzero_core::shop_log::{Deed, Line, Proofs, Shop, read_log};
use uuid::Uuid;

use super::folder;
use super::pins;
use crate::data::crew::CrewFault;
use crate::data::crew::log_files::{LOG_FOLDER, Most, log_path, logs_in};
use crate::data::store::small_file;
use crate::data::store::{TABLET_FILE, Tablet};

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
    /// What of the shop log there does not count, in words that name the file.
    pub log_faults: Vec<String>,
    /// Lines of the shop log that were read.
    pub log_lines: usize,
    shop: Option<Shop>,
}

/// No shop log in a folder begins with the key that somebody knows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OtherShop {
    folder: PathBuf,
    key: String,
    there: Vec<String>,
}

impl fmt::Display for OtherShop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (folder, key) = (self.folder.display(), &self.key);
        write!(f, "{folder}: ")?;
        match &self.there[..] {
            [] => write!(
                f,
                "there is no shop log in it, so none that begins with {key}"
            ),
            there => {
                let there = there.join(" and ");
                write!(f, "its shop log begins with {there}, and not with {key}")
            }
        }
    }
}

impl std::error::Error for OtherShop {}

#[derive(Deserialize)]
struct OwnCard {
    tablet: Uuid,
    public_key: String,
}

/// The most that is read of the logs of a folder.
const LOGS_MOST: Most = Most {
    files: 2_000,
    bytes: 256 << 20,
};
/// The most cards of tablets that are looked at.
const CARDS_MAX: usize = 500;

impl Admitted {
    /// The board of the folder, every line judged anew: what lies beside the journals is
    /// believed by nobody who comes from outside.
    ///
    /// # Errors
    /// [`JournalError`] if the folder cannot be read.
    pub fn board(self, folder: &Path) -> Result<Board, JournalError> {
        // In a tablet's own folder lies only what it has weighed itself.
        match self.own {
            Some(_) => Board::of_journals(folder, Limits::OWN, self.proofs),
            None => Board::of_members(folder, self.members, self.proofs),
        }
    }

    /// Whose lines count in a data folder or a shop folder. `shop_key` is the shop's first
    /// key as the person who asks knows it, 64 hex digits; without one the folder is taken
    /// at its word, and [`Admitted::source`] says so.
    ///
    /// # Errors
    /// [`OtherShop`] where no shop log there begins with the key.
    pub fn of(folder: &Path, shop_key: Option<&str>) -> Result<Self, OtherShop> {
        let whole = whole_of(folder);
        let log = FolderLog::read(&whole);
        let admitted = match shop_key {
            Some(key) => Self::held_against(folder, key, &log)?,
            None if log.lines.is_empty() => match own_card(&whole) {
                Some(card) => Self::of_data(&whole, &card),
                None => Self::of_shop(&whole),
            },
            None => Self::on_trust(&log, own_card(&whole).map(|card| card.tablet)),
        };
        Ok(Self {
            log_faults: log.faults(admitted.shop.as_ref()),
            log_lines: log.lines.values().map(Vec::len).sum(),
            ..admitted
        })
    }

    /// The tablet whose data folder this is, to sign with; `None` for a shop folder and any
    /// other.
    pub fn signer(folder: &Path) -> Option<Tablet> {
        let is_shop = folder::is_shop(folder);
        (!is_shop).then(|| Tablet::of_folder(folder)).flatten()
    }

    /// Only members of the shop with this first key count, and only as far as they have
    /// sealed.
    fn held_against(folder: &Path, key: &str, log: &FolderLog) -> Result<Self, OtherShop> {
        let shop = Link::from_hex(key).and_then(|key| Shop::of(key, &log.lines).ok());
        let shop = shop.ok_or_else(|| OtherShop {
            folder: folder.to_owned(),
            key: key.to_owned(),
            there: log.foundings().iter().map(ToString::to_string).collect(),
        })?;
        let source = format!("the shop log, checked from its start against the key {key}");
        Ok(Self::of_log(shop, None, source))
    }

    /// Who is a member, as the log says that lies there. Of two logs neither is believed.
    fn on_trust(log: &FolderLog, own: Option<Uuid>) -> Self {
        let foundings = log.foundings();
        let shops = foundings.into_iter();
        let mut shops: Vec<Shop> = shops
            .filter_map(|key| Shop::of(key, &log.lines).ok())
            .collect();
        let nobodys = |source: &str| Self {
            own,
            source: source.to_owned(),
            ..Self::default()
        };
        match (shops.pop(), shops.len()) {
            (Some(shop), 0) => {
                let source = format!(
                    "the shop log in this folder, taken on trust; its key is {}, hold it against \
                     the one you know with --shop-key",
                    shop.key
                );
                Self::of_log(shop, own, source)
            }
            (None, _) => nobodys("nobody's: the shop log in this folder does not hold"),
            _ => nobodys(
                "nobody's: there are two shop logs in this folder; name the shop's key with \
                 --shop-key",
            ),
        }
    }

    fn of_log(shop: Shop, own: Option<Uuid>, source: String) -> Self {
        Self {
            members: shop.journal_members(),
            own,
            proofs: Proofs::of(Some(&shop), own),
            source,
            shop: Some(shop),
            ..Self::default()
        }
    }

    /// What the person who asked has to know of it.
    pub fn note(&self) -> String {
        let own = match self.own {
            Some(own) => format!(
                "; this folder is taken for the data folder of tablet {own}, whose own lines count \
                 as they stand"
            ),
            None => String::new(),
        };
        format!("whose lines count: {}{own}", self.source)
    }

    fn of_data(folder: &Path, card: &OwnCard) -> Self {
        let mut members = Members::own_only(card.tablet, &card.public_key);
        for (tablet, key) in pins::pinned(folder, &card.public_key) {
            members.admit(tablet, &key);
        }
        Self {
            members,
            own: Some(card.tablet),
            source: "taken on trust from this data folder: its tablet and the keys it knows, for \
                     it has no shop log"
                .to_owned(),
            ..Self::default()
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
            source:
                "taken on trust from the folder itself: the keys that its tablets show, for it \
                     has no shop log"
                    .to_owned(),
            ..Self::default()
        }
    }
}

/// The shop log of a folder, as far as each tablet's part of it holds.
#[derive(Default)]
struct FolderLog {
    lines: BTreeMap<Uuid, Vec<Line>>,
    /// What of it could not be read, in words that name the file.
    unread: Vec<String>,
    path: PathBuf,
}

impl FolderLog {
    fn read(folder: &Path) -> Self {
        let mut log = Self {
            path: folder.join(LOG_FOLDER),
            ..Self::default()
        };
        let files = match logs_in(folder, &BTreeSet::new(), LOGS_MOST) {
            Ok(files) => files,
            Err(fault) => {
                log.unread.push(format!("{}: {fault}", log.path.display()));
                return log;
            }
        };
        let faults = files.faults.iter();
        log.unread.extend(faults.map(CrewFault::to_string));
        for (tablet, bytes) in files.bytes {
            let read = read_log(&bytes, tablet, &[]);
            let file = log_path(folder, tablet);
            let file = file.display();
            if let Some((line, why)) = read.fault {
                log.unread.push(format!("{file}, line {line}: {why}"));
            } else if read.bytes < bytes.len() {
                log.unread
                    .push(format!("{file}: its last line is not whole"));
            }
            if !read.lines.is_empty() {
                log.lines.insert(tablet, read.lines);
            }
        }
        log
    }

    /// The keys of the shops that begin here.
    fn foundings(&self) -> Vec<Link> {
        let firsts = self.lines.values().filter_map(|lines| lines.first());
        let firsts = firsts.filter(|line| matches!(line.body().deed, Deed::Founded { .. }));
        firsts.map(Line::link).collect()
    }

    /// What of it does not count, in words that name the file.
    fn faults(&self, shop: Option<&Shop>) -> Vec<String> {
        let mut faults = self.unread.clone();
        let Some(shop) = shop else { return faults };
        let file = |tablet: Uuid| self.path.join(format!("{tablet}.jsonl"));
        for refused in &shop.refused {
            let (file, n, why) = (file(refused.tablet), refused.n, refused.why);
            faults.push(format!(
                "{}, line {n}: it counts for nothing: {why}",
                file.display()
            ));
        }
        for (tablet, n, missing) in &shop.waiting {
            let file = file(*tablet);
            faults.push(format!(
                "{}, line {n}: it knew of lines of tablet {missing} that are not there",
                file.display()
            ));
        }
        faults
    }
}

/// The data folder or shop folder that a folder of jobs, or of one job, belongs to.
fn whole_of(folder: &Path) -> PathBuf {
    let whole = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    let is_jobs = |path: &Path| path.file_name().is_some_and(|name| name == "jobs");
    let mut above = whole.ancestors().take(2);
    let jobs = above.find(|path| is_jobs(path)).and_then(Path::parent);
    match jobs {
        Some(root) if !whole.join("jobs").is_dir() => root.to_owned(),
        _ => folder.to_owned(),
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
