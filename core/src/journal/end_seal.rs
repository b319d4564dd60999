//! The seal beside a journal: how far its own tablet has signed it, in a small file.
//!
//! A seal within the journal is a line, and costs a line and a wait for the disk; so it
//! stands only where a person has signed. The seal beside it is written anew with every
//! push of new lines to the shop, by the thread that pushes: no tap waits for it, and no
//! journal grows. It signs the same thing, the link of a line, and so vouches for that
//! line and all before it.
//!
//! `<tablet>.seal` beside `<tablet>.jsonl`, one line of JSON:
//! ```text
//! {"format":1,"job":"<uuid>","tablet":"<uuid>","bytes":4711,"end":"<64 hex digits>","key":"…","signature":"…"}
//! ```
//! `bytes` says where the line ends; it needs no signature, for a link stands at one place
//! alone. The job and the tablet are in the journal's header, which the link covers.

use std::io;
use std::path::{Path, PathBuf};

use ed25519_dalek::SigningKey;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::folder::job_path;
use super::reader::read_plain;
use super::{JournalWhy, Link, seal_holds, seal_over};
use crate::job::Seal;

const FORMAT: u32 = 1;
/// More than such a file ever has.
const BYTES_MAX: u64 = 2 << 10;

/// A tablet's signature up to a place in its journal.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EndSeal {
    format: u32,
    /// The job.
    pub job: Uuid,
    /// The tablet that writes the journal.
    pub tablet: Uuid,
    /// Where the last line that is sealed ends.
    pub bytes: u64,
    end: String,
    key: String,
    signature: String,
}

impl EndSeal {
    /// Signs a journal up to the line with this link, which ends at `bytes`.
    pub fn over(job: Uuid, tablet: Uuid, bytes: u64, link: Link, key: &SigningKey) -> Self {
        Self::of(job, tablet, bytes, link, &seal_over(link, key))
    }

    /// The same of a seal that stands within the journal, right after that line.
    pub fn of(job: Uuid, tablet: Uuid, bytes: u64, link: Link, seal: &Seal) -> Self {
        Self {
            format: FORMAT,
            job,
            tablet,
            bytes,
            end: link.to_string(),
            key: seal.key.clone(),
            signature: seal.signature.clone(),
        }
    }

    /// Its file in a data folder or a shop folder.
    pub fn path(root: &Path, job: Uuid, tablet: Uuid) -> PathBuf {
        job_path(root, job).join(format!("{tablet}.seal"))
    }

    /// The key that it was made with, 64 hex digits.
    pub fn key(&self) -> &str {
        &self.key
    }

    /// The link of the last line that it signs, if the signature holds and is for this
    /// job and tablet.
    ///
    /// # Errors
    /// Why it does not hold.
    pub fn link(&self, job: Uuid, tablet: Uuid) -> Result<Link, JournalWhy> {
        if self.format != FORMAT {
            return Err(JournalWhy::OtherFormat(self.format));
        }
        if (self.job, self.tablet) != (job, tablet) {
            return Err(JournalWhy::OtherJournal);
        }
        let link = Link::from_hex(&self.end).ok_or(JournalWhy::EndIsNoLink)?;
        let seal = Seal {
            key: self.key.clone(),
            signature: self.signature.clone(),
        };
        seal_holds(&seal, link)?;
        Ok(link)
    }

    /// The bytes of its file.
    pub fn to_bytes(&self) -> Vec<u8> {
        // Plain texts and figures always serialise.
        let mut text = serde_json::to_vec(self).unwrap_or_default();
        text.push(b'\n');
        text
    }

    /// Reads the seal beside a journal in a data folder or a shop folder; `None` if there is
    /// none.
    ///
    /// # Errors
    /// What the system says, or that it is no such file.
    pub fn read(root: &Path, job: Uuid, tablet: Uuid) -> io::Result<Option<Self>> {
        Self::beside(&Self::path(root, job, tablet))
    }

    /// Reads the seal beside a journal that lies anywhere.
    ///
    /// # Errors
    /// As [`EndSeal::read`].
    pub fn beside(journal: &Path) -> io::Result<Option<Self>> {
        match read_plain(&journal.with_extension("seal"), 0, BYTES_MAX) {
            Ok(text) => Self::from_bytes(&text).map(Some),
            Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(e) => Err(e),
        }
    }

    /// Reads the bytes of such a file.
    ///
    /// # Errors
    /// That they are none.
    pub fn from_bytes(text: &[u8]) -> io::Result<Self> {
        serde_json::from_slice(text).map_err(Into::into)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const JOB: Uuid = Uuid::from_u128(1);
    const TABLET: Uuid = Uuid::from_u128(2);

    #[test]
    fn a_seal_beside_a_journal_is_for_that_journal_and_that_line_alone() {
        let key = SigningKey::from_bytes(&[3; 32]);
        let link = Link([9; 32]);
        let seal = EndSeal::over(JOB, TABLET, 100, link, &key);
        assert_eq!(seal.link(JOB, TABLET), Ok(link));
        assert!(seal.link(TABLET, TABLET).is_err());
        assert!(seal.link(JOB, JOB).is_err());
        let other = EndSeal {
            end: Link([8; 32]).to_string(),
            ..seal.clone()
        };
        assert_eq!(other.link(JOB, TABLET), Err(JournalWhy::OtherLine));
        let root = tempfile::tempdir().unwrap();
        std::fs::create_dir_all(job_path(root.path(), JOB)).unwrap();
        assert_eq!(EndSeal::read(root.path(), JOB, TABLET).unwrap(), None);
        let path = EndSeal::path(root.path(), JOB, TABLET);
        std::fs::write(&path, seal.to_bytes()).unwrap();
        assert_eq!(EndSeal::read(root.path(), JOB, TABLET).unwrap(), Some(seal));
        std::fs::write(&path, "{}").unwrap();
        assert!(EndSeal::read(root.path(), JOB, TABLET).is_err());
    }
}
