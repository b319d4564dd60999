//! The files of pictures, kept by their content: written durably before any event names
//! them, and held against their hash whenever they are read.

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use thiserror::Error;
use trayzero_core::job::{
    COPY_BYTES_MAX, MediaType, PICTURE_BYTES_MAX, PICTURES_MAX, Picture, PictureOf,
};
use trayzero_core::journal::{open_plain, pictures_path, sha256};
use uuid::Uuid;

use super::decode::{BadPicture, copy_of, media_of};
use crate::data::store::small_file::{self, Readers};
use crate::data::store::{Doing, FileError};

/// The folder of the files as they were taken, within that of the copies.
const TAKEN: &str = "taken";
/// The most files of one folder that are looked at: some pictures may have been taken back.
const IN_FOLDER_MAX: usize = 2 * PICTURES_MAX;

/// Why a picture could not be kept.
#[derive(Debug, Error)]
pub enum KeepError {
    /// It cannot be read or written.
    #[error(transparent)]
    File(#[from] FileError),
    /// It is none that is read.
    #[error("{}: {why}", path.display())]
    Bad {
        /// The file.
        path: PathBuf,
        /// Why.
        why: BadPicture,
    },
}

/// What is there of a picture that an event names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Found {
    /// The very bytes.
    Whole(Vec<u8>),
    /// Nothing that could be read.
    Missing,
    /// Something else than what the event names.
    Changed,
}

/// Where a picture lies as it was taken.
pub fn taken_path(data: &Path, job: Uuid, picture: &Picture) -> PathBuf {
    let name = picture.file_name();
    pictures_path(data, job).join(TAKEN).join(name)
}

/// Keeps a photograph with its copy in a data folder. When it returns, both are on the
/// disk; of one that is there already nothing is written.
///
/// # Errors
/// [`KeepError`], which names the file; what was there stays as it was.
pub fn keep(data: &Path, job: Uuid, from: &Path, of: PictureOf) -> Result<Picture, KeepError> {
    let bytes = read_chosen(from)?;
    let bad = |why| KeepError::Bad {
        path: from.to_owned(),
        why,
    };
    let media = media_of(&bytes).map_err(bad)?;
    let copy = copy_of(&bytes).map_err(bad)?;
    let picture = Picture {
        sha256: sha256(&bytes),
        bytes: bytes.len() as u64,
        media,
        copy_sha256: sha256(&copy),
        copy_bytes: copy.len() as u64,
        of,
        remark: String::new(),
    };
    let taken = taken_path(data, job, &picture);
    write_once(&taken, &bytes, &picture.sha256)?;
    write_copy(data, job, &picture, &copy)?;
    Ok(picture)
}

/// Keeps the copy of a picture whose bytes were held against its hash.
///
/// # Errors
/// [`FileError`], which names the file.
pub fn write_copy(data: &Path, job: Uuid, picture: &Picture, copy: &[u8]) -> Result<(), FileError> {
    let path = pictures_path(data, job).join(picture.copy_name());
    write_once(&path, copy, &picture.copy_sha256)
}

/// What is there of a picture's copy.
pub fn find_copy(data: &Path, job: Uuid, picture: &Picture) -> Found {
    find_named(data, job, &picture.copy_sha256, picture.copy_bytes)
}

/// What is there of a copy with this hash, 64 hex digits, and length.
pub fn find_named(data: &Path, job: Uuid, copy_sha256: &str, copy_bytes: u64) -> Found {
    let name = format!("{copy_sha256}.{}", MediaType::Jpeg.extension());
    let path = pictures_path(data, job).join(name);
    find(&path, copy_sha256, copy_bytes)
}

/// What is there of a picture as it was taken.
pub fn find_taken(data: &Path, job: Uuid, picture: &Picture) -> Found {
    let path = taken_path(data, job, picture);
    find(&path, &picture.sha256, picture.bytes)
}

/// The bytes of a copy that lies under its own hash; `None` for anything else.
///
/// # Errors
/// What the system says.
pub fn read_copy(path: &Path) -> io::Result<Option<Vec<u8>>> {
    read_named(path, COPY_BYTES_MAX)
}

