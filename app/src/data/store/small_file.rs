//! Small files: read within bounds, and written whole or not at all.

use std::ffi::OsString;
use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use thiserror::Error;
use trayzero_core::journal::{read_plain, sync_folder};
use uuid::Uuid;

/// The largest small file, in bytes.
pub const SMALL_BYTES_MAX: u64 = 1 << 20;

/// What is done with a file or a folder.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Error)]
#[allow(missing_docs)]
pub enum Doing {
    #[error("reading it")]
    Reading,
    #[error("writing it")]
    Writing,
    #[error("copying it")]
    Copying,
    #[error("listing it")]
    Listing,
    #[error("making the folder")]
    MakingFolder,
    #[error("setting it aside")]
    SettingAside,
    #[error("keeping what both copies have")]
    KeepingShared,
    #[error("holding it against the shop folder")]
    Comparing,
}

/// What went wrong with a small file.
#[derive(Debug, Error)]
#[error("{}: {cause} while {doing}", path.display())]
pub struct FileError {
    /// The file.
    pub path: PathBuf,
    /// What was being done.
    pub doing: Doing,
    /// The system's own words.
    pub cause: io::Error,
}

impl FileError {
    pub(crate) fn of(path: &Path, doing: Doing, cause: io::Error) -> Self {
        Self {
            path: path.to_owned(),
            doing,
            cause,
        }
    }
}

/// Who may read a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Readers {
    /// As the system has it for new files.
    Usual,
    /// This user alone.
    OwnerOnly,
}

/// Reads a small plain file; `None` if there is none. Links, pipes and folders are
/// refused, and so is a file of more than [`SMALL_BYTES_MAX`] bytes.
///
/// # Errors
/// [`FileError`], which names the file.
pub fn read(path: &Path) -> Result<Option<Vec<u8>>, FileError> {
    let failed = |e| FileError::of(path, Doing::Reading, e);
    let bytes = match read_plain(path, 0, SMALL_BYTES_MAX + 1) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(None),
        read => read.map_err(failed)?,
    };
    if bytes.len() as u64 > SMALL_BYTES_MAX {
        let why = format!("it has more than {SMALL_BYTES_MAX} bytes");
        return Err(failed(io::Error::other(why)));
    }
    Ok(Some(bytes))
}

/// Writes a small file durably: after a crash at any moment there is either the old
/// file or the new one. It is written beside its place, synced, and moved there.
///
/// # Errors
/// [`FileError`]; the old file is still there then.
pub fn write(path: &Path, bytes: &[u8], readers: Readers) -> Result<(), FileError> {
    write_over(path, &beside(path, "new"), bytes, readers)
}

/// The same for a file that several tablets write: each beside it under a name of its own,
/// so that none moves what another has half written.
///
/// # Errors
/// As [`write()`].
pub fn write_by(path: &Path, bytes: &[u8], tablet: Uuid) -> Result<(), FileError> {
    let beside = beside(path, &format!("{tablet}.new"));
    write_over(path, &beside, bytes, Readers::Usual)
}

fn write_over(path: &Path, beside: &Path, bytes: &[u8], readers: Readers) -> Result<(), FileError> {
    let result = write_beside(beside, bytes, readers)
        .and_then(|()| fs::rename(beside, path))
        .and_then(|()| sync_parent(path));
    result.map_err(|e| {
        // Half a file helps nobody; if it cannot be removed either, the next write does.
        let _ = fs::remove_file(beside);
        FileError::of(path, Doing::Writing, e)
    })
}

fn write_beside(beside: &Path, bytes: &[u8], readers: Readers) -> io::Result<()> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    if readers == Readers::OwnerOnly {
        restrict(&mut options);
    }
    // A left-over file would keep its rights, and a link that somebody has put here would
    // lead elsewhere.
    match fs::remove_file(beside) {
        Err(e) if e.kind() != io::ErrorKind::NotFound => return Err(e),
        _ => {}
    }
    let mut file = options.open(beside)?;
    file.write_all(bytes)?;
    file.sync_all()
}

#[cfg(unix)]
fn restrict(options: &mut OpenOptions) {
    std::os::unix::fs::OpenOptionsExt::mode(options, 0o600);
}

#[cfg(not(unix))]
fn restrict(_: &mut OpenOptions) {
    // A user's own data folder is closed to other users on such a system.
}

fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = OsString::from(path.as_os_str());
    name.push(".");
    name.push(ending);
    PathBuf::from(name)
}

/// Makes a new name durable, which a sync of the file itself does not.
pub(crate) fn sync_parent(path: &Path) -> io::Result<()> {
    match path.parent() {
        // A bare name lies where the program stands.
        Some(folder) if folder.as_os_str().is_empty() => sync_folder(Path::new(".")),
        Some(folder) => sync_folder(folder),
        None => Ok(()),
    }
}
