//! Layouts that travel: each time one is kept, a version of it is sealed for the other tablets
//! of the shop. A version says who made it, where, when, and from which ones; it is named by the
//! hash of what it says, so that two are never mixed up and none is changed unseen.
//!
//! Two that were made from the same one apart are both offered: nothing is merged, and a person
//! decides. Copies of all of them lie in `layouts/shared` of the data folder.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde::{Deserialize, Serialize};
use thiserror::Error;
use trayzero_core::engine::{Layout, LayoutFault};
use trayzero_core::journal::{Link, sha256};
use uuid::Uuid;

use crate::data::layouts::{LayoutLibrary, LayoutMade, LibraryEntry, Origin, library};
use crate::data::store::sealed::{self, SealedError};
use crate::data::store::small_file::{self, Readers};
use crate::data::store::{Doing, FileError, Stamp, Tablet};

/// What the seal of a version is for.
const PURPOSE: &str = "trayzero layout 1";
/// The format of a version.
pub const FORMAT: u32 = 1;
/// The most versions that a tablet keeps.
pub const VERSIONS_MAX: usize = 500;
/// The most that are read: a tablet's own ones go on beyond the shop's.
pub const READ_MAX: usize = 2 * VERSIONS_MAX;
/// The most characters of a name that a version says.
pub const NAME_CHARS_MAX: usize = 200;
/// The most versions that one says it was made from.
pub const FROM_MAX: usize = 16;
const REMOVED: &str = "removed-here.json";

/// Where the versions lie in a layouts folder.
pub fn shared_folder(layouts: &Path) -> PathBuf {
    layouts.join("shared")
}

/// A version, as it stands in its file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LayoutVersion {
    format: u32,
    /// The tablet that has sealed it.
    pub tablet: Uuid,
    /// Its name then.
    pub tablet_name: String,
    /// Who made it, as they said; empty where nobody said.
    pub who: String,
    /// Wall clock in milliseconds.
    pub at_ms: i64,
    /// Its offset from UTC in minutes.
    pub offset_min: i16,
    /// The versions that it takes the place of, by their names.
    pub from: Vec<String>,
    /// The layout.
    pub layout: Layout,
}

