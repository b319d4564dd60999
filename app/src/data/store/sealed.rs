//! Small files closed with the tablet's signature, so that a change by hand shows.
//!
//! `{"payload":{…},"seal":{"key":"…","signature":"…"}}`: the signature is ed25519 over
//! the file's purpose, a newline and the payload as this program writes it. Purposes
//! keep a file of one kind from standing in for another.

use std::path::Path;

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use trayzero_core::job::Seal;
use trayzero_core::journal::{Link, seal_holds, seal_over};

use super::Tablet;
pub use super::error::SealedError;
use super::small_file::{self, Readers};

#[derive(Serialize)]
struct Out<'a, T> {
    payload: &'a T,
    seal: Seal,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct In<T> {
    payload: T,
    seal: Seal,
}

/// What a sealed file holds, and the key it was sealed with. Whose key it is, the
/// reader has to know.
#[derive(Clone, Debug, PartialEq)]
pub struct Unsealed<T> {
    /// What was sealed.
    pub payload: T,
    /// Public key of the seal, 64 hex digits.
    pub key: String,
}

/// What is signed: a hash over purpose and payload, in the shape of a link.
fn digest_of(purpose: &str, payload: &[u8]) -> Link {
    let hash = Sha256::new()
        .chain_update(purpose)
        .chain_update(b"\n")
        .chain_update(payload)
        .finalize();
    Link(hash.into())
}

/// Writes a sealed file, whole or not at all.
///
/// # Errors
/// [`SealedError`]; the old file is still there then.
pub fn write<T: Serialize>(
    path: &Path,
    purpose: &str,
    payload: &T,
    tablet: &Tablet,
) -> Result<(), SealedError> {
    write_for(Readers::Usual, path, purpose, payload, tablet)
}

/// The same unless it lies there as it should.
///
/// # Errors
/// As [`write()`].
pub fn keep<T: Serialize + DeserializeOwned + PartialEq>(
    path: &Path,
    purpose: &str,
    payload: &T,
    tablet: &Tablet,
) -> Result<(), SealedError> {
    match read::<T>(path, purpose) {
        Ok(Some(there)) if there.payload == *payload && there.key == tablet.public_key() => Ok(()),
        _ => write(path, purpose, payload, tablet),
    }
}

/// As [`write()`], with a say in who may read it.
///
/// # Errors
/// As [`write()`].
pub fn write_for<T: Serialize>(
    readers: Readers,
    path: &Path,
    purpose: &str,
    payload: &T,
    tablet: &Tablet,
) -> Result<(), SealedError> {
    let unwritable = |e: serde_json::Error| SealedError::Unreadable {
        path: path.to_owned(),
        why: e.to_string(),
    };
    let text = serde_json::to_vec(payload).map_err(unwritable)?;
    let out = Out {
        payload,
        seal: seal_over(digest_of(purpose, &text), tablet.key()),
    };
    let mut text = serde_json::to_vec_pretty(&out).map_err(unwritable)?;
    text.push(b'\n');
    Ok(small_file::write(path, &text, readers)?)
}

/// Reads a sealed file and checks its seal; `None` if there is no such file.
///
/// # Errors
/// [`SealedError`], which names the file.
pub fn read<T: Serialize + DeserializeOwned>(
    path: &Path,
    purpose: &str,
) -> Result<Option<Unsealed<T>>, SealedError> {
    let Some(bytes) = small_file::read(path)? else {
        return Ok(None);
    };
    let unreadable = |e: serde_json::Error| SealedError::Unreadable {
        path: path.to_owned(),
        why: e.to_string(),
    };
    let read: In<T> = serde_json::from_slice(&bytes).map_err(unreadable)?;
    let text = serde_json::to_vec(&read.payload).map_err(unreadable)?;
    seal_holds(&read.seal, digest_of(purpose, &text)).map_err(|why| SealedError::Changed {
        path: path.to_owned(),
        why: why.to_string(),
    })?;
    Ok(Some(Unsealed {
        payload: read.payload,
        key: read.seal.key,
    }))
}
