//! What has been written into fields on this tablet, to be chosen again.
//!
//! `written.json` in the data folder: for each kind of field its texts, the latest first.
//! It is a help and no record: a file that does not hold is begun anew.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::store::small_file::{self, Readers};
use super::store::{Doing, FileError, ListedJob};
use trayzero_core::job::{Event, Opening};

/// The file's name in the data folder.
pub const WRITTEN_FILE: &str = "written.json";
/// The most texts of one kind.
const TEXTS_MAX: usize = 24;
/// The most characters of a text that is kept.
const CHARS_MAX: usize = 80;
/// The largest file that is read, in bytes.
const FILE_MAX: usize = 1 << 18;

/// Kinds of fields.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum Kind {
    Vehicle,
    Bay,
    Person,
    Note,
    Why,
    Complaint,
    FaultCode,
    AlsoSeen,
    Finding,
}

/// Texts by the kind of their field, the latest first.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Written {
    texts: BTreeMap<Kind, Vec<String>>,
    #[serde(skip)]
    is_changed: bool,
}

impl Written {
    /// Reads what a data folder has.
    pub fn read(root: &Path) -> Self {
        let read = small_file::read(&file(root)).ok().flatten();
        let small = read.filter(|bytes| bytes.len() <= FILE_MAX);
        let mut written: Self = small
            .and_then(|bytes| serde_json::from_slice(&bytes).ok())
            .unwrap_or_default();
        for texts in written.texts.values_mut() {
            texts.retain(|text| is_kept(text));
            texts.truncate(TEXTS_MAX);
        }
        written
    }

    /// Writes it, if there is anything new.
    ///
    /// # Errors
    /// [`FileError`]; the old file is still there then.
    pub fn write(&mut self, root: &Path) -> Result<(), FileError> {
        if !std::mem::take(&mut self.is_changed) {
            return Ok(());
        }
        let bytes = serde_json::to_vec(&*self)
            .map_err(|e| FileError::of(&file(root), Doing::Writing, e.into()))?;
        small_file::write(&file(root), &bytes, Readers::Usual)
    }

    /// What was written into a kind of field, the latest first.
    pub fn of(&self, kind: Kind) -> &[String] {
        self.texts.get(&kind).map_or(&[], Vec::as_slice)
    }

    /// A text was written.
    pub fn note(&mut self, kind: Kind, text: &str) {
        let text = text.trim();
        if !is_kept(text) || self.of(kind).first().is_some_and(|first| first == text) {
            return;
        }
        let texts = self.texts.entry(kind).or_default();
        texts.retain(|other| other != text);
        texts.insert(0, text.to_owned());
        texts.truncate(TEXTS_MAX);
        self.is_changed = true;
    }

    /// What the jobs at hand say; what was written here goes before it.
    pub fn add_jobs(&mut self, jobs: &[ListedJob]) {
        for job in jobs.iter().rev().take(4 * TEXTS_MAX) {
            let s = &job.summary;
            for (kind, text) in [
                (Kind::Vehicle, &s.vehicle),
                (Kind::Bay, &s.bay),
                (Kind::Person, &s.technician),
            ] {
                let texts = self.texts.entry(kind).or_default();
                if is_kept(text) && texts.len() < TEXTS_MAX && !texts.contains(text) {
                    texts.push(text.clone());
                }
            }
        }
    }

    /// A job was opened.
    pub fn note_opening(&mut self, opening: &Opening) {
        self.note(Kind::Vehicle, &opening.vehicle);
        self.note(Kind::Bay, &opening.bay);
        self.note(Kind::Person, &opening.technician.to_string());
    }

    /// Events were taken.
    pub fn note_events(&mut self, events: &[Event]) {
        for event in events {
            match event {
                Event::Noted { text } => self.note(Kind::Note, text),
                Event::Paused { why } => self.note(Kind::Why, why),
                Event::FindingNoted(finding) => self.note(Kind::Finding, &finding.text),
                Event::TakeInNoted(take_in) => {
                    self.note(Kind::Complaint, &take_in.complaint);
                    self.note(Kind::AlsoSeen, &take_in.seen);
                    for code in take_in.codes.iter().rev() {
                        self.note(Kind::FaultCode, code);
                    }
                }
                _ => {}
            }
        }
    }
}

fn file(root: &Path) -> PathBuf {
    root.join(WRITTEN_FILE)
}

/// Whether a text is short and plain enough to be offered on one key.
fn is_kept(text: &str) -> bool {
    !text.trim().is_empty()
        && text.chars().count() <= CHARS_MAX
        && !text.chars().any(char::is_control)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn the_latest_comes_first_once_and_is_read_again() {
        let root = tempfile::tempdir().unwrap();
        let mut written = Written::read(root.path());
        for text in ["one", "two", " one ", "", "a\nb"] {
            written.note(Kind::Note, text);
        }
        assert_eq!(written.of(Kind::Note), ["one", "two"]);
        assert_eq!(written.of(Kind::Why), [""; 0]);
        written.write(root.path()).unwrap();
        let again = Written::read(root.path());
        assert_eq!(again.of(Kind::Note), ["one", "two"]);
        for n in 0..100 {
            written.note(Kind::Note, &n.to_string());
        }
        assert_eq!(written.of(Kind::Note).len(), TEXTS_MAX);
    }

    #[test]
    fn a_file_that_does_not_hold_is_begun_anew() {
        let root = tempfile::tempdir().unwrap();
        std::fs::write(root.path().join(WRITTEN_FILE), "{ not json").unwrap();
        let mut written = Written::read(root.path());
        assert_eq!(written, Written::default());
        written.note(Kind::Bay, "Bay 3");
        written.write(root.path()).unwrap();
        assert_eq!(Written::read(root.path()).of(Kind::Bay), ["Bay 3"]);
    }
}
