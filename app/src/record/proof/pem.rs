//! A public key as openssl reads it: PEM (RFC 7468) around the 12 bytes that say "Ed25519"
//! (RFC 8410, section 4) and the 32 bytes of the key.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use trayzero_core::journal::{from_hex, to_hex};

const BEGIN: &str = "-----BEGIN PUBLIC KEY-----\n";
const END: &str = "\n-----END PUBLIC KEY-----\n";
const KIND: [u8; 12] = [
    0x30, 0x2a, 0x30, 0x05, 0x06, 0x03, 0x2b, 0x65, 0x70, 0x03, 0x21, 0x00,
];

/// The PEM of a key of 64 hex digits.
pub fn pem_of(key: &str) -> String {
    let key: [u8; 32] = from_hex(key).unwrap_or_default();
    let bytes = [KIND.as_slice(), key.as_slice()].concat();
    format!("{BEGIN}{}{END}", STANDARD.encode(bytes))
}

/// The key of a PEM, 64 hex digits; `None` for anything but what [`pem_of`] writes.
pub fn key_in(pem: &[u8]) -> Option<String> {
    let text = str::from_utf8(pem).ok()?;
    let text = text.strip_prefix(BEGIN)?.strip_suffix(END)?;
    let bytes = STANDARD.decode(text).ok()?;
    let key = bytes.strip_prefix(KIND.as_slice())?;
    (key.len() == 32).then(|| to_hex(key))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// The public key that RFC 8410 prints in section 10.1.
    #[test]
    fn the_key_of_the_standard_is_read_and_written_alike() {
        let printed = "-----BEGIN PUBLIC KEY-----\n\
                       MCowBQYDK2VwAyEAGb9ECWmEzf6FQbrBZ9w7lshQhqowtrbLDFw4rXAxZuE=\n\
                       -----END PUBLIC KEY-----\n";
        let key = key_in(printed.as_bytes()).unwrap();
        assert_eq!(
            key,
            "19bf44096984cdfe8541bac167dc3b96c85086aa30b6b6cb0c5c38ad703166e1"
        );
        assert_eq!(pem_of(&key), printed);
        assert_eq!(key_in(&printed.as_bytes()[1..]), None);
        assert_eq!(key_in(&printed.as_bytes()[..90]), None);
    }
}
