//! Codes tried: slowed down after wrong ones, and recorded.
//!
//! `attempts.json` is sealed by the tablet. A try is written down as failed before the
//! code is looked at, so that ending the program does not save anybody the wait.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::CodeError;
use crate::data::store::Tablet;
use crate::data::store::sealed::{self, SealedError};

const FILE: &str = "attempts.json";
const PURPOSE: &str = "trayzero attempts 1";

/// The longest wait after a wrong code, in milliseconds.
const WAIT_MS_MAX: i64 = 300_000;
/// How many tries are kept.
const KEPT_MAX: usize = 500;
/// What everybody starts with when the file was changed by hand.
const FAILURES_AFTER_FAULT: u32 = 5;

/// How a try ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum AttemptResult {
    Right,
    Wrong,
}

/// One try of a code.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Attempt {
    /// Wall clock, milliseconds since 1970 UTC.
    pub at_ms: i64,
    /// Whose code was tried.
    pub person: String,
    /// How it ended.
    pub outcome: AttemptResult,
}

#[derive(Clone, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Slowed {
    failures: u32,
    last_ms: i64,
}

#[derive(Clone, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct AttemptsFile {
    slowed: BTreeMap<String, Slowed>,
    attempts: Vec<Attempt>,
}

#[derive(Debug)]
pub(super) struct Attempts {
    path: PathBuf,
    kept: AttemptsFile,
    /// The file did not hold, so nobody starts with a clean sheet.
    was_changed: bool,
}

/// Begins with a clean sheet: for a tablet that gets its crew from a backup.
pub(crate) fn begin_anew(root: &Path, tablet: &Tablet) -> Result<(), SealedError> {
    sealed::write(&root.join(FILE), PURPOSE, &AttemptsFile::default(), tablet)
}

impl Attempts {
    /// Reads the tries kept. The second value is what is wrong with the file.
    pub fn read(root: &Path, tablet: &Tablet, crew_exists: bool) -> (Self, Option<String>) {
        let path = root.join(FILE);
        let (kept, fault) = match sealed::read::<AttemptsFile>(&path, PURPOSE) {
            Ok(Some(read)) if read.key == tablet.public_key() => (read.payload, None),
            Ok(Some(_)) => (
                AttemptsFile::default(),
                Some("sealed by another tablet".to_owned()),
            ),
            Ok(None) if crew_exists => (AttemptsFile::default(), Some("missing".to_owned())),
            Ok(None) => (AttemptsFile::default(), None),
            Err(error) => (AttemptsFile::default(), Some(error.to_string())),
        };
        let was_changed = fault.is_some();
        let fault = fault.map(|why| {
            format!(
                "{}: {why}; everybody's next try of a code has to wait longer",
                path.display()
            )
        });
        let attempts = Self {
            path,
            kept,
            was_changed,
        };
        (attempts, fault)
    }

    /// Makes sure that the file is there, with what is known.
    pub fn create_if_missing(&self, tablet: &Tablet) -> Result<(), CodeError> {
        if self.path.exists() {
            return Ok(());
        }
        self.write(tablet)
    }

    /// Milliseconds until a person may try again; 0 when now.
    pub fn wait_ms(&mut self, person: &str, now_ms: i64) -> i64 {
        if self.was_changed && !self.kept.slowed.contains_key(person) {
            let slowed = Slowed {
                failures: FAILURES_AFTER_FAULT,
                last_ms: now_ms,
            };
            self.kept.slowed.insert(person.to_owned(), slowed);
        }
        let Some(slowed) = self.kept.slowed.get_mut(person) else {
            return 0;
        };
        // A clock set back must not lock anybody out for as long.
        slowed.last_ms = slowed.last_ms.min(now_ms);
        (slowed.last_ms + wait_after(slowed.failures) - now_ms).max(0)
    }

    /// Writes a try down as failed, durably, before the code is looked at.
    pub fn begin(&mut self, person: &str, now_ms: i64, tablet: &Tablet) -> Result<(), CodeError> {
        let slowed = self.kept.slowed.entry(person.to_owned()).or_default();
        slowed.failures = slowed.failures.saturating_add(1);
        slowed.last_ms = now_ms;
        self.kept.attempts.push(Attempt {
            at_ms: now_ms,
            person: person.to_owned(),
            outcome: AttemptResult::Wrong,
        });
        let surplus = self.kept.attempts.len().saturating_sub(KEPT_MAX);
        self.kept.attempts.drain(..surplus);
        self.write(tablet)
    }

    /// The code was right after all: the try counts as such and the wait is over.
    pub fn was_right(&mut self, person: &str, tablet: &Tablet) -> Result<(), CodeError> {
        if let Some(slowed) = self.kept.slowed.get_mut(person) {
            slowed.failures = 0;
        }
        if let Some(last) = self.kept.attempts.last_mut() {
            last.outcome = AttemptResult::Right;
        }
        self.write(tablet)
    }

    /// The tries kept, oldest first.
    pub fn all(&self) -> &[Attempt] {
        &self.kept.attempts
    }

    fn write(&self, tablet: &Tablet) -> Result<(), CodeError> {
        Ok(sealed::write(&self.path, PURPOSE, &self.kept, tablet)?)
    }
}

/// The wait after so many wrong codes in a row: 1 s, doubled each time, up to 5 minutes.
pub(super) fn wait_after(failures: u32) -> i64 {
    match failures {
        0 => 0,
        n => (1_000_i64 << (n - 1).min(20)).min(WAIT_MS_MAX),
    }
}

#[cfg(test)]
mod tests {
    use super::wait_after;

    #[test]
    fn the_wait_doubles_up_to_five_minutes() {
        let waits: Vec<i64> = (0..=10).map(|n| wait_after(n) / 1_000).collect();
        assert_eq!(waits, [0, 1, 2, 4, 8, 16, 32, 64, 128, 256, 300]);
        assert_eq!(wait_after(u32::MAX), 300_000);
    }
}
