//! The proof that goes along within a record: everything it was made from, a list of it all,
//! and the tablet's signature over the list.
//!
//! ```text
//! journal-<tablet>.jsonl   each tablet's journal of the job, byte for byte
//! journal-<tablet>.seal    the seal beside it, up to its end
//! ends-<tablet>.json       how far all journals went when the job was closed there, signed by
//!                          whoever closed it
//! log-<tablet>.jsonl       the shop's log: which tablets and people belong to it
//! record.json              the record as data
//! made.json                how the pages were made from it, and a hash of what each shows
//! picture-<sha256>.jpg     photographs
//! signer.pem               the public key that the list is signed with
//! SHA256SUMS               all of these, as `sha256sum -c` reads it
//! SHA256SUMS.sig           Ed25519 (RFC 8032) over the bytes of SHA256SUMS, 64 bytes
//! ```
//! All names are flat: tools that take attachments out make no folders.

mod list;
mod making;
mod pem;

use std::collections::BTreeMap;

use trayzero_core::journal::{EndSeal, Limits, SealReport, to_hex};
use trayzero_core::shop_log::words_of_key;
use uuid::Uuid;

use super::load::Gathered;
use super::pdf::{Attachment, PdfError, Print, render_with};
use super::pdf_file::{NotRead, PdfFile};
use super::sources::Sources;
use crate::data::store::Tablet;
use crate::ui::words::record::{ProofTold, Signer};

pub use list::{entries_of, list_of};
pub use making::{MAKING_FORMAT, Making};
pub use pem::{key_in, pem_of};

/// The list of attachments.
pub const LIST: &str = "SHA256SUMS";
/// The signature over the list.
pub const SIGNATURE: &str = "SHA256SUMS.sig";
/// The key that it is signed with.
pub const SIGNER: &str = "signer.pem";
/// The record as data.
pub const RECORD: &str = "record.json";
/// How the pages were made.
pub const MAKING: &str = "made.json";

/// The most that goes along within a record, in bytes. It is some sixty times the longest job.
pub const BYTES_MAX: usize = 48 << 20;

/// The name of a tablet's journal among the attachments.
pub fn journal_name(tablet: Uuid) -> String {
    format!("journal-{tablet}.jsonl")
}

/// The name of the seal beside it.
pub fn seal_name(tablet: Uuid) -> String {
    format!("journal-{tablet}.seal")
}

/// The name of the ends of all journals that people signed on a tablet.
pub fn ends_name(tablet: Uuid) -> String {
    format!("ends-{tablet}.json")
}

/// The name of a tablet's part of the shop log.
pub fn log_name(tablet: Uuid) -> String {
    format!("log-{tablet}.jsonl")
}

/// The name of a picture's copy, by its SHA-256.
pub fn picture_name(sha256: &str) -> String {
    format!("picture-{sha256}.jpg")
}

/// What an attachment is, by its name: its MIME type, and in words.
pub fn kind_of(name: &str) -> (&'static str, &'static str) {
    match name {
        LIST => (
            "text/plain",
            "SHA-256 of every other attachment, for sha256sum -c",
        ),
        SIGNATURE => (
            "application/octet-stream",
            "Ed25519 signature over SHA256SUMS",
        ),
        SIGNER => (
            "application/x-pem-file",
            "Public key of the tablet that signed SHA256SUMS",
        ),
        RECORD => ("application/json", "The record as data"),
        MAKING => ("application/json", "How the pages were made"),
        _ if name.starts_with("journal-") && name.rsplit('.').next() == Some("seal") => (
            "application/json",
            "A tablet's seal over its journal of the job",
        ),
        _ if name.starts_with("journal-") => ("application/jsonl", "A tablet's journal of the job"),
        _ if name.starts_with("ends-") => (
            "application/json",
            "The ends of all journals, signed by whoever closed the job",
        ),
        _ if name.starts_with("log-") => ("application/jsonl", "A tablet's part of the shop log"),
        _ if name.starts_with("picture-") => ("image/jpeg", "A photograph"),
        _ => ("application/octet-stream", "A file"),
    }
}

/// An attachment of a name, with what it is.
pub fn attachment(name: &str, bytes: Vec<u8>) -> Attachment {
    let (mime, about) = kind_of(name);
    Attachment {
        name: name.to_owned(),
        mime,
        about: about.to_owned(),
        bytes,
    }
}

