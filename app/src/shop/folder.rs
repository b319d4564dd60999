//! The shop folder's own shape, and how it is told from an empty mount point.
//!
//! ```text
//! shop.json                    marks the folder as a shop folder
//! tablets/<tablet>.json        name and public key, sealed by the tablet
//! crew/<tablet>.json           the crew list as that tablet has it, sealed by it
//! jobs/<job>/<tablet>.jsonl    journals, each appended to by its own tablet alone
//! layouts/<sha256>.json        engine layouts, sealed by the tablet that kept them
//! ```

use std::fs::{self, File, Metadata, OpenOptions};
use std::io::{self, Write};
#[cfg(unix)]
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use serde::{Deserialize, Serialize};

use super::ShopFault;
use crate::data::store::small_file::{self, Readers};

const MARKER: &str = "shop.json";
const MARKER_TEXT: &[u8] = b"{\"format\":1,\"this\":\"a shop folder of Tray Zero\"}\n";
/// In the data folder: the shop folder that this tablet has joined.
const JOINED: &str = "joined.json";

#[derive(Serialize, Deserialize)]
struct Joined {
    folder: PathBuf,
}

pub(super) fn tablets(folder: &Path) -> PathBuf {
    folder.join("tablets")
}

pub(super) fn crew(folder: &Path) -> PathBuf {
    folder.join("crew")
}

/// Whether this is a shop folder rather than a tablet's data folder.
pub(super) fn is_shop(folder: &Path) -> bool {
    let lies_there = |path: PathBuf| path.symlink_metadata().is_ok();
    lies_there(folder.join(MARKER)) || lies_there(tablets(folder))
}

/// Makes sure that the folder is the shop's. The first time a tablet meets it the folder
/// is marked; after that one without the mark is taken for a share that is not mounted,
/// so that nothing is written under its mount point.
pub(super) fn enter(root: &Path, folder: &Path) -> Result<(), ShopFault> {
    let not_the_shop_folder = || ShopFault::NotTheShopFolder {
        folder: folder.to_owned(),
    };
    match fs::metadata(folder) {
        Ok(known) if known.is_dir() => {}
        Ok(_) => return Err(not_the_shop_folder()),
        Err(e) if e.kind() == io::ErrorKind::NotFound => {
            return Err(ShopFault::Vanished {
                folder: folder.to_owned(),
            });
        }
        Err(e) => return Err(ShopFault::at(folder)(e)),
    }
    let marker = folder.join(MARKER);
    match marker.symlink_metadata() {
        Ok(known) if known.is_file() => {}
        Ok(_) => return Err(not_the_shop_folder()),
        Err(e) if e.kind() == io::ErrorKind::NotFound => {
            if has_joined(root, folder) {
                return Err(not_the_shop_folder());
            }
            mark(&marker).map_err(ShopFault::at(&marker))?;
        }
        Err(e) => return Err(ShopFault::at(&marker)(e)),
    }
    if !has_joined(root, folder) {
        join(root, folder)?;
    }
    for part in [tablets(folder), crew(folder), folder.join("jobs")] {
        make_plain_folder(&part).map_err(ShopFault::at(&part))?;
    }
    Ok(())
}

/// Two tablets may come at once; either's mark will do.
fn mark(marker: &Path) -> io::Result<()> {
    match OpenOptions::new().write(true).create_new(true).open(marker) {
        Ok(mut file) => file.write_all(MARKER_TEXT),
        Err(e) if e.kind() == io::ErrorKind::AlreadyExists => Ok(()),
        Err(e) => Err(e),
    }
}

fn has_joined(root: &Path, folder: &Path) -> bool {
    let read = small_file::read(&root.join(JOINED)).ok().flatten();
    read.and_then(|bytes| serde_json::from_slice::<Joined>(&bytes).ok())
        .is_some_and(|joined| joined.folder == folder)
}

fn join(root: &Path, folder: &Path) -> Result<(), ShopFault> {
    let path = root.join(JOINED);
    let joined = Joined {
        folder: folder.to_owned(),
    };
    let text = serde_json::to_vec(&joined).map_err(|e| ShopFault::io(&path, &e))?;
    Ok(small_file::write(&path, &text, Readers::Usual)?)
}

/// Makes a folder unless it is there; a link in its place is not followed.
pub(super) fn make_plain_folder(path: &Path) -> io::Result<()> {
    match path.symlink_metadata() {
        Ok(known) if known.is_dir() => Ok(()),
        Ok(_) => Err(io::Error::other("it is no plain folder")),
        Err(e) if e.kind() == io::ErrorKind::NotFound => match fs::create_dir(path) {
            // Another tablet may have been quicker.
            Err(e) if e.kind() == io::ErrorKind::AlreadyExists => Ok(()),
            other => other,
        },
        Err(e) => Err(e),
    }
}

/// Opens a file for appending and makes it if it is not there; nothing that a link or a
/// pipe stands for.
pub(super) fn open_to_append(path: &Path) -> io::Result<File> {
    match path.symlink_metadata() {
        Ok(known) if !known.is_file() => return Err(io::Error::other("it is no plain file")),
        _ => {}
    }
    OpenOptions::new().append(true).create(true).open(path)
}

/// The least age at which a change is settled. File systems count time in steps, 2 s where
/// they are old ones; a second change within one step leaves the same time behind.
const STEP: Duration = Duration::from_secs(2);

/// When a file was changed last. Two that are the same mean that nobody has touched it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct LastChange {
    modified: SystemTime,
    /// The system's own note of the change, which nobody can set back, and which file it is.
    #[cfg(unix)]
    noted: (i64, i64, u64),
}

impl LastChange {
    /// The last change, unless another one could still hide behind it.
    pub fn settled(known: &Metadata) -> Option<Self> {
        let modified = known.modified().ok()?;
        #[cfg(unix)]
        let latest = SystemTime::UNIX_EPOCH + Duration::from_secs(known.ctime().max(0) as u64);
        #[cfg(not(unix))]
        let latest = modified;
        let now = SystemTime::now();
        let age = now.duration_since(latest).unwrap_or_else(|e| e.duration());
        (age > STEP).then_some(Self {
            modified,
            #[cfg(unix)]
            noted: (known.ctime(), known.ctime_nsec(), known.ino()),
        })
    }
}
