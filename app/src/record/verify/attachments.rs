//! The attachments against their list, and the list against its signature.

use std::collections::BTreeSet;

use ed25519_dalek::{Signature, VerifyingKey};

use super::{About, Files, VerifyReport};
use crate::data::store::unhex;
use crate::record::pdf_file::{NotRead, PdfFile};
use crate::record::proof::{
    LIST, MAKING, MAKING_FORMAT, Making, RECORD, SIGNATURE, SIGNER, entries_of, key_in, sha256,
};

/// The longest that is read of how a record was made, in bytes.
const MAKING_BYTES_MAX: usize = 1 << 20;
/// What nothing can be checked without.
const NEEDED: [&str; 3] = [LIST, MAKING, RECORD];

/// Takes the attachments out. One that is there twice or does not open is said, and left out.
pub(super) fn take_out(file: &PdfFile<'_>, report: &mut VerifyReport) -> Result<Files, NotRead> {
    let mut files = Files::new();
    let mut twice = BTreeSet::new();
    for within in file.files()? {
        let name = within.name;
        if !within.is_listed {
            let words = "it was added: some programs alone show it";
            report.fails_in(About::Attachment, Some(&name), words);
            continue;
        }
        match within.bytes {
            Ok(bytes) => {
                let length = bytes.len() as u64;
                report.attachments.push((name.clone(), length));
                if files.insert(name.clone(), bytes).is_some() {
                    twice.insert(name);
                }
            }
            Err(why) => report.fails_in(
                About::Attachment,
                Some(&name),
                format!("it cannot be taken out: {why}"),
            ),
        }
    }
    for name in twice {
        let words = "it is there twice, and programs differ in which one they take";
        report.fails_in(About::Attachment, Some(&name), words);
    }
    Ok(files)
}

/// Whether every attachment is what the list says, all of them are there, and no others.
pub(super) fn against_list(files: &Files, report: &mut VerifyReport) {
    for name in NEEDED {
        if !files.contains_key(name) {
            report.fails_in(About::Attachment, Some(name), "it is missing");
        }
    }
    let Some(list) = files.get(LIST) else { return };
    let entries = match entries_of(list) {
        Ok(entries) => entries,
        Err(fault) => {
            return report.fails_in(About::List, Some(LIST), format!("the list, {fault}"));
        }
    };
    let mut good = 0;
    for (name, hash) in &entries {
        match files.get(name) {
            // Said already.
            None if NEEDED.contains(&name.as_str()) => {}
            None => report.fails_in(About::Attachment, Some(name), "it is missing"),
            Some(bytes) if sha256(bytes) == *hash => good += 1,
            Some(_) => {
                let words = "it was changed: its SHA-256 is not the one on the list";
                report.fails_in(About::Attachment, Some(name), words);
            }
        }
    }
    let is_beside = |name: &str| name == LIST || name == SIGNATURE;
    let others = files.keys().filter(|name| !is_beside(name));
    for name in others.filter(|name| !entries.contains_key(*name)) {
        report.fails_in(
            About::Attachment,
            Some(name),
            "it was added: it is not on the list",
        );
    }
    if entries.is_empty() {
        report.fails_in(About::List, Some(LIST), "the list is empty");
    } else if good == entries.len() {
        let words = format!("all {good} attachments on the list are there and unchanged");
        report.holds_that(About::List, Some(LIST), words);
    }
}

/// The key that the list is signed with, where the signature holds.
pub(super) fn signature(files: &Files, report: &mut VerifyReport) -> Option<String> {
    let list = files.get(LIST)?;
    let (Some(signature), Some(pem)) = (files.get(SIGNATURE), files.get(SIGNER)) else {
        let missing = if files.contains_key(SIGNATURE) {
            SIGNER
        } else {
            SIGNATURE
        };
        let words = "nobody has signed the list: whether something was left out before, or made \
                     up by somebody else, the file does not say";
        report.fails_in(About::Signature, Some(missing), words);
        return None;
    };
    let Some(key) = key_in(pem) else {
        report.fails_in(
            About::Signature,
            Some(SIGNER),
            "it is no public key (Ed25519)",
        );
        return None;
    };
    let signature = Signature::from_slice(signature);
    let known = unhex(&key).and_then(|key| VerifyingKey::from_bytes(&key).ok());
    let good = match (known, signature) {
        (Some(known), Ok(signature)) => known.verify_strict(list, &signature).is_ok(),
        _ => false,
    };
    if good {
        report.holds_that(
            About::Signature,
            Some(SIGNATURE),
            "the list is signed with the key in signer.pem",
        );
        Some(key)
    } else {
        let words = "the signature is not over this list with the key in signer.pem";
        report.fails_in(About::Signature, Some(SIGNATURE), words);
        None
    }
}

/// How the record says it was made.
pub(super) fn making(files: &Files, report: &mut VerifyReport) -> Option<Making> {
    // That it is missing was said.
    let text = files.get(MAKING)?;
    // Far longer than any: its end is missing then, and it does not read.
    let text = text.get(..MAKING_BYTES_MAX).unwrap_or(text);
    let making: Making = match serde_json::from_slice(text) {
        Ok(making) => making,
        Err(fault) => {
            let words = format!("it does not say how the record was made: {fault}");
            report.fails_in(About::Making, Some(MAKING), words);
            return None;
        }
    };
    if making.format != MAKING_FORMAT {
        let words = format!(
            "it has format {}; this program knows {MAKING_FORMAT}: check it with a newer one",
            making.format
        );
        report.fails_in(About::Making, Some(MAKING), words);
        return None;
    }
    Some(making)
}