/// The record of a job as a PDF with its proof. Without a tablet whose key is at hand nobody
/// signs the list, and the first page says so; a job that is too large for it goes without.
///
/// # Errors
/// As [`render`](super::pdf::render).
pub fn issue(
    gathered: &Gathered,
    signer: Option<&Tablet>,
    print: Print,
) -> Result<Vec<u8>, PdfError> {
    let record = &gathered.record;
    let Some(mut files) = sources_of(gathered, signer) else {
        return render_with(record, print, &ProofTold::Without, |_| Ok(Vec::new()));
    };
    let mut making = Making::of(gathered, signer, print);
    let key = signer.map(Tablet::public_key);
    let told = told(&making, key.as_deref());
    render_with(record, print, &told, |plain| {
        making.pages = page_hashes(plain).map_err(|why| unwritten(&why))?;
        files.insert(RECORD.to_owned(), json(record)?);
        files.insert(MAKING.to_owned(), json(&making)?);
        if let Some(key) = &key {
            files.insert(SIGNER.to_owned(), pem_of(key).into_bytes());
        }
        let list = list_of(&files);
        if let Some(tablet) = signer {
            let signature = tablet.sign(list.as_bytes());
            files.insert(SIGNATURE.to_owned(), signature.to_vec());
        }
        files.insert(LIST.to_owned(), list.into_bytes());
        let files = files.into_iter();
        Ok(files
            .map(|(name, bytes)| attachment(&name, bytes))
            .collect())
    })
}

fn unwritten(why: &impl ToString) -> PdfError {
    PdfError::Write {
        why: why.to_string(),
    }
}

/// JSON on one line.
///
/// # Errors
/// [`PdfError::Write`] for what cannot be JSON.
pub fn json(value: &impl serde::Serialize) -> Result<Vec<u8>, PdfError> {
    let mut text = serde_json::to_vec(value).map_err(|why| unwritten(&why))?;
    text.push(b'\n');
    Ok(text)
}

/// What each page of a PDF shows, 64 hex digits a page.
///
/// # Errors
/// [`NotRead`].
pub fn page_hashes(pdf: &[u8]) -> Result<Vec<String>, NotRead> {
    let pages = PdfFile::open(pdf)?.pages()?;
    Ok(pages.iter().map(|hash| to_hex(hash)).collect())
}

/// What the first page says of the proof.
pub fn told(making: &Making, key: Option<&str>) -> ProofTold {
    let (Some(key), Some(name)) = (key, &making.tablet_name) else {
        return ProofTold::Unsigned;
    };
    let signer = Signer {
        name: name.clone(),
        words: words_of_key(key),
    };
    match &making.shop {
        Some(shop) => ProofTold::ByMember {
            signer,
            shop: words_of_key(shop),
        },
        None => ProofTold::ByTablet(signer),
    }
}

/// Journals, seals and log by their names; `None` where they are too large to go along.
fn sources_of(gathered: &Gathered, signer: Option<&Tablet>) -> Option<BTreeMap<String, Vec<u8>>> {
    let mut files = BTreeMap::new();
    let Sources {
        job,
        journals,
        footing,
        ..
    } = &gathered.sources;
    for (tablet, journal) in journals {
        let bytes = journal.bytes.len() as u64;
        if !journal.is_whole() || bytes > Limits::FOREIGN.file_bytes {
            return None;
        }
        let mut seal = journal.seal.clone();
        let is_told_whole = footing.is_whole || footing.own == Some(*tablet);
        if let Some(own) = signer.filter(|own| is_told_whole && own.id() == *tablet) {
            // Signed to its last line now: nothing of it can be left out later.
            let (bytes, link) = (journal.mark.bytes, journal.mark.link);
            seal = Some(EndSeal::over(*job, *tablet, bytes, link, own.key()).to_bytes());
        }
        files.insert(journal_name(*tablet), journal.bytes.clone());
        files.extend(seal.map(|seal| (seal_name(*tablet), seal)));
        let ends = journal.ends.clone();
        files.extend(ends.map(|ends| (ends_name(*tablet), ends)));
    }
    for (tablet, log) in &gathered.logs {
        // A line that is just being written is none yet.
        let whole = log.iter().rposition(|b| *b == b'\n').map_or(0, |at| at + 1);
        files.insert(log_name(*tablet), log[..whole].to_vec());
    }
    for (sha256, copy) in &gathered.sources.pictures {
        files.insert(picture_name(sha256), copy.to_vec());
    }
    let bytes: usize = files.values().map(Vec::len).sum();
    (bytes <= BYTES_MAX).then_some(files)
}

/// The keys by which a journal of no shop is known: those that its own seals were made with.
/// That is no more than the journal's word.
fn keys_met(sources: &Sources, tablet: Uuid) -> Vec<String> {
    let mut seals = SealReport::default();
    if let Some(journal) = sources.journals.get(&tablet) {
        let reader = journal.reader(sources.job, tablet, sources.limits);
        reader.for_each(|entry, line, over| seals.weigh(&entry, line, over));
    }
    seals.keys
}
