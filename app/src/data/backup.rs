//! Backup of a data folder while work goes on, and restoring one into another folder.
//!
//! A backup is a plain folder, `trayzero-backup-<date>-<time>`: the journals up to what is
//! acknowledged, the small files, and a manifest that names every file with its length
//! and the link of its last line (journals) or its SHA-256 (others), sealed by the
//! tablet. The tablet's secret key stays behind. So a restored folder becomes a tablet of
//! its own: it goes on where the backup ends, the old lines stand as the old tablet's,
//! and no two tablets ever write one journal.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Component, Path, PathBuf};

use serde::{Deserialize, Serialize};
use thiserror::Error;
use trayzero_core::journal::{
    JournalError, JournalFault, JournalFile, Limits, Mark, Reader, format_rfc3339, list_jobs,
    read_plain, sha256,
};
use uuid::Uuid;

use crate::data::crew::log_files::LOG_FOLDER;
use crate::data::crew::{
    CREW_FILE, CREW_PURPOSE, CrewFault, CrewList, KEYS_FILE, begin_attempts_anew, reseal_restored,
};
use crate::data::pictures::{is_picture_path, pictures_in, read_picture};
use crate::data::settings::SETTINGS_FILE;
use crate::data::shared_layouts::shared_folder;
use crate::data::store::sealed::{self, SealedError};
use crate::data::store::small_file;
use crate::data::store::{Doing, FileError, Stamp, Store, StoreError};

const MANIFEST: &str = "manifest.json";
const PURPOSE: &str = "trayzero backup 1";
/// Small files of a data folder that go into a backup. The attempts at codes and the pins
/// belong to the tablet alone, as its key does.
const SMALL_FILES: [&str; 3] = [SETTINGS_FILE, CREW_FILE, KEYS_FILE];
const LAYOUTS: &str = "layouts";
/// The most layout files that are taken along.
const LAYOUTS_MAX: usize = 1_000;

