//! The layouts of this tablet: those that come with the program and the shop's own
//! files in the user's folder.
//!
//! Files are read and never written here. A faulty one is listed with its faults and
//! left alone.

use std::ffi::OsStr;
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use thiserror::Error;
use trayzero_core::engine::{LAYOUT_BYTES_MAX, Layout, LayoutFault, shipped};

use crate::data::store::AnyFault;

/// The most files that are read from the user's folder.
pub const OWN_FILES_MAX: usize = 500;

/// Where a layout comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Origin {
    /// It comes with the program.
    Shipped,
    /// It is a file of the shop's own.
    Own(PathBuf),
    /// It came from another tablet of the shop.
    Shop(PathBuf),
}

/// Who made a layout, where and when.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LayoutMade {
    /// The name of its version.
    pub version: String,
    /// Whether it was made on this tablet.
    pub is_own: bool,
    /// The tablet's name then.
    pub tablet: String,
    /// Who, as they said; empty where nobody said.
    pub who: String,
    /// Wall clock in milliseconds.
    pub at_ms: i64,
    /// Its offset from UTC in minutes.
    pub offset_min: i16,
    /// Others that were made apart from the same one: who, the tablet, and when (wall clock in
    /// milliseconds).
    pub apart: Vec<(String, String, i64)>,
}

/// One layout that may be picked for a job.
#[derive(Clone, Debug, PartialEq)]
pub struct LibraryEntry {
    /// Its key, unique in the library: the shipped one's, or `own/` and the file's name
    /// without the ending.
    pub key: String,
    /// Where it comes from.
    pub origin: Origin,
    /// The checked layout.
    pub layout: Layout,
    /// Who made it, where that is known.
    pub made: Option<LayoutMade>,
}

/// Every layout of this tablet, and what kept others out.
#[derive(Debug, Default)]
pub struct LayoutLibrary {
    /// The shop's own in order of their file names, then the shipped ones.
    pub entries: Vec<LibraryEntry>,
    /// Own files and layouts of the shop in whose place a later one has come.
    pub replaced: Vec<LibraryEntry>,
    /// Layouts of the shop that are not offered here, for somebody has removed them here.
    pub removed: Vec<LibraryEntry>,
    /// Versions of the shop that do not hold.
    pub unread: Vec<AnyFault>,
    /// Files that are no good layouts, in order of their names.
    pub faulty: Vec<LayoutFileError>,
    /// Why the user's folder could not be read, if it could not.
    pub folder_fault: Option<FolderFault>,
}

impl LayoutLibrary {
    /// The entry of that key.
    pub fn find(&self, key: &str) -> Option<&LibraryEntry> {
        self.entries.iter().find(|e| e.key == key)
    }

    /// Who made a layout, where one that says the same is here and that is known.
    pub fn made(&self, layout: &Layout) -> Option<&LayoutMade> {
        let all = self.entries.iter().chain(&self.replaced);
        let same = all.chain(&self.removed).filter(|e| e.layout == *layout);
        let mut same: Vec<&LibraryEntry> = same.collect();
        // One that is shipped or an own file of nobody's needs no other word.
        if same.iter().any(|entry| entry.made.is_none()) {
            return None;
        }
        same.pop()?.made.as_ref()
    }
}

/// Why a folder of layouts could not be read, or not all of it.
#[derive(Debug, Error)]
pub enum FolderFault {
    /// The folder cannot be listed.
    #[error("the layouts folder {} cannot be read: {source}", folder.display())]
    Unreadable {
        /// The folder.
        folder: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// The folder has too many files.
    #[error(
        "the layouts folder {} has {files} layout files; only the first {OWN_FILES_MAX} by name are read",
        folder.display()
    )]
    TooMany {
        /// The folder.
        folder: PathBuf,
        /// How many there are.
        files: usize,
    },
}

/// Why a file gives no layout.
#[derive(Debug, Error)]
pub enum LayoutFileError {
    /// Nothing of that name can be opened or read.
    #[error("{} cannot be read: {source}", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// The name belongs to a folder, a pipe or the like.
    #[error("{} is no file", path.display())]
    NoFile {
        /// What was named.
        path: PathBuf,
    },
    /// The file is larger than any layout; it was not read.
    #[error(
        "{} has {bytes} bytes; a layout has at most {LAYOUT_BYTES_MAX}. It was not read",
        path.display()
    )]
    TooLarge {
        /// The file.
        path: PathBuf,
        /// Its size in bytes.
        bytes: u64,
    },
    /// The file breaks rules of a layout.
    #[error("{} is no good layout: {}", path.display(), faults_in_words(faults))]
    Faulty {
        /// The file.
        path: PathBuf,
        /// Every fault of it; never empty.
        faults: Vec<LayoutFault>,
    },
}

