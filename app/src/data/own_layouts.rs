//! Keeping the shop's own layouts: saving, reading a file in, writing one out.
//!
//! A file is written whole or not at all. A key of a shipped layout is never taken, and
//! a file that is not the one being edited is never written over.

use std::path::{Path, PathBuf};

use thiserror::Error;
use trayzero_core::engine::{Layout, LayoutFault, shipped};

use crate::data::layouts::{LayoutFileError, read_file};
use crate::data::store::small_file::{self, Readers};
use crate::data::store::{Doing, FileError};

/// The longest name of a layout's file, in characters, its ending left out.
pub const STEM_MAX: usize = 80;
/// How many numbered names are tried before a name counts as taken.
const NUMBERED_MAX: usize = 1_000;

/// Why a layout was not kept, read in or written out.
#[derive(Debug, Error)]
pub enum OwnLayoutError {
    /// The text cannot name a file.
    #[error(
        "\"{0}\" cannot name a layout file: 1 to {STEM_MAX} characters, none of / \\ : * ? \" < > |, no dot in front"
    )]
    BadName(String),
    /// A layout that comes with the program has that name.
    #[error("\"{0}\" is the name of a layout that comes with the program; take another one")]
    Shipped(String),
    /// Every numbered form of the name is in use.
    #[error("every name like \"{0}\" is in use in the layouts folder")]
    NoFreeName(String),
    /// The layout has faults.
    #[error("{name} has {count} faults, the first: {first}")]
    Faulty {
        /// Its name.
        name: String,
        /// How many.
        count: usize,
        /// The first.
        first: Box<LayoutFault>,
    },
    /// The file to be read in is no good layout.
    #[error(transparent)]
    Unread(#[from] LayoutFileError),
    /// There is a file of that name already.
    #[error("{} is there already; nothing was written over. Name another file", .0.display())]
    Exists(PathBuf),
    /// No file was named.
    #[error("no file is named")]
    NoPath,
    /// The disk did not take it.
    #[error(transparent)]
    Disk(#[from] FileError),
}

/// A file name for a layout's name: small letters, figures, hyphens.
pub fn stem_of(name: &str) -> String {
    let mut stem = String::new();
    for c in name.chars().flat_map(char::to_lowercase) {
        if c.is_alphanumeric() {
            stem.push(c);
        } else if !stem.is_empty() && !stem.ends_with('-') {
            stem.push('-');
        }
    }
    let stem: String = stem.chars().take(60).collect();
    let stem = stem.trim_end_matches('-');
    if stem.is_empty() { "engine" } else { stem }.to_owned()
}

/// A file name for a layout's name that no file of the folder and no shipped layout has.
///
/// # Errors
/// [`OwnLayoutError::NoFreeName`].
pub fn free_stem(folder: &Path, name: &str) -> Result<String, OwnLayoutError> {
    let stem = stem_of(name);
    let is_free = |s: &String| !is_shipped(s) && !file_of(folder, s).exists();
    let numbered = (2..NUMBERED_MAX).map(|n| format!("{stem}-{n}"));
    std::iter::once(stem.clone())
        .chain(numbered)
        .find(is_free)
        .ok_or(OwnLayoutError::NoFreeName(stem))
}

fn is_shipped(stem: &str) -> bool {
    shipped().iter().any(|s| s.key.eq_ignore_ascii_case(stem))
}

/// The file of a layout in the folder.
pub fn file_of(folder: &Path, stem: &str) -> PathBuf {
    folder.join(format!("{stem}.json"))
}

fn check_stem(stem: &str) -> Result<(), OwnLayoutError> {
    let is_bad = |c: char| c.is_control() || "/\\:*?\"<>|".contains(c);
    let chars = stem.chars().count();
    let good = (1..=STEM_MAX).contains(&chars)
        && stem.trim() == stem
        && !stem.starts_with('.')
        && !stem.chars().any(is_bad);
    if !good {
        let shown = stem.chars().take(STEM_MAX).collect();
        return Err(OwnLayoutError::BadName(shown));
    }
    if is_shipped(stem) {
        return Err(OwnLayoutError::Shipped(stem.to_owned()));
    }
    Ok(())
}

fn checked_text(path: &Path, layout: &Layout) -> Result<String, OwnLayoutError> {
    let faults = layout.faults(&path.display().to_string());
    if let Some(first) = faults.first() {
        return Err(OwnLayoutError::Faulty {
            name: layout.name.clone(),
            count: faults.len(),
            first: Box::new(first.clone()),
        });
    }
    layout
        .to_json_pretty()
        .map_err(|e| FileError::of(path, Doing::Writing, e.into()).into())
}

/// Keeps a layout in the folder under a file name; the file of that name is replaced.
/// Gives the file.
///
/// # Errors
/// [`OwnLayoutError`]; the old file is still there then.
pub fn save(folder: &Path, stem: &str, layout: &Layout) -> Result<PathBuf, OwnLayoutError> {
    check_stem(stem)?;
    let path = file_of(folder, stem);
    let text = checked_text(&path, layout)?;
    small_file::write(&path, text.as_bytes(), Readers::Usual)?;
    Ok(path)
}

/// Reads a layout file from anywhere into the folder, under a name that is free. Gives
/// the new file.
///
/// # Errors
/// [`OwnLayoutError`]; nothing is written then.
pub fn import(folder: &Path, from: &str) -> Result<PathBuf, OwnLayoutError> {
    let from = from.trim();
    if from.is_empty() {
        return Err(OwnLayoutError::NoPath);
    }
    let from = Path::new(from);
    let layout = read_file(from)?;
    let name = from.file_stem().unwrap_or_default().to_string_lossy();
    let stem = free_stem(folder, &name)?;
    save(folder, &stem, &layout)
}

/// Writes a layout to a new file anywhere; a folder gets a file named after the layout.
/// Gives the file.
///
/// # Errors
/// [`OwnLayoutError`]; a file that is there already stays as it is.
pub fn export(to: &str, layout: &Layout) -> Result<PathBuf, OwnLayoutError> {
    let to = to.trim();
    if to.is_empty() {
        return Err(OwnLayoutError::NoPath);
    }
    let mut path = PathBuf::from(to);
    if path.is_dir() {
        path = file_of(&path, &stem_of(&layout.name));
    }
    if path.symlink_metadata().is_ok() {
        return Err(OwnLayoutError::Exists(path));
    }
    let text = checked_text(&path, layout)?;
    small_file::write(&path, text.as_bytes(), Readers::Usual)?;
    Ok(path)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::data::layouts::{Origin, library};

    fn engine() -> Layout {
        let one = shipped().iter().find(|s| s.key == "inline-3-12v").unwrap();
        Layout::from_json(one.key, one.json.as_bytes()).unwrap()
    }

    #[test]
    fn file_names_come_from_names() {
        assert_eq!(stem_of("Yard Pump, 2 cyl. "), "yard-pump-2-cyl");
        assert_eq!(stem_of("  Übungs-Motor"), "übungs-motor");
        assert_eq!(stem_of("../../etc"), "etc");
        assert_eq!(stem_of("..."), "engine");
    }

    #[test]
    fn a_saved_layout_is_in_the_library_and_may_be_saved_again() {
        let folder = tempfile::tempdir().unwrap();
        let mut layout = engine();
        layout.name = "Yard pump".to_owned();
        let stem = free_stem(folder.path(), &layout.name).unwrap();
        assert_eq!(stem, "yard-pump");
        let path = save(folder.path(), &stem, &layout).unwrap();
        layout.note = "Changed.".to_owned();
        save(folder.path(), &stem, &layout).unwrap();
        let found = library(folder.path());
        let own = found.find("own/yard-pump").unwrap();
        assert_eq!(own.origin, Origin::Own(path));
        assert_eq!(own.layout, layout);
        assert_eq!(
            free_stem(folder.path(), "Yard pump").unwrap(),
            "yard-pump-2"
        );
    }

    #[test]
    fn what_is_no_name_or_no_layout_is_not_kept() {
        let folder = tempfile::tempdir().unwrap();
        for bad in [
            "", "..", ".hidden", "a/b", "a\\b", "a:b", " a", "a\n", "con|",
        ] {
            let error = save(folder.path(), bad, &engine()).unwrap_err();
            assert!(
                matches!(error, OwnLayoutError::BadName(_)),
                "{bad:?}: {error}"
            );
        }
        let error = save(folder.path(), "inline-3-12v", &engine()).unwrap_err();
        assert!(matches!(error, OwnLayoutError::Shipped(_)), "{error}");
        let mut faulty = engine();
        faulty.bore_mm = 1.0;
        faulty.firing_order = vec![1, 1, 2];
        let error = save(folder.path(), "faulty", &faulty)
            .unwrap_err()
            .to_string();
        assert!(
            error.contains("faults") && error.contains("faulty.json"),
            "{error}"
        );
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
    }

    #[test]
    fn a_file_goes_out_and_comes_in_and_nothing_is_written_over() {
        let (own, other) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        let layout = engine();
        let to = other.path().to_string_lossy().into_owned();
        let out = export(&to, &layout).unwrap();
        assert_eq!(out.file_name().unwrap(), "inline-3-12-valves.json");
        let again = export(&to, &layout).unwrap_err();
        assert!(matches!(again, OwnLayoutError::Exists(_)), "{again}");
        let first = import(own.path(), &out.to_string_lossy()).unwrap();
        let second = import(own.path(), &out.to_string_lossy()).unwrap();
        assert_ne!(first, second, "the first is not written over");
        assert_eq!(read_file(&second).unwrap(), layout);
        let missing = import(own.path(), "/nowhere/at all.json").unwrap_err();
        assert!(missing.to_string().contains("at all.json"), "{missing}");
        assert!(import(own.path(), "  ").is_err());
        std::fs::write(&out, "{ \"format\": 1 }").unwrap();
        let faulty = import(own.path(), &out.to_string_lossy()).unwrap_err();
        assert!(faulty.to_string().contains("banks"), "{faulty}");
    }
}