/// What is wrong with a backup. Each message names the file.
#[derive(Debug, Error)]
pub enum BackupError {
    /// A file cannot be read or written.
    #[error(transparent)]
    File(#[from] FileError),
    /// The folder's journals cannot be listed.
    #[error(transparent)]
    Journal(#[from] JournalError),
    /// The manifest cannot be read or written, or was changed by hand.
    #[error(transparent)]
    Manifest(#[from] SealedError),
    /// There is no manifest: the folder is no backup, or one that was not finished.
    #[error("{}: no backup, or one that was not finished: it has no manifest", folder.display())]
    NoBackup {
        /// The folder.
        folder: PathBuf,
    },
    /// A file is not as the manifest says.
    #[error("{}: {why}", path.display())]
    Differs {
        /// The file.
        path: PathBuf,
        /// What is different.
        why: Differing,
    },
    /// A journal does not hold.
    #[error("{0}")]
    Faulty(JournalFault),
    /// The folder to restore into is in use.
    #[error("{}: a backup is restored into a folder that is empty or not there yet", folder.display())]
    NotEmpty {
        /// The folder.
        folder: PathBuf,
    },
    /// The restored folder cannot be opened.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// What of a file is not as the manifest says.
#[derive(Debug, Error)]
pub enum Differing {
    /// The manifest is of another format.
    #[error("format {0}; this program knows format 1")]
    Format(u32),
    /// It would lie elsewhere.
    #[error("the manifest names a file outside the backup")]
    Outside,
    /// It is longer or shorter.
    #[error("its length is not what the manifest says")]
    Length,
    /// It says something else.
    #[error("it was changed since the backup was made")]
    Changed,
    /// A journal ends otherwise.
    #[error("its last line is not what the manifest says")]
    LastLine,
    /// A file of the crew does not hold.
    #[error("{0}")]
    Crew(CrewFault),
}

/// One file of a backup.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct FileEntry {
    /// Where it lies in the folder, with `/` between the parts.
    path: String,
    bytes: u64,
    /// Link of a journal's last line, or SHA-256 of any other file; 64 hex digits.
    digest: String,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Manifest {
    format: u32,
    at: String,
    tablet: Uuid,
    name: String,
    files: Vec<FileEntry>,
}

/// What a backup came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BackedUp {
    /// The folder that it is in.
    pub folder: PathBuf,
    /// Journals in it.
    pub journals: usize,
    /// Lines in them.
    pub lines: u64,
    /// Journals that do not hold; they are in it as far as they do.
    pub faults: Vec<JournalFault>,
}

/// What restoring came to.
#[derive(Debug)]
pub struct Restored {
    /// The restored folder, opened as a tablet of its own.
    pub store: Store,
    /// Journals restored.
    pub journals: usize,
    /// Lines in them.
    pub lines: u64,
    /// The tablet that the backup was made on.
    pub from: Uuid,
}

/// Copies a data folder into a new folder within `into`, while taps go on.
///
/// # Errors
/// [`BackupError`]; an unfinished backup has no manifest and is not taken for one.
pub fn back_up(store: &Store, into: &Path, now: Stamp) -> Result<BackedUp, BackupError> {
    let at = format_rfc3339(now.at_ms, now.offset_min).unwrap_or_default();
    let digits: String = at.chars().take(19).filter(|c| *c != ':').collect();
    let folder = into.join(format!("trayzero-backup-{}", digits.replace('T', "-")));
    make_folder(&folder)?;
    let mut done = BackedUp {
        folder: folder.clone(),
        journals: 0,
        lines: 0,
        faults: Vec::new(),
    };
    let mut files = Vec::new();
    for job in list_jobs(store.root())?.jobs {
        for journal in &job.journals {
            files.extend(copy_journal(store, job.job, journal, &folder, &mut done)?);
        }
        for path in job.pictures.iter().flat_map(|folder| pictures_in(folder)) {
            // What somebody has made of another picture's file is left.
            let read = read_picture(&path).map_err(|e| FileError::of(&path, Doing::Copying, e))?;
            files.extend(copy_read(store.root(), &path, &folder, read)?);
        }
    }
    for path in small_files(store.root())? {
        let read = small_file::read(&path)?;
        files.extend(copy_read(store.root(), &path, &folder, read)?);
    }
    let manifest = Manifest {
        format: 1,
        at,
        tablet: store.tablet().id(),
        name: store.tablet().name().to_owned(),
        files,
    };
    sealed::write(&folder.join(MANIFEST), PURPOSE, &manifest, store.tablet())?;
    Ok(done)
}

fn make_folder(folder: &Path) -> Result<(), FileError> {
    fs::create_dir_all(folder).map_err(|e| FileError::of(folder, Doing::MakingFolder, e))
}

/// Copies a journal as far as it is acknowledged and holds.
fn copy_journal(
    store: &Store,
    job: Uuid,
    journal: &JournalFile,
    folder: &Path,
    done: &mut BackedUp,
) -> Result<Option<FileEntry>, BackupError> {
    let path = &journal.path;
    let failed = |e: io::Error| FileError::of(path, Doing::Copying, e);
    let mut bytes = read_plain(path, 0, u64::MAX).map_err(failed)?;
    // What is acknowledged is asked for after reading: it can only have grown since.
    let is_own = journal.tablet == store.tablet().id();
    if let Some(acknowledged) = store.acknowledged().bytes_of(job).filter(|_| is_own) {
        bytes.truncate(acknowledged.try_into().unwrap_or(usize::MAX));
    }
    let start = Mark::START;
    let reader = Reader::new(
        bytes.as_slice(),
        path,
        job,
        journal.tablet,
        Limits::OWN,
        start,
    );
    let end = reader.for_each(|_, _, _| {});
    done.faults.extend(end.fault);
    if end.mark.is_start() {
        return Ok(None);
    }
    bytes.truncate(end.mark.bytes as usize);
    let within = relative(store.root(), path);
    write_copy(&folder.join(&within), &bytes)?;
    done.journals += 1;
    done.lines += end.mark.lines;
    Ok(Some(FileEntry {
        path: within,
        bytes: end.mark.bytes,
        digest: end.mark.link.to_string(),
    }))
}

/// The small files of a data folder.
fn small_files(root: &Path) -> Result<Vec<PathBuf>, FileError> {
    let mut paths: Vec<PathBuf> = SMALL_FILES.iter().map(|name| root.join(name)).collect();
    let layouts = root.join(LAYOUTS);
    for folder in [shared_folder(&layouts), layouts, root.join(LOG_FOLDER)] {
        let failed = |e: io::Error| FileError::of(&folder, Doing::Listing, e);
        match fs::read_dir(&folder) {
            Ok(names) => {
                for name in names.take(LAYOUTS_MAX) {
                    let name = name.map_err(failed)?;
                    if name.file_type().map_err(failed)?.is_file() {
                        paths.push(name.path());
                    }
                }
            }
            Err(e) if e.kind() == io::ErrorKind::NotFound => {}
            Err(e) => return Err(failed(e)),
        }
    }
    paths.sort();
    Ok(paths)
}

/// Copies what was read of a file, if it is there to be copied.
fn copy_read(
    root: &Path,
    path: &Path,
    folder: &Path,
    read: Option<Vec<u8>>,
) -> Result<Option<FileEntry>, BackupError> {
    let Some(bytes) = read else {
        return Ok(None);
    };
    let within = relative(root, path);
    write_copy(&folder.join(&within), &bytes)?;
    Ok(Some(FileEntry {
        path: within,
        bytes: bytes.len() as u64,
        digest: sha256(&bytes),
    }))
}

/// A path within a folder, with `/` between its parts on every system.
fn relative(root: &Path, path: &Path) -> String {
    let within = path.strip_prefix(root).unwrap_or(path);
    let parts: Vec<_> = within.iter().map(|part| part.to_string_lossy()).collect();
    parts.join("/")
}

fn write_copy(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
    if let Some(parent) = path.parent() {
        make_folder(parent)?;
    }
    File::create(path)
        .and_then(|mut file| {
            file.write_all(bytes)?;
            file.sync_all()
        })
        .map_err(|e| FileError::of(path, Doing::Writing, e))
}

/// Restores a backup into a folder that is empty or not there yet. Every file is checked
/// against the manifest and every line against its links before anything is written.
///
/// # Errors
/// [`BackupError`], which names the file.
pub fn restore(backup: &Path, into: &Path, now: Stamp) -> Result<Restored, BackupError> {
    let manifest_path = backup.join(MANIFEST);
    let read = sealed::read::<Manifest>(&manifest_path, PURPOSE)?;
    let Some(read) = read else {
        return Err(BackupError::NoBackup {
            folder: backup.to_owned(),
        });
    };
    let manifest = read.payload;
    if manifest.format != 1 {
        return Err(BackupError::Differs {
            path: manifest_path,
            why: Differing::Format(manifest.format),
        });
    }
    let is_empty = match fs::read_dir(into) {
        Ok(mut names) => names.next().is_none(),
        Err(e) if e.kind() == io::ErrorKind::NotFound => true,
        Err(e) => return Err(FileError::of(into, Doing::Listing, e).into()),
    };
    if !is_empty {
        return Err(BackupError::NotEmpty {
            folder: into.to_owned(),
        });
    }
    let mut lines = 0;
    let mut journals = 0;
    let mut checked = Vec::with_capacity(manifest.files.len());
    for kept in &manifest.files {
        let (bytes, of_journal) = check_kept(backup, kept)?;
        lines += of_journal.unwrap_or(0);
        journals += usize::from(of_journal.is_some());
        // Pictures are long: each is read once more when it is written.
        let is_picture = of_journal.is_none() && is_picture_path(Path::new(&kept.path));
        checked.push((kept, (!is_picture).then_some(bytes)));
    }
    for (kept, bytes) in checked {
        let bytes = match bytes {
            Some(bytes) => bytes,
            None => check_kept(backup, kept)?.0,
        };
        write_copy(&into.join(&kept.path), &bytes)?;
    }
    let store = Store::open(into, now)?;
    reseal_crew(&store, &read.key)?;
    Ok(Restored {
        store,
        journals,
        lines,
        from: manifest.tablet,
    })
}

/// A file of a backup, checked; with its number of lines if it is a journal.
fn check_kept(backup: &Path, kept: &FileEntry) -> Result<(Vec<u8>, Option<u64>), BackupError> {
    let within = Path::new(&kept.path);
    let path = backup.join(within);
    let differs = |why| BackupError::Differs {
        path: path.clone(),
        why,
    };
    let is_plain = within
        .components()
        .all(|part| matches!(part, Component::Normal(_)));
    if !is_plain || kept.path.contains('\\') {
        return Err(differs(Differing::Outside));
    }
    let bytes = read_plain(&path, 0, kept.bytes + 1)
        .map_err(|e| FileError::of(&path, Doing::Reading, e))?;
    if bytes.len() as u64 != kept.bytes {
        return Err(differs(Differing::Length));
    }
    let Some((job, tablet)) = journal_of(within) else {
        if sha256(&bytes) != kept.digest {
            return Err(differs(Differing::Changed));
        }
        return Ok((bytes, None));
    };
    let start = Mark::START;
    let reader = Reader::new(bytes.as_slice(), &path, job, tablet, Limits::OWN, start);
    let end = reader.for_each(|_, _, _| {});
    if let Some(fault) = end.fault {
        return Err(BackupError::Faulty(fault));
    }
    if end.mark.bytes != kept.bytes || end.mark.link.to_string() != kept.digest {
        return Err(differs(Differing::LastLine));
    }
    Ok((bytes, Some(end.mark.lines)))
}

/// Job and tablet of a journal's path within a folder.
fn journal_of(within: &Path) -> Option<(Uuid, Uuid)> {
    let parts: Vec<&str> = within.iter().filter_map(|part| part.to_str()).collect();
    let ["jobs", job, file] = parts[..] else {
        return None;
    };
    Some((
        job.parse().ok()?,
        file.strip_suffix(".jsonl")?.parse().ok()?,
    ))
}

/// The crew's files come sealed by the tablet of the backup; the new one seals them anew.
/// A list that does not hold is left as it is, for the crew's own check to say so.
fn reseal_crew(store: &Store, key: &str) -> Result<(), BackupError> {
    let path = store.root().join(CREW_FILE);
    if let Ok(Some(crew)) = sealed::read::<CrewList>(&path, CREW_PURPOSE)
        && crew.key == key
    {
        sealed::write(&path, CREW_PURPOSE, &crew.payload, store.tablet())?;
    }
    reseal_restored(store.root(), key, store.tablet()).map_err(|fault| BackupError::Differs {
        path: fault.path.clone(),
        why: Differing::Crew(fault),
    })?;
    Ok(begin_attempts_anew(store.root(), store.tablet())?)
}
