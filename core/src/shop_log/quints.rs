//! Words to hold two screens against each other.
//!
//! Sixteen bits a word of consonants and vowels in turn, as A. S. Wilkerson describes in "A
//! Proposal for Proquints: Identifiers that are Readable, Spellable, and Pronounceable"
//! (arXiv 0901.4016; from memory). They are the same in every language.

use sha2::{Digest, Sha256};

use super::TabletCard;
use crate::journal::Link;

const CONSONANTS: [char; 16] = [
    'b', 'd', 'f', 'g', 'h', 'j', 'k', 'l', 'm', 'n', 'p', 'r', 's', 't', 'v', 'z',
];
const VOWELS: [char; 4] = ['a', 'i', 'o', 'u'];

/// Words that are shown. Four carry 64 bits: whoever wanted a key of their own with the
/// same words would have to make that many.
const WORDS: usize = 4;

/// The words that both screens show while a tablet is admitted: over the shop and over all
/// that the tablet is known by.
pub fn words_to_compare(shop: Link, card: &TabletCard) -> String {
    let was = card.was.map(uuid::Uuid::into_bytes);
    let hash = Sha256::new()
        .chain_update(b"trayzero compare 1\n")
        .chain_update(shop.0)
        .chain_update(card.tablet.as_bytes())
        .chain_update(card.key.as_bytes())
        .chain_update(b"\n")
        .chain_update(card.box_key.as_deref().unwrap_or_default().as_bytes())
        .chain_update(was.as_ref().map_or(&[][..], |id| id))
        .finalize();
    words_of(&hash)
}

/// The words of one key, or of a shop key: what stands on paper of it, for a telephone call.
/// `key` is 64 hex digits; the words are over their text.
pub fn words_of_key(key: &str) -> String {
    let hash = Sha256::new()
        .chain_update(b"trayzero key 1\n")
        .chain_update(key.as_bytes())
        .finalize();
    words_of(&hash)
}

/// The first words of a hash.
fn words_of(hash: &[u8]) -> String {
    let words: Vec<String> = hash
        .chunks_exact(2)
        .take(WORDS)
        .map(|pair| quint(u16::from_be_bytes([pair[0], pair[1]])))
        .collect();
    words.join(" ")
}

fn quint(bits: u16) -> String {
    let consonant = |shift: u16| CONSONANTS[usize::from(bits >> shift & 15)];
    let vowel = |shift: u16| VOWELS[usize::from(bits >> shift & 3)];
    [
        consonant(12),
        vowel(10),
        consonant(6),
        vowel(4),
        consonant(0),
    ]
    .iter()
    .collect()
}

#[cfg(test)]
mod tests {
    use super::quint;

    /// 127.0.0.1 is lusab-babad in the paper.
    #[test]
    fn the_words_are_those_of_the_paper() {
        assert_eq!(quint(0x7f00), "lusab");
        assert_eq!(quint(0x0001), "babad");
    }
}