/// The bytes of a picture, copy or not, that lies under its own hash; `None` for anything
/// else.
///
/// # Errors
/// What the system says.
pub fn read_picture(path: &Path) -> io::Result<Option<Vec<u8>>> {
    read_named(path, PICTURE_BYTES_MAX)
}

fn read_named(path: &Path, most: u64) -> io::Result<Option<Vec<u8>>> {
    let hash = path.file_stem().and_then(|name| name.to_str());
    let Some(hash) = hash.filter(|_| is_picture_name(path)) else {
        return Ok(None);
    };
    let bytes = read_bounded(open_plain(path)?, most)?;
    Ok(bytes.filter(|bytes| sha256(bytes) == hash))
}

fn is_picture_name(path: &Path) -> bool {
    let ending = path.extension().and_then(|e| e.to_str());
    let known = [MediaType::Jpeg, MediaType::Png].map(MediaType::extension);
    ending.is_some_and(|ending| known.contains(&ending))
}

/// Whether a path within a data folder is that of a job's picture.
pub fn is_picture_path(within: &Path) -> bool {
    let parts: Vec<&str> = within.iter().filter_map(|part| part.to_str()).collect();
    matches!(
        parts[..],
        ["jobs", _, "pictures", _] | ["jobs", _, "pictures", TAKEN, _]
    )
}

/// Every picture in a job's folder of pictures, in order: copies and the files as taken.
pub fn pictures_in(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for folder in [folder.to_owned(), folder.join(TAKEN)] {
        let names = fs::read_dir(folder).into_iter().flatten().flatten();
        let paths = names.take(IN_FOLDER_MAX).map(|name| name.path());
        found.extend(paths.filter(|path| is_picture_name(path) && path.is_file()));
    }
    found.sort();
    found
}

fn find(path: &Path, hash: &str, bytes: u64) -> Found {
    let read = open_plain(path).and_then(|file| read_bounded(file, bytes));
    match read {
        Ok(Some(found)) if found.len() as u64 == bytes && sha256(&found) == hash => {
            Found::Whole(found)
        }
        Ok(_) => Found::Changed,
        Err(_) => Found::Missing,
    }
}

/// Reads a file; `None` if it is longer than `most` bytes.
fn read_bounded(file: File, most: u64) -> io::Result<Option<Vec<u8>>> {
    let mut bytes = Vec::new();
    file.take(most + 1).read_to_end(&mut bytes)?;
    Ok((bytes.len() as u64 <= most).then_some(bytes))
}

/// Reads a file that a person has chosen, which may lie behind a link of their own.
///
/// # Errors
/// [`KeepError`], which names the file.
pub fn read_chosen(path: &Path) -> Result<Vec<u8>, KeepError> {
    let failed = |e| FileError::of(path, Doing::Reading, e);
    let known = fs::metadata(path).map_err(failed)?;
    if !known.is_file() {
        return Err(failed(io::Error::other("it is no plain file")).into());
    }
    let read = File::open(path).and_then(|file| read_bounded(file, PICTURE_BYTES_MAX));
    read.map_err(failed)?.ok_or_else(|| KeepError::Bad {
        path: path.to_owned(),
        why: BadPicture::TooLong {
            bytes: known.len(),
            most: PICTURE_BYTES_MAX,
        },
    })
}

/// Writes a file under its hash, unless it is there.
fn write_once(path: &Path, bytes: &[u8], hash: &str) -> Result<(), FileError> {
    if matches!(find(path, hash, bytes.len() as u64), Found::Whole(_)) {
        return Ok(());
    }
    if let Some(folder) = path.parent() {
        make_folder(folder).map_err(|e| FileError::of(folder, Doing::MakingFolder, e))?;
    }
    small_file::write(path, bytes, Readers::Usual)
}

/// Makes a folder with those above it; each new name is durable.
fn make_folder(folder: &Path) -> io::Result<()> {
    if folder.is_dir() {
        return Ok(());
    }
    if let Some(above) = folder.parent() {
        make_folder(above)?;
    }
    match fs::create_dir(folder) {
        Err(e) if e.kind() != io::ErrorKind::AlreadyExists => return Err(e),
        _ => {}
    }
    small_file::sync_parent(folder)
}
