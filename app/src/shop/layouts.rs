//! The layouts of the shop: what was kept on one tablet goes to the others.
//!
//! ```text
//! layouts/<sha256 of what it says>.json    a version of a layout, sealed by its tablet
//! ```
//! A version is named by its content, so that it does not matter who brought it; whose seal it
//! has does. What is no member's is told and left alone. Whoever can write there can fill the
//! folder: so many files a round are looked at, in turn, and each once as long as it stays as it
//! was.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::ops::Bound;
use std::path::{Path, PathBuf};

use trayzero_core::journal::Members;
use uuid::Uuid;

use super::folder::{LastChange, make_plain_folder};
use super::{FileWhy, SharedFault, ShopFault};
use crate::data::shared_layouts::{
    VERSIONS_MAX, read_version, shared_folder, version_of, version_path,
};
use crate::data::store::small_file;

/// The most names that are looked at.
const NAMES_MAX: usize = 20_000;
/// The most files of others, and of own ones, that are read in a round.
const READ_MAX: usize = 100;
/// The most that do not hold that are told of.
const FAULTS_MAX: usize = 100;

/// The layouts of a tablet and those of its shop folder.
#[derive(Debug, Default)]
pub(super) struct LayoutMirror {
    /// Files there that were looked at, as they were then: own ones that are whole, and others
    /// that do not count.
    seen: BTreeMap<String, Option<LastChange>>,
    /// Why files there do not count.
    faults: BTreeMap<PathBuf, SharedFault>,
    /// By whom seals count; others may count from here on.
    members: Members,
    /// The one that was read last.
    last: String,
}

impl LayoutMirror {
    /// What does not hold there.
    pub fn faults(&self) -> impl Iterator<Item = &SharedFault> {
        self.faults.values().take(FAULTS_MAX)
    }

    /// Brings there what is here and here what is there. Gives whether any has come.
    ///
    /// # Errors
    /// [`ShopFault`] where the folder does not serve.
    pub fn round(
        &mut self,
        layouts: &Path,
        folder: &Path,
        (tablet, members): (Uuid, &Members),
    ) -> Result<bool, ShopFault> {
        if self.members != *members {
            self.members = members.clone();
            self.seen.clear();
        }
        let here_in = shared_folder(layouts);
        let here = names_in(&here_in, &mut |_| {});
        let there_in = folder.join("layouts");
        if here.is_empty() && there_in.symlink_metadata().is_err() {
            // Nobody has made any yet.
            return Ok(false);
        }
        make_plain_folder(&there_in).map_err(ShopFault::at(&there_in))?;
        let mut strange = Vec::new();
        let there = names_in(&there_in, &mut |path| strange.push(path));
        let lies = |path: &Path| version_of(path).is_some_and(|name| there.contains(name));
        self.faults.retain(|path, _| lies(path));
        for path in strange.into_iter().take(FAULTS_MAX) {
            self.tell(path, FileWhy::NoLayoutName);
        }
        self.push((&here_in, &here), (&there_in, &there), tablet)?;
        self.pull((&here_in, &here), (&there_in, &there), tablet)
    }

    /// Puts there what is missing or is another than here.
    fn push(
        &mut self,
        (here_in, here): (&Path, &BTreeSet<String>),
        (there_in, there): (&Path, &BTreeSet<String>),
        tablet: Uuid,
    ) -> Result<(), ShopFault> {
        for name in here {
            let path = version_path(there_in, name);
            if there.contains(name) && self.is_as_seen(name, &path) {
                continue;
            }
            let Ok(Some(own)) = small_file::read(&version_path(here_in, name)) else {
                // What does not hold here is told where it is offered.
                continue;
            };
            let lies = small_file::read(&path);
            if lies.as_ref().is_ok_and(|lies| lies.as_ref() == Some(&own)) {
                self.note(name, &path);
                continue;
            }
            match path.symlink_metadata() {
                Ok(known) if !known.is_file() => {
                    self.tell(path, FileWhy::NoPlainFile);
                    continue;
                }
                Ok(_) => self.tell(path.clone(), FileWhy::WrittenAnew),
                Err(_) => {}
            }
            small_file::write_by(&path, &own, tablet)?;
        }
        Ok(())
    }

