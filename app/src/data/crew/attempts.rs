//! Codes tried: slowed down after wrong ones, and recorded.
//!
//! `attempts.json` is sealed by the tablet. A try is written down as failed before the
//! code is looked at, so that ending the program does not save anybody the wait. Tries are
//! counted in `tries.json` as well, so that an old sheet put back does not either; and the
//! wait runs by the time that the program is up, which no clock on the wall can turn. After
//! a start it begins anew. (Short codes and limits of tries: NIST SP 800-63B, from memory.)

use std::collections::BTreeMap;
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Instant;

use serde::{Deserialize, Serialize};

use super::{CodeError, CrewFault, WhyFaulty};
use crate::data::store::Tablet;
use crate::data::store::sealed::{self, SealedError};

const FILE: &str = "attempts.json";
const PURPOSE: &str = "trayzero attempts 1";
const TRIES: &str = "tries.json";
const TRIES_PURPOSE: &str = "trayzero tries 1";

/// The longest wait after some wrong codes in a row, in milliseconds.
const WAIT_MS_MAX: i64 = 300_000;
/// After so many in a row each further one costs an hour, and after more of them a day.
const HOUR_AFTER: u32 = 20;
const DAY_AFTER: u32 = 100;
const HOUR_MS: i64 = 3_600_000;
/// How many tries are kept.
const KEPT_MAX: usize = 500;
/// What everybody starts with when the file was changed by hand: five minutes' wait.
const FAILURES_AFTER_FAULT: u32 = 10;

/// How long the program has been up, in milliseconds. No clock on the wall moves it.
#[derive(Clone)]
pub struct Uptime(Arc<dyn Fn() -> i64 + Send + Sync>);

impl Uptime {
    /// The real one, from now on.
    pub fn since_now() -> Self {
        let begun = Instant::now();
        Self::by(move || i64::try_from(begun.elapsed().as_millis()).unwrap_or(i64::MAX))
    }

    /// One that is told.
    pub fn by(ms: impl Fn() -> i64 + Send + Sync + 'static) -> Self {
        Self(Arc::new(ms))
    }

    fn ms(&self) -> i64 {
        (self.0)()
    }
}

impl fmt::Debug for Uptime {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Uptime({} ms)", self.ms())
    }
}

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
    /// Writes of this file; `tries.json` has the same figure.
    #[serde(default)]
    serial: u64,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Tries {
    serial: u64,
}

#[derive(Debug)]
pub(super) struct Attempts {
    path: PathBuf,
    kept: AttemptsFile,
    /// The file did not hold, so nobody starts with a clean sheet.
    was_changed: bool,
    uptime: Uptime,
    opened_ms: i64,
    /// When the last code was tried here, by the uptime.
    tried_ms: BTreeMap<String, i64>,
}

/// Begins with a clean sheet: for a tablet that gets its crew from a backup.
pub(crate) fn begin_anew(root: &Path, tablet: &Tablet) -> Result<(), SealedError> {
    sealed::write(&root.join(TRIES), TRIES_PURPOSE, &Tries::default(), tablet)?;
    sealed::write(&root.join(FILE), PURPOSE, &AttemptsFile::default(), tablet)
}

impl Attempts {
    /// Reads the tries kept. The second value is what is wrong with the file.
    pub fn read(
        root: &Path,
        tablet: &Tablet,
        crew_exists: bool,
        uptime: Uptime,
    ) -> (Self, Option<CrewFault>) {
        let path = root.join(FILE);
        let faulty = |why| (AttemptsFile::default(), Some(CrewFault::of(&path, why)));
        let (kept, fault) = match sealed::read::<AttemptsFile>(&path, PURPOSE) {
            Ok(Some(read)) if read.key == tablet.public_key() => (read.payload, None),
            Ok(Some(_)) => faulty(WhyFaulty::OtherSeal),
            Ok(None) if crew_exists => faulty(WhyFaulty::Missing),
            Ok(None) => (AttemptsFile::default(), None),
            Err(error) => (AttemptsFile::default(), Some(error.into())),
        };
        let fault = fault.or_else(|| {
            let tries = sealed::read::<Tries>(&root.join(TRIES), TRIES_PURPOSE);
            let tries = tries
                .ok()
                .flatten()
                .filter(|t| t.key == tablet.public_key());
            let is_same = match tries {
                Some(tries) => tries.payload.serial == kept.serial,
                None => kept.serial == 0,
            };
            (!is_same).then(|| CrewFault::of(&path, WhyFaulty::NotTheLast))
        });
        let was_changed = fault.is_some();
        let attempts = Self {
            path,
            kept,
            was_changed,
            opened_ms: uptime.ms(),
            uptime,
            tried_ms: BTreeMap::new(),
        };
        (attempts, fault)
    }

    pub fn uptime(&self) -> Uptime {
        self.uptime.clone()
    }

    /// Makes sure that the file is there, with what is known.
    pub fn create_if_missing(&mut self, tablet: &Tablet) -> Result<(), CodeError> {
        if self.path.exists() {
            return Ok(());
        }
        self.write(tablet)
    }

    /// Milliseconds until a person may try again; 0 when now.
    pub fn wait_ms(&mut self, person: &str) -> i64 {
        if self.was_changed && !self.tried_ms.contains_key(person) {
            let slowed = self.kept.slowed.entry(person.to_owned()).or_default();
            slowed.failures = slowed.failures.max(FAILURES_AFTER_FAULT);
        }
        let Some(slowed) = self.kept.slowed.get(person) else {
            return 0;
        };
        let since = self.tried_ms.get(person).copied().unwrap_or(self.opened_ms);
        (since + wait_after(slowed.failures) - self.uptime.ms()).max(0)
    }

    /// A person has a new code: what was tried on the old one says nothing about it.
    pub fn forget(&mut self, person: &str, tablet: &Tablet) -> Result<(), CodeError> {
        if self.kept.slowed.remove(person).is_none() {
            return Ok(());
        }
        self.tried_ms.insert(person.to_owned(), self.uptime.ms());
        self.write(tablet)
    }

    /// Writes a try down as failed, durably, before the code is looked at.
    pub fn begin(&mut self, person: &str, now_ms: i64, tablet: &Tablet) -> Result<(), CodeError> {
        let slowed = self.kept.slowed.entry(person.to_owned()).or_default();
        slowed.failures = slowed.failures.saturating_add(1);
        slowed.last_ms = now_ms;
        self.tried_ms.insert(person.to_owned(), self.uptime.ms());
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

    fn write(&mut self, tablet: &Tablet) -> Result<(), CodeError> {
        self.kept.serial += 1;
        let tries = Tries {
            serial: self.kept.serial,
        };
        let path = self.path.with_file_name(TRIES);
        sealed::write(&path, TRIES_PURPOSE, &tries, tablet)?;
        Ok(sealed::write(&self.path, PURPOSE, &self.kept, tablet)?)
    }
}

/// The wait after so many wrong codes in a row: 1 s, doubled each time, up to 5 minutes;
/// an hour after many, a day after very many.
pub(super) fn wait_after(failures: u32) -> i64 {
    match failures {
        0 => 0,
        DAY_AFTER.. => 24 * HOUR_MS,
        HOUR_AFTER.. => HOUR_MS,
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
        assert_eq!((wait_after(19), wait_after(20)), (300_000, 3_600_000));
        assert_eq!(wait_after(u32::MAX), 86_400_000);
    }
}
