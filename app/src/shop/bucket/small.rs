//! The small files of a shop folder as objects: cards, logs and the mark that it is a shop's.
//! Whatever the exchange changes in the copy here goes to the bucket, and what others have
//! changed there comes here.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use trayzero_core::journal::sha256;
use uuid::Uuid;

use super::client::{Client, Listed, at_once};
use super::fault::BucketFault;
use super::journals::write_copy;
use crate::data::crew::log_files::LOG_BYTES_MAX;
use crate::data::shared_layouts::is_version_name;
use crate::data::store::LAYOUTS_FOLDER;
use crate::data::store::small_file::SMALL_BYTES_MAX;
use crate::shop::ShopFault;

/// Where in a bucket they lie.
pub(super) const NOW: &str = "now/";
const MARKER: &str = "shop.json";
/// The page of the board, for browsers: it goes there and is never brought here.
const PAGE: &str = "board.html";
/// Folders of them, and how their files' names end.
const FOLDERS: [(&str, &str); 5] = [
    ("tablets", ".json"),
    ("members", ".json"),
    ("log", ".jsonl"),
    ("crew", ".json"),
    (LAYOUTS_FOLDER, ".json"),
];

/// An object that is the same here and there.
#[derive(Debug)]
struct KnownObject {
    /// What changes when the object does.
    tag: String,
    hash: String,
    /// The copy's length and time when it was looked at.
    look: SeenSmall,
}

type SeenSmall = Option<(u64, SystemTime)>;

/// Which small objects are the same here and there, by their names.
#[derive(Debug, Default)]
pub(super) struct SmallFiles {
    known: BTreeMap<String, KnownObject>,
}

/// The file of an object, if its name is one of a small file.
pub(super) fn path_of(folder: &Path, name: &str) -> Option<PathBuf> {
    if let Some(rest) = name.strip_prefix(NOW) {
        if rest == MARKER {
            return Some(folder.join(MARKER));
        }
        let (within, file) = rest.split_once('/')?;
        let (_, ending) = FOLDERS.iter().find(|(folder, _)| *folder == within)?;
        let stem = file.strip_suffix(ending)?;
        // A layout is named by what it says, all else by its tablet.
        let is_ours = match within {
            LAYOUTS_FOLDER => is_version_name(stem),
            _ => is_tablet(stem),
        };
        is_ours.then(|| folder.join(within).join(file))
    } else {
        let (to, from) = name.strip_prefix("keys/")?.split_once('/')?;
        let is_box = is_tablet(to) && is_tablet(from.strip_suffix(".box")?);
        is_box.then(|| folder.join("keys").join(to).join(from))
    }
}

fn is_tablet(stem: &str) -> bool {
    stem.parse::<Uuid>().is_ok_and(|id| id.to_string() == stem)
}

fn most_of(name: &str) -> u64 {
    if name.starts_with("now/log/") {
        LOG_BYTES_MAX
    } else {
        SMALL_BYTES_MAX
    }
}

fn look_at(path: &Path) -> SeenSmall {
    let known = path.symlink_metadata().ok().filter(fs::Metadata::is_file)?;
    Some((known.len(), known.modified().ok()?))
}

