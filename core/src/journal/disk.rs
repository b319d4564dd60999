//! The four things that the writer asks of a disk.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;

use super::JournalError;

/// What the system says of an open file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FileState {
    /// Its length.
    pub bytes: u64,
    /// Whether a folder still has it.
    pub is_linked: bool,
}

/// An open file that is only ever appended to, or cut back to what was acknowledged.
pub trait Disk {
    /// Writes all bytes at the end.
    fn append(&mut self, bytes: &[u8]) -> io::Result<()>;
    /// Returns once everything appended is on the disk itself.
    fn sync(&mut self) -> io::Result<()>;
    /// Cuts the file back to its first `bytes`.
    fn truncate(&mut self, bytes: u64) -> io::Result<()>;
    /// Length, and whether the file is still there.
    fn state(&mut self) -> io::Result<FileState>;
}

/// A real file, locked against a second writer for as long as it is open.
///
/// The lock is the system's advisory one on the journal itself: it goes with the
/// process however that ends, no left-over lock file can keep anybody out, and readers
/// are never held up.
#[derive(Debug)]
pub struct FileDisk(File);

impl FileDisk {
    /// Opens the file for appending, makes it if it is not there, and locks it.
    ///
    /// # Errors
    /// [`JournalError::SecondWriter`] if it is locked, or what the system says.
    pub fn open(path: &Path) -> Result<Self, JournalError> {
        let file = OpenOptions::new()
            .read(true)
            .append(true)
            .create(true)
            .open(path)
            .map_err(|e| JournalError::from_io(path, "opening it for writing", e))?;
        match file.try_lock() {
            Ok(()) => Ok(Self(file)),
            Err(TryLockError::WouldBlock) => Err(JournalError::SecondWriter {
                file: path.to_owned(),
            }),
            Err(TryLockError::Error(e)) => Err(JournalError::from_io(path, "locking it", e)),
        }
    }

    /// Reads the file from its beginning.
    pub(super) fn rewound(&mut self) -> io::Result<impl Read + '_> {
        self.0.seek(SeekFrom::Start(0))?;
        Ok(&self.0)
    }
}

impl Drop for FileDisk {
    fn drop(&mut self) {
        // Closing alone is not enough: a process that is just being started elsewhere in
        // this program has a copy of the handle for a moment, and the lock with it. An
        // error leaves the lock to the closing.
        self.0.unlock().ok();
    }
}

impl Disk for FileDisk {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.0.write_all(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.0.sync_data()
    }

    fn truncate(&mut self, bytes: u64) -> io::Result<()> {
        self.0.set_len(bytes)
    }

    fn state(&mut self) -> io::Result<FileState> {
        state_of(&self.0)
    }
}

#[cfg(unix)]
fn state_of(file: &File) -> io::Result<FileState> {
    // All that std asks for beside these two takes longer than a tap has for it.
    let known = rustix::fs::fstat(file)?;
    Ok(FileState {
        bytes: u64::try_from(known.st_size).unwrap_or_default(),
        is_linked: known.st_nlink > 0,
    })
}

#[cfg(not(unix))]
fn state_of(file: &File) -> io::Result<FileState> {
    Ok(FileState {
        bytes: file.metadata()?.len(),
        // An open file cannot be deleted on such a system.
        is_linked: true,
    })
}

/// Makes the names in a folder durable, which a sync of the files in it does not.
///
/// # Errors
/// What the system says.
pub fn sync_folder(folder: &Path) -> io::Result<()> {
    if !cfg!(unix) {
        return Ok(());
    }
    match File::open(folder)?.sync_all() {
        // Some network file systems know no sync of a folder.
        Err(e) if e.kind() == io::ErrorKind::InvalidInput => Ok(()),
        other => other,
    }
}
