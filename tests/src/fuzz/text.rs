//! How inputs are written down: names for tablets and jobs, and lines without their links.

use ed25519_dalek::SigningKey;
use trayzero_core::journal::{Link, seal_over};
use uuid::Uuid;

/// What a journal is called that lies in no folder.
pub const FILE: &str = "any.jsonl";

/// A tablet by its letter: `o` is this tablet, `a`, `b`, `c` are others.
pub fn tablet(letter: u8) -> Uuid {
    Uuid::from_u128(0x017f_22e2_79b0_7cc3_98c4_dc0c_0c07_0000 | u128::from(letter))
}

/// A job by its digit; `0` is this tablet's own.
pub fn job(digit: u8) -> Uuid {
    Uuid::from_u128(0x017f_22e2_79b0_7cc3_98c4_dc0c_0c08_0000 | u128::from(digit))
}

/// The key of a tablet.
pub fn key(letter: u8) -> SigningKey {
    SigningKey::from_bytes(&[letter; 32])
}

/// The identity that a name of one character stands for.
pub fn identity(name: u8) -> Option<Uuid> {
    match name {
        b'o' | b'a'..=b'c' => Some(tablet(name)),
        b'0'..=b'3' => Some(job(name)),
        _ => None,
    }
}

/// Puts identities in for `$o`, `$a`, `$0` and so on.
pub fn with_identities(text: &[u8]) -> Vec<u8> {
    let mut out = Vec::with_capacity(text.len() + 256);
    let mut rest = text;
    while let Some(at) = rest.iter().position(|b| *b == b'$') {
        let (before, from) = rest.split_at(at);
        out.extend_from_slice(before);
        if let Some(id) = from.get(1).copied().and_then(identity) {
            out.extend_from_slice(id.to_string().as_bytes());
            rest = &from[2..];
        } else {
            out.push(b'$');
            rest = &from[1..];
        }
    }
    out.extend_from_slice(rest);
    out
}

/// Closes every line that ends with `}` with its link. `$s` in a line stands for the seal
/// of this key over the link before it. A line that begins with `!` stands as it is,
/// without the `!` and without a newline of its own.
pub fn linked(lines: &[u8], key: &SigningKey) -> Vec<u8> {
    let mut out = Vec::with_capacity(lines.len() * 2);
    let mut link = Link::BEFORE_ALL;
    let lines = lines.strip_suffix(b"\n").unwrap_or(lines);
    for line in lines.split(|b| *b == b'\n') {
        if let Some(raw) = line.strip_prefix(b"!") {
            out.extend_from_slice(raw);
            continue;
        }
        let line = with_seal(line, link, key);
        let Some(body) = line.strip_suffix(b"}") else {
            out.extend_from_slice(&line);
            out.push(b'\n');
            continue;
        };
        link = link.then(body);
        out.extend_from_slice(body);
        out.extend_from_slice(format!(",\"link\":\"{link}\"}}\n").as_bytes());
    }
    out
}

fn with_seal(line: &[u8], over: Link, key: &SigningKey) -> Vec<u8> {
    let Some(at) = line.windows(2).position(|pair| pair == b"$s") else {
        return line.to_vec();
    };
    let seal = seal_over(over, key);
    let (key, signature) = (seal.key, seal.signature);
    let seal = format!("{{\"key\":\"{key}\",\"signature\":\"{signature}\"}}");
    [&line[..at], seal.as_bytes(), &line[at + 2..]].concat()
}