    /// Takes what members have sealed and is not here.
    fn pull(
        &mut self,
        (here_in, here): (&Path, &BTreeSet<String>),
        (there_in, there): (&Path, &BTreeSet<String>),
        tablet: Uuid,
    ) -> Result<bool, ShopFault> {
        let after = (Bound::Excluded(self.last.clone()), Bound::Unbounded);
        let begun = there.range(..=self.last.clone());
        let in_turn = there.range(after).chain(begun);
        let new: Vec<(String, PathBuf)> = in_turn
            .filter(|name| !here.contains(*name))
            .map(|name| (name.clone(), version_path(there_in, name)))
            .filter(|(name, path)| !self.is_as_seen(name, path))
            .take(READ_MAX)
            .collect();
        let mut kept = here.len();
        let mut has_new = false;
        for (name, path) in new {
            self.last.clone_from(&name);
            let why = match read_version(&path) {
                Ok(None) => continue,
                Err(fault) => FileWhy::told(fault),
                Ok(Some((version, key))) if !self.members.covers(version.tablet, &key) => {
                    FileWhy::NoMembers
                }
                Ok(Some(_)) if kept >= VERSIONS_MAX => FileWhy::TooManyLayouts(VERSIONS_MAX),
                Ok(Some(_)) => match copy(&path, here_in, &name, tablet)? {
                    Ok(()) => {
                        kept += 1;
                        has_new = true;
                        self.faults.remove(&path);
                        continue;
                    }
                    Err(why) => why,
                },
            };
            self.tell(path.clone(), why);
            self.note(&name, &path);
        }
        Ok(has_new)
    }

    fn is_as_seen(&self, name: &str, path: &Path) -> bool {
        let seen = self.seen.get(name).copied().flatten();
        seen.is_some() && seen == settled(path)
    }

    fn note(&mut self, name: &str, path: &Path) {
        self.seen.insert(name.to_owned(), settled(path));
    }

    fn tell(&mut self, path: PathBuf, why: FileWhy) {
        if self.faults.len() < NAMES_MAX {
            self.faults.insert(path.clone(), SharedFault { path, why });
        }
    }
}

fn settled(path: &Path) -> Option<LastChange> {
    LastChange::settled(&path.symlink_metadata().ok()?)
}

/// The names of versions in a folder; what else lies there is told.
fn names_in(folder: &Path, other: &mut dyn FnMut(PathBuf)) -> BTreeSet<String> {
    let names = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut found = BTreeSet::new();
    for path in names.take(NAMES_MAX).map(|name| name.path()) {
        match version_of(&path) {
            Some(name) => {
                found.insert(name.to_owned());
            }
            // A file on its way into its place.
            None if path.extension().is_some_and(|e| e == "new") => {}
            None => other(path),
        }
    }
    found
}

/// Copies a version here and checks the copy: the file there may be another by now. Gives why it
/// was not taken.
fn copy(
    from: &Path,
    here_in: &Path,
    name: &str,
    tablet: Uuid,
) -> Result<Result<(), FileWhy>, ShopFault> {
    let bytes = match small_file::read(from) {
        Ok(Some(bytes)) => bytes,
        Ok(None) => return Ok(Err(FileWhy::Gone)),
        Err(fault) => return Ok(Err(FileWhy::told(fault))),
    };
    let failed = ShopFault::at(here_in);
    fs::create_dir_all(here_in).map_err(failed)?;
    let path = version_path(here_in, name);
    small_file::write_by(&path, &bytes, tablet)?;
    if matches!(read_version(&path), Ok(Some(_))) {
        return Ok(Ok(()));
    }
    fs::remove_file(&path).map_err(failed)?;
    Ok(Err(FileWhy::ChangedMeanwhile))
}
