//! A person's own signature over the ends of all journals of a job, given when it is closed or
//! stopped.
//!
//! The event that closes a job is signed by itself, and stands in one journal. Whoever holds
//! the tablet could still leave another journal out later. So the person who closes signs, with
//! the same entering of the code, how far every journal went that the tablet knew then.
//!
//! `<tablet>.ends` beside `<tablet>.jsonl`, one line of JSON:
//! ```text
//! {"format":1,"job":"<uuid>","tablet":"<uuid>","at_ms":…,"ends":{"<tablet>":[4711,"<64 hex digits>"]},
//!  "by":{"<name>":{"key":"…","signature":"…"}}}
//! ```
//! An end is the length of a journal and the link of its last line. A person signs SHA-256 over
//! a purpose and everything but `by`, with the name.

use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};

use ed25519_dalek::SigningKey;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use thiserror::Error;
use uuid::Uuid;

use super::Shop;
use crate::job::{Person, Seal};
use crate::journal::{Link, job_path, seal_holds, seal_over};

const FORMAT: u32 = 1;
const PURPOSE: &[u8] = b"trayzero ends 1\n";

/// The largest such file, in bytes: a shop's tablets, and two people.
pub const ENDS_BYTES_MAX: u64 = 64 << 10;

/// Journals by their tablets: length in bytes, and the link of the last line, 64 hex digits.
pub type Ends = BTreeMap<Uuid, (u64, String)>;

/// The ends of a job's journals, signed by people.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SignedEnds {
    format: u32,
    /// The job.
    pub job: Uuid,
    /// The tablet that it was signed on.
    pub tablet: Uuid,
    /// When, by that tablet's clock, in milliseconds since 1970 UTC.
    pub at_ms: i64,
    /// How far each journal went.
    pub ends: Ends,
    by: BTreeMap<String, Seal>,
}

/// What a person signs.
#[derive(Serialize)]
struct Said<'a> {
    job: Uuid,
    tablet: Uuid,
    at_ms: i64,
    ends: &'a Ends,
    person: &'a str,
}

/// Why somebody has not signed the ends of a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum EndUnsigned {
    /// There is none.
    #[error("there is no signature of theirs")]
    Missing,
    /// Nobody knows them.
    #[error("nobody of that name is in the shop")]
    Unknown,
    /// The key was not theirs then.
    #[error("it is by no key that they had at the time")]
    OtherKey,
    /// It is over something else.
    #[error("the signature does not hold")]
    Broken,
}

impl SignedEnds {
    /// Signs the ends in the names of these people.
    pub fn sign(
        job: Uuid,
        tablet: Uuid,
        at_ms: i64,
        ends: Ends,
        people: &[(Person, SigningKey)],
    ) -> Self {
        let mut signed = Self {
            format: FORMAT,
            job,
            tablet,
            at_ms,
            ends,
            by: BTreeMap::new(),
        };
        for (person, key) in people {
            let seal = seal_over(signed.link_for(&person.0), key);
            signed.by.insert(person.to_string(), seal);
        }
        signed
    }

    /// Its file in a data folder.
    pub fn path(root: &Path, job: Uuid, tablet: Uuid) -> PathBuf {
        job_path(root, job).join(format!("{tablet}.ends"))
    }

    /// The bytes of its file.
    pub fn to_bytes(&self) -> Vec<u8> {
        // Plain texts and figures always serialise.
        let mut text = serde_json::to_vec(self).unwrap_or_default();
        text.push(b'\n');
        text
    }

    /// Reads the bytes of such a file.
    ///
    /// # Errors
    /// That they are none, or of a newer format.
    pub fn from_bytes(text: &[u8]) -> io::Result<Self> {
        let read: Self = serde_json::from_slice(text)?;
        if read.format != FORMAT {
            let why = format!("format {}; this program knows {FORMAT}", read.format);
            return Err(io::Error::other(why));
        }
        Ok(read)
    }

    /// Who is named as having signed it.
    pub fn people(&self) -> impl Iterator<Item = &str> {
        self.by.keys().map(String::as_str)
    }

    /// Whether somebody has signed it with a key of their own that counted then.
    ///
    /// # Errors
    /// Why not.
    pub fn is_signed_by(&self, person: &str, shop: &Shop) -> Result<(), EndUnsigned> {
        let seal = self.by.get(person).ok_or(EndUnsigned::Missing)?;
        let known = shop.people.get(person).ok_or(EndUnsigned::Unknown)?;
        let counts = known
            .keys
            .iter()
            .any(|key| key.key == seal.key && key.until_ms.is_none_or(|until| self.at_ms <= until));
        if !counts {
            return Err(EndUnsigned::OtherKey);
        }
        seal_holds(seal, self.link_for(person)).map_err(|_| EndUnsigned::Broken)
    }

    fn link_for(&self, person: &str) -> Link {
        let said = Said {
            job: self.job,
            tablet: self.tablet,
            at_ms: self.at_ms,
            ends: &self.ends,
            person,
        };
        let text = serde_json::to_vec(&said).unwrap_or_default();
        let hash = Sha256::new()
            .chain_update(PURPOSE)
            .chain_update(&text)
            .finalize();
        Link(hash.into())
    }
}
