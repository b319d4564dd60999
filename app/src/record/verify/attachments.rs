//! The attachments against their list, and the list against its signature.

use std::collections::BTreeSet;

use ed25519_dalek::{Signature, VerifyingKey};
use trayzero_core::journal::{from_hex, sha256};

use super::{About, Files, VerifyReport};
use crate::record::pdf_file::{NotRead, PdfFile};
use crate::record::proof::{
    LIST, MAKING, MAKING_FORMAT, Making, RECORD, SIGNATURE, SIGNER, entries_of, key_in,
};
use crate::ui::words::verified::VerifySaid;

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
            report.fails_in(About::Attachment, Some(&name), VerifySaid::AddedUnlisted);
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
            Err(why) => {
                report.fails_in(About::Attachment, Some(&name), VerifySaid::NotTakenOut(why));
            }
        }
    }
    for name in twice {
        report.fails_in(About::Attachment, Some(&name), VerifySaid::ThereTwice);
    }
    Ok(files)
}

/// Whether every attachment is what the list says, all of them are there, and no others.
pub(super) fn against_list(files: &Files, report: &mut VerifyReport) {
    for name in NEEDED {
        if !files.contains_key(name) {
            report.fails_in(About::Attachment, Some(name), VerifySaid::Missing);
        }
    }
    let Some(list) = files.get(LIST) else { return };
    let entries = match entries_of(list) {
        Ok(entries) => entries,
        Err(fault) => {
            return report.fails_in(About::List, Some(LIST), VerifySaid::ListFault(fault));
        }
    };
    let mut good = 0;
    for (name, hash) in &entries {
        match files.get(name) {
            // Said already.
            None if NEEDED.contains(&name.as_str()) => {}
            None => report.fails_in(About::Attachment, Some(name), VerifySaid::Missing),
            Some(bytes) if sha256(bytes) == *hash => good += 1,
            Some(_) => {
                report.fails_in(About::Attachment, Some(name), VerifySaid::Changed);
            }
        }
    }
    let is_beside = |name: &str| name == LIST || name == SIGNATURE;
    let others = files.keys().filter(|name| !is_beside(name));
    for name in others.filter(|name| !entries.contains_key(*name)) {
        report.fails_in(About::Attachment, Some(name), VerifySaid::Added);
    }
    if entries.is_empty() {
        report.fails_in(About::List, Some(LIST), VerifySaid::ListEmpty);
    } else if good == entries.len() {
        report.holds_that(About::List, Some(LIST), VerifySaid::AllOnList(good));
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
        report.fails_in(About::Signature, Some(missing), VerifySaid::ListNotSigned);
        return None;
    };
    let Some(key) = key_in(pem) else {
        report.fails_in(About::Signature, Some(SIGNER), VerifySaid::NoPublicKey);
        return None;
    };
    let signature = Signature::from_slice(signature);
    let known = from_hex(&key).and_then(|key| VerifyingKey::from_bytes(&key).ok());
    let good = match (known, signature) {
        (Some(known), Ok(signature)) => known.verify_strict(list, &signature).is_ok(),
        _ => false,
    };
    if good {
        report.holds_that(About::Signature, Some(SIGNATURE), VerifySaid::ListSigned);
        Some(key)
    } else {
        report.fails_in(
            About::Signature,
            Some(SIGNATURE),
            VerifySaid::SignatureWrong,
        );
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
            let said = VerifySaid::MakingUnread(fault.to_string());
            report.fails_in(About::Making, Some(MAKING), said);
            return None;
        }
    };
    if making.format != MAKING_FORMAT {
        let said = VerifySaid::MakingFormat {
            format: making.format,
            known: MAKING_FORMAT,
        };
        report.fails_in(About::Making, Some(MAKING), said);
        return None;
    }
    Some(making)
}
