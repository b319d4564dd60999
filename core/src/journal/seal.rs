//! Seals: a tablet's ed25519 signature over the link before the line.
//!
//! One signature vouches for every line above it, since the links carry it back. So
//! reading a long journal checks a hash a line and a signature only where one stands.

use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};

use super::link::{from_hex, to_hex};
use super::{JournalWhy, Link};
use crate::job::{Entry, Event, Seal};

/// What the seals of a journal are worth.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SealReport {
    /// Seals that hold.
    pub good: u64,
    /// Seals that do not: line and reason.
    pub bad: Vec<(u64, JournalWhy)>,
    /// Keys met, in the order met; more than one is for the foreman to look at.
    pub keys: Vec<String>,
}

impl SealReport {
    /// Weighs the seal that an entry on this line is, with the link before it, which it signs.
    /// Any other entry is none. The first key met counts as the tablet's.
    pub fn weigh(&mut self, entry: &Entry, line: u64, over: Link) {
        let Event::Sealed(seal) = &entry.event else {
            return;
        };
        if !self.keys.contains(&seal.key) {
            self.keys.push(seal.key.clone());
        }
        let verdict = if self.keys[0] == seal.key {
            seal_holds(seal, over)
        } else {
            Err(JournalWhy::OtherKey)
        };
        match verdict {
            Ok(()) => self.good += 1,
            Err(why) => self.bad.push((line, why)),
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
    let key = from_hex::<32>(&seal.key)
        .and_then(|bytes| VerifyingKey::from_bytes(&bytes).ok())
        .ok_or(JournalWhy::NoKey)?;
    let signature = from_hex::<64>(&seal.signature)
        .map(|bytes| Signature::from_bytes(&bytes))
        .ok_or(JournalWhy::NoSignature)?;
    key.verify_strict(&over.0, &signature)
        .map_err(|_| JournalWhy::OtherLine)
}
