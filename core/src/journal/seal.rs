//! Seals: a tablet's ed25519 signature over the link before the line.
//!
//! One signature vouches for every line above it, since the links carry it back. So
//! reading a long journal checks a hash a line and a signature only where one stands.

use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};
use uuid::Uuid;

use super::link::{from_hex, to_hex};
use super::{JournalWhy, Link};
use crate::job::{Entry, Event, Seal};

/// A seal as it stands in a journal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SealAt {
    /// Its line, counted from 1.
    pub line: u64,
    /// Its event.
    pub id: Uuid,
    /// The link before it, which it signs.
    pub over: Link,
    /// Key and signature.
    pub seal: Seal,
}

impl SealAt {
    /// The seal that an entry on this line is; `None` for any other entry.
    pub fn of(entry: &Entry, line: u64, over: Link) -> Option<SealAt> {
        let Event::Sealed(seal) = &entry.event else {
            return None;
        };
        Some(SealAt {
            line,
            id: entry.id,
            over,
            seal: (**seal).clone(),
        })
    }
}

/// What the seals of a journal are worth.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SealReport {
    /// Seals that hold.
    pub good: u64,
    /// Line of the last seal that holds; it vouches for all lines above.
    pub last_good_line: Option<u64>,
    /// Seals that do not: line and reason.
    pub bad: Vec<(u64, JournalWhy)>,
    /// Keys met, in the order met; more than one is for the foreman to look at.
    pub keys: Vec<String>,
}

impl SealReport {
    /// Weighs one more seal. `pinned` is the key that the tablet is known by.
    pub fn weigh(&mut self, at: &SealAt, pinned: Option<&str>) {
        if !self.keys.contains(&at.seal.key) {
            self.keys.push(at.seal.key.clone());
        }
        let known = pinned.or(self.keys.first().map(String::as_str));
        let verdict = if known.is_some_and(|key| key != at.seal.key) {
            Err(JournalWhy::OtherKey)
        } else {
            seal_holds(&at.seal, at.over)
        };
        match verdict {
            Ok(()) => {
                self.good += 1;
                self.last_good_line = Some(at.line);
            }
            Err(why) => self.bad.push((at.line, why)),
        }
    }
}

/// Signs a link with a tablet's key.
pub fn seal_over(link: Link, key: &SigningKey) -> Seal {
    Seal {
        key: to_hex(key.verifying_key().as_bytes()),
        signature: to_hex(&key.sign(&link.0).to_bytes()),
    }
}

/// Whether a seal is its own key's signature over the link.
///
/// # Errors
/// Why it is not.
pub fn seal_holds(seal: &Seal, over: Link) -> Result<(), JournalWhy> {
    let key = from_hex::<32>(seal.key.as_bytes())
        .and_then(|bytes| VerifyingKey::from_bytes(&bytes).ok())
        .ok_or(JournalWhy::NoKey)?;
    let signature = from_hex::<64>(seal.signature.as_bytes())
        .map(|bytes| Signature::from_bytes(&bytes))
        .ok_or(JournalWhy::NoSignature)?;
    key.verify_strict(&over.0, &signature)
        .map_err(|_| JournalWhy::OtherLine)
}