impl LayoutFileError {
    /// The file that it is about.
    pub fn path(&self) -> &Path {
        match self {
            Self::Unreadable { path, .. }
            | Self::NoFile { path }
            | Self::TooLarge { path, .. }
            | Self::Faulty { path, .. } => path,
        }
    }
}

fn faults_in_words(faults: &[LayoutFault]) -> String {
    let lines: Vec<String> = faults.iter().map(LayoutFault::to_string).collect();
    match lines.as_slice() {
        [only] => only.clone(),
        _ => format!("{} faults\n{}", lines.len(), lines.join("\n")),
    }
}

/// Reads one layout file. Of a file larger than a layout may be nothing is looked at.
///
/// # Errors
/// [`LayoutFileError`], which names the file.
pub fn read_file(path: &Path) -> Result<Layout, LayoutFileError> {
    let unreadable = |source| LayoutFileError::Unreadable {
        path: path.to_owned(),
        source,
    };
    // Opening a pipe would wait for a writer, so its kind is asked for first.
    let metadata = fs::metadata(path).map_err(unreadable)?;
    if !metadata.is_file() {
        return Err(LayoutFileError::NoFile {
            path: path.to_owned(),
        });
    }
    let mut bytes = Vec::new();
    let limit = LAYOUT_BYTES_MAX as u64 + 1;
    File::open(path)
        .and_then(|file| file.take(limit).read_to_end(&mut bytes))
        .map_err(unreadable)?;
    if bytes.len() > LAYOUT_BYTES_MAX {
        return Err(LayoutFileError::TooLarge {
            path: path.to_owned(),
            // The file may have grown since.
            bytes: metadata.len().max(bytes.len() as u64),
        });
    }
    let name = path.display().to_string();
    Layout::from_json(&name, &bytes).map_err(|faults| LayoutFileError::Faulty {
        path: path.to_owned(),
        faults,
    })
}

/// Gathers the shipped layouts and every `*.json` of the user's folder. A folder that
/// does not exist holds none.
pub fn library(user_folder: &Path) -> LayoutLibrary {
    let mut library = LayoutLibrary::default();
    add_own(user_folder, &mut library);
    add_shipped(&mut library);
    library
}

fn add_shipped(library: &mut LayoutLibrary) {
    for one in shipped() {
        match Layout::from_json(one.key, one.json.as_bytes()) {
            Ok(layout) => library.entries.push(LibraryEntry {
                key: one.key.to_owned(),
                origin: Origin::Shipped,
                layout,
                made: None,
            }),
            Err(faults) => library.faulty.push(LayoutFileError::Faulty {
                path: PathBuf::from(one.key),
                faults,
            }),
        }
    }
}

fn add_own(folder: &Path, library: &mut LayoutLibrary) {
    let mut paths = match own_files(folder) {
        Ok(paths) => paths,
        Err(source) if source.kind() == io::ErrorKind::NotFound => return,
        Err(source) => {
            library.folder_fault = Some(FolderFault::Unreadable {
                folder: folder.to_owned(),
                source,
            });
            return;
        }
    };
    paths.sort();
    if paths.len() > OWN_FILES_MAX {
        library.folder_fault = Some(FolderFault::TooMany {
            folder: folder.to_owned(),
            files: paths.len(),
        });
        paths.truncate(OWN_FILES_MAX);
    }
    for path in paths {
        match read_file(&path) {
            Ok(layout) => library.entries.push(LibraryEntry {
                key: own_key(&path),
                origin: Origin::Own(path),
                layout,
                made: None,
            }),
            Err(error) => library.faulty.push(error),
        }
    }
}

fn own_files(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut paths = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.extension() == Some(OsStr::new("json")) {
            paths.push(path);
        }
    }
    Ok(paths)
}

fn own_key(path: &Path) -> String {
    let stem = path.file_stem().unwrap_or_default();
    format!("own/{}", stem.to_string_lossy())
}