/// Why a file is no version. Each message names the file.
#[derive(Debug, Error)]
pub enum NoVersion {
    /// It cannot be read, or its seal does not hold.
    #[error(transparent)]
    Sealed(#[from] SealedError),
    /// It is another than its name says.
    #[error("{}: its name is not the hash of what it says", .0.display())]
    OtherName(PathBuf),
    /// It is of another format.
    #[error("{}: format: {format} is another than {FORMAT}", path.display())]
    OtherFormat {
        /// The file.
        path: PathBuf,
        /// Its format.
        format: u32,
    },
    /// A name in it is too long.
    #[error("{}: {field}: more than {NAME_CHARS_MAX} characters", path.display())]
    LongName {
        /// The file.
        path: PathBuf,
        /// Whose name.
        field: &'static str,
    },
    /// It names more versions than it may, or something that is none.
    #[error("{}: from: at most {FROM_MAX} names of versions", .0.display())]
    From(PathBuf),
    /// Its layout has a fault.
    #[error("{0}")]
    Layout(Box<LayoutFault>),
    /// There are too many of them.
    #[error("{}: {count} versions lie there, and {READ_MAX} of them are read", folder.display())]
    TooMany {
        /// The folder.
        folder: PathBuf,
        /// How many there are.
        count: usize,
    },
}

/// Whether a text is the name of a version: a hash in 64 small hex digits.
pub fn is_version_name(name: &str) -> bool {
    Link::from_hex(name).is_some_and(|hash| hash.to_string() == name)
}

/// The file of a version in a folder of them.
pub fn version_path(folder: &Path, name: &str) -> PathBuf {
    folder.join(format!("{name}.json"))
}

/// The name of the version that a file's name stands for.
pub fn version_of(path: &Path) -> Option<&str> {
    let name = path.file_name()?.to_str()?.strip_suffix(".json")?;
    is_version_name(name).then_some(name)
}

fn name_of(version: &LayoutVersion) -> Result<String, serde_json::Error> {
    Ok(sha256(&serde_json::to_vec(version)?))
}

/// Seals a version of a layout in this tablet's name. `from` are the versions that it takes the
/// place of.
///
/// # Errors
/// [`SealedError`]; nothing is kept then.
pub fn keep(
    layouts: &Path,
    layout: &Layout,
    (who, from): (&str, Vec<String>),
    (tablet, now): (&Tablet, Stamp),
) -> Result<String, SealedError> {
    let version = LayoutVersion {
        format: FORMAT,
        tablet: tablet.id(),
        tablet_name: tablet.name().to_owned(),
        who: who.trim().chars().take(NAME_CHARS_MAX).collect(),
        at_ms: now.at_ms,
        offset_min: now.offset_min,
        from,
        layout: layout.clone(),
    };
    let folder = shared_folder(layouts);
    let failed = |e: io::Error| FileError::of(&folder, Doing::MakingFolder, e);
    fs::create_dir_all(&folder).map_err(failed)?;
    let name = name_of(&version).map_err(|e| SealedError::Unreadable {
        path: folder.clone(),
        why: e.to_string(),
    })?;
    sealed::write(&version_path(&folder, &name), PURPOSE, &version, tablet)?;
    Ok(name)
}

/// Reads a version and checks it: its name, its seal, its layout. Gives it with the key that has
/// sealed it; `None` if there is no such file.
///
/// # Errors
/// [`NoVersion`], which names the file.
pub fn read_version(path: &Path) -> Result<Option<(LayoutVersion, String)>, NoVersion> {
    let Some(read) = sealed::read::<LayoutVersion>(path, PURPOSE)? else {
        return Ok(None);
    };
    let version = read.payload;
    let named = name_of(&version).ok();
    if named.as_deref() != version_of(path) || named.is_none() {
        return Err(NoVersion::OtherName(path.to_owned()));
    }
    let path = path.to_owned();
    if version.format != FORMAT {
        let format = version.format;
        return Err(NoVersion::OtherFormat { path, format });
    }
    for (field, name) in [("who", &version.who), ("tablet_name", &version.tablet_name)] {
        if name.chars().count() > NAME_CHARS_MAX {
            return Err(NoVersion::LongName { path, field });
        }
    }
    if version.from.len() > FROM_MAX || !version.from.iter().all(|one| is_version_name(one)) {
        return Err(NoVersion::From(path));
    }
    let mut faults = version
        .layout
        .faults(&path.display().to_string())
        .into_iter();
    if let Some(fault) = faults.next() {
        return Err(NoVersion::Layout(Box::new(fault)));
    }
    Ok(Some((version, read.key)))
}

#[derive(Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct RemovedHere {
    versions: BTreeSet<String>,
}

fn removed_here(folder: &Path) -> BTreeSet<String> {
    let read = small_file::read(&folder.join(REMOVED)).ok().flatten();
    let read = read.and_then(|bytes| serde_json::from_slice::<RemovedHere>(&bytes).ok());
    read.unwrap_or_default().versions
}

/// Offers a version here no more, or again. Other tablets go on as they are.
///
/// # Errors
/// [`FileError`]; nothing has changed then.
pub fn offer(layouts: &Path, name: &str, is_offered: bool) -> Result<(), FileError> {
    let folder = shared_folder(layouts);
    let path = folder.join(REMOVED);
    let mut versions = removed_here(&folder);
    if is_offered {
        versions.remove(name);
    } else {
        versions.insert(name.to_owned());
    }
    let text = serde_json::to_vec(&RemovedHere { versions });
    let text = text.map_err(|e| FileError::of(&path, Doing::Writing, e.into()))?;
    small_file::write(&path, &text, Readers::Usual)
}

