//! Any bytes as a record: a whole PDF as it stands, or the files within one.
//!
//! ```text
//! = made.json raw
//! {"format":1,…}
//! = journal-$a.jsonl linked
//! {"format":1,"job":"$1","tablet":"$a"}
//! ```
//! A line that begins with `= ` begins a file. Names and links are put in as `text` says; the
//! list of the files is written and signed by tablet `a`, unless there is one among them. What
//! begins with `%PDF-` is taken as it is.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::time::Instant;

use ed25519_dalek::Signer;
use sha2::{Digest, Sha256};
use trayzero::record::proof::pem_of;
use trayzero::record::verify::{LineVerdict, verify};
use trayzero_core::journal::{Link, seal_over};

use super::text::{key, linked, with_identities};
use crate::pdf_pen::{BLANK, refilled};

/// Longer names and more files are left out.
const NAME_BYTES_MAX: usize = 80;
const FILES_MAX: usize = 40;
/// No input of the fuzzer's length may take longer, in seconds.
const SECONDS_MAX: f64 = 20.0;

/// The bytes are checked as a record, twice; the answer is the same, comes in time, and says
/// something.
///
/// # Panics
/// If something does not hold.
pub fn check(bytes: &[u8]) {
    let pdf = pdf_of(bytes);
    let start = Instant::now();
    let answer = verify(&pdf, None);
    assert!(start.elapsed().as_secs_f64() < SECONDS_MAX);
    let again = verify(&pdf, None);
    match (&answer, &again) {
        (Ok(one), Ok(two)) => assert_eq!(one.lines, two.lines),
        (one, two) => assert_eq!(one.as_ref().err(), two.as_ref().err()),
    }
    let Ok(report) = answer else { return };
    assert!(!report.lines.is_empty());
    let mut lines = report.lines.iter();
    let fails = lines.any(|line| line.verdict == LineVerdict::DoesNotHold);
    assert_eq!(report.holds(), !fails);
    // The page of such a file is blank, and no record prints that.
    if !bytes.starts_with(b"%PDF-") {
        assert!(!report.holds(), "{:#?}", report.lines);
    }
}

fn pdf_of(bytes: &[u8]) -> Vec<u8> {
    if bytes.starts_with(b"%PDF-") {
        return bytes.to_vec();
    }
    let mut files = files_of(bytes);
    let public = seal_over(Link::BEFORE_ALL, &key(b'a')).key;
    files
        .entry("signer.pem".to_owned())
        .or_insert_with(|| pem_of(&public).into_bytes());
    if !files.contains_key("SHA256SUMS") {
        let mut list = String::new();
        for (name, bytes) in &files {
            for byte in Sha256::digest(bytes) {
                // Writing to a string cannot fail.
                let _ = write!(list, "{byte:02x}");
            }
            let _ = writeln!(list, "  {name}");
        }
        let signature = key(b'a').sign(list.as_bytes()).to_bytes();
        files.insert("SHA256SUMS.sig".to_owned(), signature.to_vec());
        files.insert("SHA256SUMS".to_owned(), list.into_bytes());
    }
    let files: Vec<(String, Vec<u8>)> = files.into_iter().collect();
    refilled(BLANK.as_bytes(), &files)
}

fn files_of(bytes: &[u8]) -> BTreeMap<String, Vec<u8>> {
    let mut files: Vec<(String, bool, Vec<u8>)> = Vec::new();
    for line in bytes.split_inclusive(|b| *b == b'\n') {
        let head = line.strip_prefix(b"= ").map(with_identities);
        let head = head.and_then(|head| String::from_utf8(head).ok());
        if let Some(head) = head {
            let mut words = head.split_whitespace();
            let name = words.next().unwrap_or("x");
            let is_fit = |c: char| c.is_ascii_alphanumeric() || ".-_".contains(c);
            let name: String = name
                .chars()
                .filter(|c| is_fit(*c))
                .take(NAME_BYTES_MAX)
                .collect();
            files.push((name, words.next() == Some("linked"), Vec::new()));
        } else if let Some((_, _, bytes)) = files.last_mut() {
            bytes.extend_from_slice(line);
        }
    }
    let files = files.into_iter().take(FILES_MAX);
    files
        .map(|(name, is_linked, bytes)| {
            let bytes = with_identities(&bytes);
            let bytes = if is_linked {
                linked(&bytes, &key(b'a'))
            } else {
                bytes
            };
            (name, bytes)
        })
        .collect()
}