impl SmallFiles {
    /// Brings here what has changed there, of all objects that start with `within`, and takes
    /// away here what is gone there. Gives whether anything was new.
    pub fn fetch(
        &mut self,
        client: &Client,
        folder: &Path,
        within: &str,
        listed: &[Listed],
    ) -> Result<bool, ShopFault> {
        let is_known = |known: Option<&KnownObject>, object: &Listed| {
            known.is_some_and(|known| known.tag == object.tag && !object.tag.is_empty())
        };
        let changed: Vec<(&Listed, PathBuf)> = listed
            .iter()
            .filter(|object| !is_known(self.known.get(&object.name), object))
            .filter(|object| object.bytes <= most_of(&object.name))
            .filter_map(|object| Some((object, path_of(folder, &object.name)?)))
            .collect();
        let got = at_once(changed, |(object, path)| {
            let got = client.get(&object.name, most_of(&object.name))?;
            let Some(got) = got else {
                // It went between the list and now.
                return Ok(None);
            };
            Ok(Some((object.name.clone(), path, got)))
        });
        let there: BTreeSet<&str> = listed.iter().map(|object| object.name.as_str()).collect();
        // A bucket that somebody has emptied is filled again, so it stays a shop's here.
        let is_gone = |name: &&String| {
            let is_marker = name.strip_prefix(NOW) == Some(MARKER);
            name.starts_with(within) && !is_marker && !there.contains(name.as_str())
        };
        let gone: Vec<String> = self.known.keys().filter(is_gone).cloned().collect();
        let mut is_new = !gone.is_empty();
        for name in gone {
            self.known.remove(&name);
            if let Some(path) = path_of(folder, &name) {
                // If it cannot be taken away it goes back to the bucket, where it was before.
                let _ = fs::remove_file(path);
            }
        }
        for got in got {
            let got = got.map_err(|fault: BucketFault| client.fault(fault))?;
            let Some((name, path, got)) = got else {
                continue;
            };
            let within = path.parent().unwrap_or(folder);
            fs::create_dir_all(within)
                .and_then(|()| write_copy(&path, &got.bytes))
                .map_err(ShopFault::at(&path))?;
            let known = KnownObject {
                tag: got.tag,
                hash: sha256(&got.bytes),
                look: look_at(&path),
            };
            self.known.insert(name, known);
            is_new = true;
        }
        Ok(is_new)
    }

    /// Puts there what has changed here; of boxes those alone that are from this tablet.
    pub fn send(&mut self, client: &Client, folder: &Path, tablet: Uuid) -> Result<(), ShopFault> {
        let here = files_in(folder, tablet);
        for (name, path) in &here {
            let look = look_at(path);
            let known = self.known.get_mut(name);
            if let Some(known) = &known
                && known.look.is_some()
                && known.look == look
            {
                continue;
            }
            let bytes = match fs::read(path) {
                Ok(bytes) => bytes,
                Err(e) if e.kind() == std::io::ErrorKind::NotFound => continue,
                Err(e) => return Err(ShopFault::at(path)(e)),
            };
            let hash = sha256(&bytes);
            if let Some(known) = known.filter(|known| known.hash == hash) {
                known.look = look;
                continue;
            }
            let tag = client
                .put_over(name, &bytes)
                .map_err(|fault| client.fault(fault))?;
            self.known
                .insert(name.clone(), KnownObject { tag, hash, look });
        }
        let is_gone = |name: &&String| {
            name.starts_with("now/crew/") && path_of(folder, name).is_some_and(|p| !p.exists())
        };
        let gone: Vec<String> = self.known.keys().filter(is_gone).cloned().collect();
        for name in gone {
            let deleted = client.delete(&name);
            deleted.map_err(|fault| client.fault(fault))?;
            self.known.remove(&name);
        }
        Ok(())
    }
}

/// The small files of the copy, with the names of their objects.
fn files_in(folder: &Path, tablet: Uuid) -> Vec<(String, PathBuf)> {
    let mut found = vec![
        (format!("{NOW}{MARKER}"), folder.join(MARKER)),
        (PAGE.to_owned(), folder.join(PAGE)),
    ];
    let names_in = |path: PathBuf| fs::read_dir(path).into_iter().flatten().flatten();
    for (within, _) in FOLDERS {
        for name in names_in(folder.join(within)) {
            let name = format!("{NOW}{within}/{}", name.file_name().to_string_lossy());
            found.extend(path_of(folder, &name).map(|path| (name, path)));
        }
    }
    for to in names_in(folder.join("keys")) {
        let name = format!("keys/{}/{tablet}.box", to.file_name().to_string_lossy());
        found.extend(path_of(folder, &name).map(|path| (name, path)));
    }
    found.retain(|(_, path)| path.is_file());
    found
}
