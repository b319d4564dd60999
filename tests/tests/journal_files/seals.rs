//! Seals: a tablet's signature over all lines above.

use ed25519_dalek::SigningKey;
use trayzero_core::job::{Event, Seal};
use trayzero_core::journal::{
    JournalWhy, Limits, Link, Writer, read_journal, seal_holds, seal_over,
};
use trayzero_tests::entries::weighed;

use crate::support::{JOB, Shop, TABLET, entry};

fn key(seed: u8) -> SigningKey {
    SigningKey::from_bytes(&[seed; 32])
}

fn append(shop: &Shop, seal: Seal) {
    let mut writer = Writer::open(shop.path(), JOB, TABLET).unwrap().writer;
    let step = writer.mark().n as u32;
    let event = Event::Sealed(Box::new(seal));
    let entry = entry(TABLET, step, writer.clock(), event);
    writer.append(&[entry]).unwrap();
}

fn link(shop: &Shop) -> Link {
    read_journal(&shop.journal(), JOB, TABLET, Limits::OWN)
        .unwrap()
        .mark
        .link
}

#[test]
fn a_seal_vouches_for_the_lines_above_and_for_no_other_place() {
    let shop = Shop::with(5);
    let honest = seal_over(link(&shop), &key(1));
    append(&shop, honest.clone());
    append(&shop, seal_over(link(&shop), &key(1)));
    append(&shop, honest.clone());
    append(&shop, seal_over(link(&shop), &key(2)));
    let report = weighed(&shop.journal(), JOB, TABLET);
    assert_eq!(report.good, 2);
    let bad: Vec<u64> = report.bad.iter().map(|(line, _)| *line).collect();
    assert_eq!(bad, [9, 10], "a replayed seal, and another tablet's key");
    assert!(matches!(report.bad[0].1, JournalWhy::OtherLine));
    assert!(matches!(report.bad[1].1, JournalWhy::OtherKey));
    assert_eq!(report.keys.len(), 2);
}

#[test]
fn a_seal_that_is_no_signature_says_why() {
    let over = Link([3; 32]);
    let good = seal_over(over, &key(1));
    assert_eq!(seal_holds(&good, over), Ok(()));
    let rows = [
        (
            Seal {
                key: good.key[1..].to_owned(),
                ..good.clone()
            },
            "key",
        ),
        (
            Seal {
                key: good.key.to_uppercase(),
                ..good.clone()
            },
            "key",
        ),
        (
            Seal {
                signature: String::new(),
                ..good.clone()
            },
            "hex",
        ),
        (
            Seal {
                signature: "0".repeat(128),
                ..good.clone()
            },
            "signature",
        ),
    ];
    for (seal, word) in rows {
        let why = seal_holds(&seal, over).unwrap_err().to_string();
        assert!(why.contains(word), "{why}");
    }
}

/// RFC 8032, section 7.1, TEST 2: key and public key (from memory). A seal of the same
/// key must name that public key.
#[test]
fn the_key_in_a_seal_is_the_public_key_of_rfc_8032() {
    let secret = "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb";
    let bytes: Vec<u8> = (0..32)
        .map(|at| u8::from_str_radix(&secret[2 * at..2 * at + 2], 16).unwrap())
        .collect();
    let key = SigningKey::from_bytes(&bytes.try_into().unwrap());
    let seal = seal_over(Link::BEFORE_ALL, &key);
    let public = "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c";
    assert_eq!(seal.key, public);
}