/// The layouts of this tablet with those of the shop's other tablets.
pub fn library_of(layouts: &Path, own: Uuid) -> LayoutLibrary {
    let mut library = library(layouts);
    let folder = shared_folder(layouts);
    let versions = versions_in(&folder, &mut library);
    let removed = removed_here(&folder);
    let replaced: BTreeSet<&String> = versions.values().flat_map(|v| &v.from).collect();
    let stands = |name: &String| !replaced.contains(name);
    let made = |name: &String, version: &LayoutVersion| LayoutMade {
        version: name.clone(),
        is_own: version.tablet == own,
        tablet: version.tablet_name.clone(),
        who: version.who.clone(),
        at_ms: version.at_ms,
        offset_min: version.offset_min,
        apart: apart_from(name, &versions, &replaced),
    };
    // An own file stands for the latest version that says the same.
    let mut held = BTreeSet::new();
    let shown = std::mem::take(&mut library.entries);
    for mut entry in shown {
        let is_own = matches!(entry.origin, Origin::Own(_));
        let mut same: Vec<_> = versions
            .iter()
            .filter(|(_, version)| is_own && version.layout == entry.layout)
            .collect();
        same.sort_by_key(|(name, version)| (stands(name), version.at_ms));
        held.extend(same.iter().map(|(name, _)| (*name).clone()));
        let Some((name, version)) = same.pop() else {
            library.entries.push(entry);
            continue;
        };
        entry.made = Some(made(name, version));
        if stands(name) {
            library.entries.push(entry);
        } else {
            library.replaced.push(entry);
        }
    }
    let mut come: Vec<(&String, &LayoutVersion)> = versions
        .iter()
        .filter(|(name, _)| !held.contains(*name))
        .collect();
    come.sort_by_key(|(name, version)| (std::cmp::Reverse(version.at_ms), *name));
    let mut offered = Vec::new();
    for (name, version) in come {
        let entry = LibraryEntry {
            key: format!("shop/{name}"),
            origin: Origin::Shop(version_path(&folder, name)),
            layout: version.layout.clone(),
            made: Some(made(name, version)),
        };
        // What was made here and whose file is gone was taken away here.
        let is_gone = removed.contains(name) || version.tablet == own;
        match (stands(name), is_gone) {
            (false, _) => library.replaced.push(entry),
            (true, true) => library.removed.push(entry),
            (true, false) => offered.push(entry),
        }
    }
    library.entries.splice(0..0, offered);
    library
}

/// The versions that lie here, by their names; what is none is told among the faulty.
fn versions_in(folder: &Path, library: &mut LayoutLibrary) -> BTreeMap<String, LayoutVersion> {
    let names = fs::read_dir(folder).into_iter().flatten().flatten();
    let paths = names.map(|name| name.path());
    let mut paths: Vec<PathBuf> = paths.filter(|path| version_of(path).is_some()).collect();
    paths.sort();
    if paths.len() > READ_MAX {
        let (folder, count) = (folder.to_owned(), paths.len());
        let fault = NoVersion::TooMany { folder, count };
        library.unread.push(Arc::new(fault));
        paths.truncate(READ_MAX);
    }
    let mut versions = BTreeMap::new();
    for path in paths {
        match (read_version(&path), version_of(&path)) {
            (Ok(Some((version, _))), Some(name)) => {
                versions.insert(name.to_owned(), version);
            }
            (Err(fault), _) => library.unread.push(Arc::new(fault)),
            _ => {}
        }
    }
    versions
}

/// The other standing versions that have an ancestor in common: who made them, where and when.
fn apart_from(
    name: &String,
    versions: &BTreeMap<String, LayoutVersion>,
    replaced: &BTreeSet<&String>,
) -> Vec<(String, String, i64)> {
    let before = ancestors(name, versions);
    let others = versions.iter().filter(|(other, _)| {
        *other != name
            && !replaced.contains(other)
            && !ancestors(other, versions).is_disjoint(&before)
    });
    others
        .map(|(_, other)| (other.who.clone(), other.tablet_name.clone(), other.at_ms))
        .collect()
}

fn ancestors<'a>(
    name: &'a String,
    versions: &'a BTreeMap<String, LayoutVersion>,
) -> BTreeSet<&'a String> {
    let mut found = BTreeSet::new();
    let mut left = vec![name];
    while let Some(one) = left.pop() {
        let from = versions.get(one).map_or(&[][..], |version| &version.from);
        left.extend(from.iter().filter(|before| found.insert(*before)));
    }
    found
}
