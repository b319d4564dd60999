//! A person's key, locked by their code.
//!
//! The code goes through argon2id with a random salt; what comes out locks the secret half
//! of the key (ChaCha20-Poly1305, RFC 8439). Whoever has the locked form can try codes on
//! it, so it lies in the data folder alone and reaches another tablet only in a
//! [box](super::boxes) for that tablet.

use argon2::{Algorithm, Argon2, Params, Version};
use chacha20poly1305::aead::{Aead, KeyInit, Payload};
use chacha20poly1305::{ChaCha20Poly1305, Key, Nonce};
use ed25519_dalek::SigningKey;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use trayzero_core::journal::{Link, from_hex, to_hex};
use trayzero_core::shop_log::PersonKey;
use zeroize::Zeroizing;

use super::CodeError;
use super::code::{Code, CodeCost, MEMORY_KIB_MAX, PASSES_MAX};
use crate::data::store::random;

const PURPOSE: &[u8] = b"trayzero locked key 1";

/// The secret half of a person's key under their code.
#[derive(Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LockedKey {
    memory_kib: u32,
    passes: u32,
    /// 16 random bytes, hex.
    salt: String,
    /// 12 random bytes, hex.
    nonce: String,
    /// The secret half, encrypted, hex.
    secret: String,
}

impl std::fmt::Debug for LockedKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("LockedKey(…)")
    }
}

/// A new key for a person.
pub(super) fn new_key() -> Result<SigningKey, CodeError> {
    let secret = Zeroizing::new(random::<32>().map_err(|e| failed(&e))?);
    Ok(SigningKey::from_bytes(&secret))
}

impl LockedKey {
    /// Locks a key under a code.
    pub(super) fn lock(key: &SigningKey, code: &Code, cost: CodeCost) -> Result<Self, CodeError> {
        let (salt, nonce) = (
            random::<16>().map_err(|e| failed(&e))?,
            random::<12>().map_err(|e| failed(&e))?,
        );
        let mut locked = Self {
            memory_kib: cost.memory_kib,
            passes: cost.passes,
            salt: to_hex(&salt),
            nonce: to_hex(&nonce),
            secret: String::new(),
        };
        let secret = Zeroizing::new(key.to_bytes());
        let payload = Payload {
            msg: &*secret,
            aad: PURPOSE,
        };
        let cipher = locked.cipher(code)?;
        let sealed = cipher.encrypt(&Nonce::from(nonce), payload);
        locked.secret = to_hex(&sealed.map_err(|e| failed(&e))?);
        Ok(locked)
    }

    /// The key, if this is the code; `None` if it is not.
    pub(super) fn unlock(&self, code: &Code) -> Result<Option<SigningKey>, CodeError> {
        let bad = || failed(&"the locked key does not read");
        let nonce: [u8; 12] = from_hex(&self.nonce).ok_or_else(bad)?;
        let secret: [u8; 48] = from_hex(&self.secret).ok_or_else(bad)?;
        let payload = Payload {
            msg: &secret,
            aad: PURPOSE,
        };
        let Ok(opened) = self.cipher(code)?.decrypt(&Nonce::from(nonce), payload) else {
            return Ok(None);
        };
        let opened = Zeroizing::new(opened);
        let secret: &[u8; 32] = opened.as_slice().try_into().map_err(|_| bad())?;
        Ok(Some(SigningKey::from_bytes(secret)))
    }

    fn cipher(&self, code: &Code) -> Result<ChaCha20Poly1305, CodeError> {
        if self.memory_kib > MEMORY_KIB_MAX || self.passes > PASSES_MAX {
            return Err(failed(&"the locked key asks for too much work"));
        }
        let salt: [u8; 16] =
            from_hex(&self.salt).ok_or_else(|| failed(&"the locked key does not read"))?;
        let params =
            Params::new(self.memory_kib, self.passes, 1, Some(32)).map_err(|e| failed(&e))?;
        let mut key = Zeroizing::new([0_u8; 32]);
        Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
            .hash_password_into(code.bytes(), &salt, &mut *key)
            .map_err(|e| failed(&e))?;
        Ok(ChaCha20Poly1305::new(&Key::from(*key)))
    }

    /// What the shop log says of it: it tells whether this is the form that belongs to the
    /// person's key now. No code can be tried against it without the salt.
    pub fn digest(&self) -> String {
        let text = serde_json::to_vec(self).unwrap_or_default();
        let hash = Sha256::new()
            .chain_update(PURPOSE)
            .chain_update(&text)
            .finalize();
        Link(hash.into()).to_string()
    }

    /// The public half and the digest, for the shop log.
    pub(super) fn person_key(&self, key: &SigningKey) -> PersonKey {
        PersonKey {
            key: to_hex(key.verifying_key().as_bytes()),
            lock: self.digest(),
        }
    }
}

fn failed(why: &dyn std::fmt::Display) -> CodeError {
    CodeError::Unhashed(why.to_string())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn the_code_alone_opens_what_it_locked() {
        let cost = CodeCost {
            memory_kib: 64,
            passes: 1,
        };
        let key = new_key().unwrap();
        let one = LockedKey::lock(&key, &"471108".into(), cost).unwrap();
        let two = LockedKey::lock(&key, &"471108".into(), cost).unwrap();
        assert_ne!(one, two, "each has a salt of its own");
        let opened = one.unlock(&"471108".into()).unwrap().unwrap();
        assert_eq!(opened.to_bytes(), key.to_bytes());
        assert!(one.unlock(&"471109".into()).unwrap().is_none());
        let greedy = LockedKey {
            memory_kib: 1 << 20,
            ..one.clone()
        };
        assert!(greedy.unlock(&"471108".into()).is_err());
        assert_ne!(one.digest(), two.digest());
        assert!(!format!("{one:?}").contains(&one.salt));
    }
}
