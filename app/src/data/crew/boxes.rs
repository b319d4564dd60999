//! Secrets from one tablet to another, encrypted to the other's key.
//!
//! HPKE in base mode (RFC 9180: X25519, HKDF-SHA256, ChaCha20-Poly1305). Who has sealed a
//! box is not asked: what is in it counts only where its digest stands in the shop log.

use std::path::Path;

use hpke::aead::ChaCha20Poly1305;
use hpke::kdf::HkdfSha256;
use hpke::kem::X25519HkdfSha256;
use hpke::{Deserializable, Kem, OpModeR, OpModeS, Serializable, setup_receiver, setup_sender};
use trayzero_core::journal::{from_hex, to_hex};
use zeroize::Zeroizing;

use super::{CrewFault, WhyFaulty};
use crate::data::store::random;
use crate::data::store::small_file::{self, Readers};

/// The file with the secret half, for this user alone.
const FILE: &str = "box.key";
const INFO: &[u8] = b"trayzero box 1";

type Suite = X25519HkdfSha256;

/// The key under which secrets reach this tablet.
pub struct BoxKey {
    secret: <Suite as Kem>::PrivateKey,
    public: <Suite as Kem>::PublicKey,
}

impl std::fmt::Debug for BoxKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "BoxKey({})", self.public())
    }
}

impl BoxKey {
    /// Reads the key of a data folder, or makes it.
    ///
    /// # Errors
    /// What the disk says, or that the file is no key.
    pub fn open(root: &Path) -> Result<Self, CrewFault> {
        let path = root.join(FILE);
        let text = small_file::read(&path)?;
        let seed: Zeroizing<[u8; 32]> = if let Some(text) = text.map(Zeroizing::new) {
            let digits = str::from_utf8(&text).unwrap_or_default().trim_end();
            let bytes = from_hex(digits).ok_or_else(|| CrewFault::of(&path, WhyFaulty::NoKey))?;
            Zeroizing::new(bytes)
        } else {
            let unmade = |why: String| CrewFault::of(&path, WhyFaulty::Unreadable(why));
            let seed = Zeroizing::new(random::<32>().map_err(|e| unmade(e.to_string()))?);
            let text = Zeroizing::new(to_hex(&*seed));
            small_file::write(&path, text.as_bytes(), Readers::OwnerOnly)?;
            seed
        };
        let (secret, public) = Suite::derive_keypair(&*seed);
        Ok(Self { secret, public })
    }

    /// The public half, 64 hex digits.
    pub fn public(&self) -> String {
        to_hex(&self.public.to_bytes())
    }

    /// What is in a box for this tablet; `None` if it is for another or was changed.
    pub fn open_box(&self, text: &str) -> Option<Zeroizing<Vec<u8>>> {
        let (head, body) = text.trim_end().split_once('.')?;
        let head: [u8; 32] = from_hex(head)?;
        let head = <Suite as Kem>::EncappedKey::from_bytes(&head).ok()?;
        let body = unhex_all(body)?;
        let mut open = setup_receiver::<ChaCha20Poly1305, HkdfSha256, Suite>(
            &OpModeR::Base,
            &self.secret,
            &head,
            INFO,
        )
        .ok()?;
        open.open(&body, b"").ok().map(Zeroizing::new)
    }
}

/// Seals a secret for the tablet with this public key, 64 hex digits.
///
/// # Errors
/// That the key is none.
pub fn seal_box(to: &str, secret: &[u8]) -> Result<String, String> {
    let bytes: [u8; 32] = from_hex(to).ok_or("the tablet's key is none")?;
    let to = <Suite as Kem>::PublicKey::from_bytes(&bytes).map_err(|e| e.to_string())?;
    let (head, mut seal) =
        setup_sender::<ChaCha20Poly1305, HkdfSha256, Suite>(&OpModeS::Base, &to, INFO)
            .map_err(|e| e.to_string())?;
    let body = seal.seal(secret, b"").map_err(|e| e.to_string())?;
    Ok(format!("{}.{}\n", to_hex(&head.to_bytes()), to_hex(&body)))
}

fn unhex_all(digits: &str) -> Option<Vec<u8>> {
    let pairs = digits.as_bytes().chunks(2);
    pairs
        .map(|pair| Some(from_hex::<1>(str::from_utf8(pair).ok()?)?[0]))
        .collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_box_opens_for_the_tablet_that_it_is_for_alone() {
        let (one, two) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        let (one, two) = (
            BoxKey::open(one.path()).unwrap(),
            BoxKey::open(two.path()).unwrap(),
        );
        let sealed = seal_box(&two.public(), b"a secret").unwrap();
        assert_eq!(two.open_box(&sealed).unwrap().as_slice(), b"a secret");
        assert!(one.open_box(&sealed).is_none());
        let changed = sealed.replace('.', ".00");
        assert!(two.open_box(&changed).is_none());
        assert!(two.open_box("rubbish").is_none());
    }
}
