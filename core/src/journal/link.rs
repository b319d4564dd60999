//! The links that chain the lines, and the hex they are written in.

use std::fmt;

use sha2::{Digest, Sha256};

const OPENING: &[u8] = b",\"link\":\"";
const CLOSING: &[u8] = b"\"}";
const HEX_BYTES: usize = 64;

/// Bytes of a line after its body, without the newline.
pub(super) const TAIL_BYTES: usize = OPENING.len() + HEX_BYTES + CLOSING.len();

/// SHA-256 over the link before and a line's body.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Link(pub [u8; 32]);

impl Link {
    /// What stands before the first line.
    pub const BEFORE_ALL: Link = Link([0; 32]);

    /// The link of a line with this body, after `self`.
    #[must_use]
    pub fn then(self, body: &[u8]) -> Link {
        let hash = Sha256::new()
            .chain_update(self.0)
            .chain_update(body)
            .finalize();
        Link(hash.into())
    }

    /// Reads 64 lower-case hex digits; `None` for anything else.
    pub fn from_hex(text: &str) -> Option<Link> {
        from_hex(text).map(Link)
    }

    /// The 64 lower-case hex digits.
    pub(super) fn digits(self) -> [u8; HEX_BYTES] {
        let mut digits = [0; HEX_BYTES];
        for (pair, byte) in digits.chunks_exact_mut(2).zip(self.0) {
            pair[0] = HEX[usize::from(byte >> 4)];
            pair[1] = HEX[usize::from(byte & 15)];
        }
        digits
    }
}

impl fmt::Display for Link {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&to_hex(&self.0))
    }
}

impl fmt::Debug for Link {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

const HEX: &[u8; 16] = b"0123456789abcdef";

/// SHA-256 of some bytes, 64 hex digits.
pub fn sha256(bytes: &[u8]) -> String {
    to_hex(&Sha256::digest(bytes))
}

/// Lower-case hex of some bytes.
pub fn to_hex(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len() * 2);
    for byte in bytes {
        text.push(char::from(HEX[usize::from(byte >> 4)]));
        text.push(char::from(HEX[usize::from(byte & 15)]));
    }
    text
}

/// Exactly `N` bytes from lower-case hex; upper case is refused, so that a text stands
/// for its bytes in one way only.
pub fn from_hex<const N: usize>(digits: &str) -> Option<[u8; N]> {
    fn nibble(digit: u8) -> Option<u8> {
        match digit {
            b'0'..=b'9' => Some(digit - b'0'),
            b'a'..=b'f' => Some(digit - b'a' + 10),
            _ => None,
        }
    }
    let digits = digits.as_bytes();
    if digits.len() != 2 * N {
        return None;
    }
    let mut bytes = [0; N];
    for (byte, pair) in bytes.iter_mut().zip(digits.chunks_exact(2)) {
        *byte = nibble(pair[0])? << 4 | nibble(pair[1])?;
    }
    Some(bytes)
}

/// Splits a line without its newline into its body and the digits of its link; `None`
/// where it does not close as a line must.
pub(super) fn split(line: &[u8]) -> Option<(&[u8], &[u8])> {
    let (body, tail) = line.split_at_checked(line.len().checked_sub(TAIL_BYTES)?)?;
    let digits = tail.strip_prefix(OPENING)?.strip_suffix(CLOSING)?;
    Some((body, digits))
}

/// Closes the JSON object that starts at `start` with its link and a newline, and
/// returns the link.
pub(super) fn close_line(text: &mut Vec<u8>, start: usize, before: Link) -> Link {
    debug_assert_eq!(text.last(), Some(&b'}'), "a body is an object");
    text.pop();
    let link = before.then(&text[start..]);
    text.extend_from_slice(OPENING);
    text.extend_from_slice(&link.digits());
    text.extend_from_slice(CLOSING);
    text.push(b'\n');
    link
}

/// Whether `text`, which no newline ends, holds a whole line that follows `before` and
/// something after it. No write that stopped half way leaves that behind.
pub(super) fn runs_past_a_line(text: &[u8], before: Link) -> bool {
    text.windows(OPENING.len())
        .enumerate()
        .filter(|(_, window)| *window == OPENING)
        .filter_map(|(at, _)| text.get(..at + TAIL_BYTES))
        .filter(|line| line.len() < text.len())
        .filter_map(split)
        .any(|(body, digits)| before.then(body).digits() == digits)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// FIPS 180-4, SHA-256 of the three bytes "abc", as printed in its example.
    #[test]
    fn the_hash_is_sha_256_of_fips_180_4() {
        let hash: [u8; 32] = Sha256::digest(b"abc").into();
        let printed = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(to_hex(&hash), printed);
    }

    #[test]
    fn a_link_covers_the_link_before_and_the_body() {
        let mut both = [7_u8; 32].to_vec();
        both.extend_from_slice(b"{\"n\":1");
        let whole: [u8; 32] = Sha256::digest(&both).into();
        assert_eq!(Link([7; 32]).then(b"{\"n\":1"), Link(whole));
        assert_ne!(Link([8; 32]).then(b"{\"n\":1"), Link(whole));
    }

    #[test]
    fn a_closed_line_splits_into_its_body_and_its_link() {
        let mut text = b"{\"n\":1}".to_vec();
        let link = close_line(&mut text, 0, Link::BEFORE_ALL);
        let line = text.strip_suffix(b"\n").unwrap();
        let (body, digits) = split(line).unwrap();
        assert_eq!(body, b"{\"n\":1");
        assert_eq!(digits, link.to_string().as_bytes());
        assert_eq!(Link::from_hex(&link.to_string()), Some(link));
    }

    #[test]
    fn hex_has_one_spelling() {
        assert_eq!(from_hex::<2>("0aff"), Some([10, 255]));
        assert_eq!(from_hex::<2>("0AFF"), None);
        assert_eq!(from_hex::<2>("0af"), None);
        assert_eq!(from_hex::<2>("0afg"), None);
    }

    #[test]
    fn bytes_after_a_whole_line_are_no_torn_write() {
        let mut text = b"{\"n\":1}".to_vec();
        close_line(&mut text, 0, Link::BEFORE_ALL);
        text.pop();
        assert!(!runs_past_a_line(&text, Link::BEFORE_ALL), "whole, no more");
        text.push(b'*');
        assert!(runs_past_a_line(&text, Link::BEFORE_ALL));
        assert!(!runs_past_a_line(&text, Link([1; 32])), "of another chain");
    }
}
