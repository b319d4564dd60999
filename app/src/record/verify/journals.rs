//! The journals line by line: their links, their seals, and what people signed in them.

use std::path::PathBuf;

use trayzero_core::job::Entry;
use trayzero_core::journal::{Cover, Covered, Limits, Members, merge};
use trayzero_core::record::{PictureFound, Record};
use trayzero_core::shop_log::{Judged, Proofs, Shop};
use uuid::Uuid;

use super::{About, Files, VerifyReport, tablet_in};
use crate::record::proof::{BYTES_MAX, Making, journal_name, picture_name, seal_name};
use crate::record::sources::{JournalBytes, Sources};
use crate::ui::words::verified::VerifySaid;

/// The most signatures that are named one by one.
const NAMED_MAX: usize = 20;

/// The journals among the attachments.
pub(super) fn sources(files: &Files, making: &Making, report: &mut VerifyReport) -> Sources {
    let mut sources = Sources {
        job: making.job,
        journals: std::collections::BTreeMap::new(),
        footing: making.footing(),
        limits: Limits::FOREIGN,
        pictures: std::collections::BTreeMap::new(),
        changed_pictures: making.changed_pictures.iter().cloned().collect(),
    };
    for (name, bytes) in files {
        if let Some(sha256) = picture_in(name) {
            sources
                .pictures
                .insert(sha256.to_owned(), bytes.as_slice().into());
        }
        if let Some(tablet) = tablet_in(name, "journal-", ".jsonl") {
            let seal = files.get(&seal_name(tablet)).cloned();
            let journal = JournalBytes::of(PathBuf::from(name), bytes.clone(), seal);
            sources.journals.insert(tablet, journal);
        } else if let Some(tablet) = tablet_in(name, "journal-", ".seal")
            && !files.contains_key(&journal_name(tablet))
        {
            report.fails_in(About::Journal, Some(name), VerifySaid::SealWithoutJournal);
        }
    }
    let journals = sources.journals.values();
    let bytes: usize = journals.map(|journal| journal.bytes.len()).sum();
    if bytes > BYTES_MAX {
        let most = BYTES_MAX;
        let said = VerifySaid::JournalsTooLarge { bytes, most };
        report.fails_in(About::Journal, None, said);
        sources.journals.clear();
    } else if sources.journals.is_empty() {
        report.fails_in(About::Journal, None, VerifySaid::NoJournal);
    }
    sources
}

/// The hash that a picture is named by.
fn picture_in(name: &str) -> Option<&str> {
    name.strip_prefix("picture-")?.strip_suffix(".jpg")
}

/// Whether every picture that goes along is one that an event of the job names, to the byte.
pub(super) fn pictures(sources: &Sources, record: &Record, report: &mut VerifyReport) {
    let mut good = 0;
    for sha256 in sources.pictures.keys() {
        let mut lines = record.pictures.iter();
        let fault = match lines.find(|line| line.copy_sha256 == *sha256) {
            None => VerifySaid::PictureNotNamed,
            Some(line) if line.found == PictureFound::Changed => VerifySaid::OtherPicture,
            Some(_) => {
                good += 1;
                continue;
            }
        };
        let name = picture_name(sha256);
        report.fails_in(About::Attachment, Some(&name), fault);
    }
    if good > 0 && good == sources.pictures.len() {
        report.holds_that(About::Attachment, None, VerifySaid::PicturesNamed(good));
    }
}

/// Whether every line of every journal follows from the one before, and a key that counts has
/// sealed it to its end. Gives the lines of each that count.
pub(super) fn check(
    sources: &Sources,
    members: &Members,
    report: &mut VerifyReport,
) -> Vec<Vec<Entry>> {
    let journals = sources.journals.iter();
    journals
        .map(|(tablet, journal)| of_journal(sources.job, *tablet, journal, members, report))
        .collect()
}

fn of_journal(
    job: Uuid,
    tablet: Uuid,
    journal: &JournalBytes,
    members: &Members,
    report: &mut VerifyReport,
) -> Vec<Entry> {
    let name = journal_name(tablet);
    let seal = journal.end_seal();
    let cover = Cover::new(job, tablet, members, seal.as_ref());
    let mut entries = Vec::new();
    let reader = journal.reader(job, tablet, Limits::FOREIGN);
    let covered = cover.read(reader, |entry, _| entries.push(entry));
    let said = report.lines.len();
    for said in line_faults(&covered) {
        report.fails_in(About::Journal, Some(&name), said);
    }
    if !members.knows(tablet) {
        report.fails_in(About::Seal, Some(&name), VerifySaid::NobodyVouches);
    }
    // The seals of a lost tablet, on lines that stand by the word of the log, are nobody's
    // forgery.
    let is_lost = |key: &String| covered.waiting == 0 && members.struck_off(tablet, key);
    let wrong = covered.wrong.iter();
    for wrong in wrong.filter(|wrong| !wrong.stranger.as_ref().is_some_and(is_lost)) {
        let (line, why) = (wrong.line, wrong.why.clone());
        let file = if line.is_some() {
            &name
        } else {
            &seal_name(tablet)
        };
        report.fails_in(About::Seal, Some(file), VerifySaid::SealWrong { line, why });
    }
    if journal.seal.is_some() && seal.is_none() {
        report.fails_in(About::Seal, Some(&seal_name(tablet)), VerifySaid::NoSeal);
    }
    if covered.waiting > 0 {
        let said = VerifySaid::NotSealed(covered.waiting);
        report.fails_in(About::Seal, Some(&name), said);
    }
    if report.lines.len() == said {
        let said = VerifySaid::JournalHolds(covered.end.mark.lines);
        report.holds_that(About::Journal, Some(&name), said);
    }
    entries
}

/// What is wrong with the lines of a journal, whoever has sealed them.
fn line_faults(covered: &Covered) -> Vec<VerifySaid> {
    let end = &covered.end;
    let mut faults = Vec::new();
    if let Some(fault) = &end.fault {
        faults.push(VerifySaid::LineFault {
            line: fault.line,
            field: fault.field.clone(),
            why: fault.why.clone(),
        });
    }
    if let Some(torn) = &end.torn {
        faults.push(VerifySaid::LineTorn(torn.line));
    }
    if end.unknown > 0 {
        faults.push(VerifySaid::NewerLines(end.unknown));
    }
    if covered.missing > 0 {
        faults.push(VerifySaid::SealedMissing(covered.missing));
    }
    faults
}

/// Whether the people who signed in the journals did it with keys of their own.
pub(super) fn people(
    job: Uuid,
    read: Vec<Vec<Entry>>,
    shop: Option<&Shop>,
    report: &mut VerifyReport,
) {
    let entries = merge(read).entries;
    let count: usize = entries.iter().map(|e| e.event.signatures().count()).sum();
    let Some(shop) = shop else {
        return report.leaves_open(About::People, None, VerifySaid::SignaturesUnknown(count));
    };
    // From outside no tablet is believed about a person.
    let proofs = Proofs::of(Some(shop), None);
    let mut judged = Judged::default();
    for entry in &entries {
        judged.takes(&proofs, job, entry);
    }
    for one in judged.not_signed().iter().take(NAMED_MAX) {
        let name = journal_name(one.entry.tablet);
        let said = VerifySaid::NotSigned(Box::new(one.clone()));
        report.fails_in(About::People, Some(&name), said);
    }
    if judged.not_signed().is_empty() {
        let said = match count {
            0 => VerifySaid::NothingSigned,
            n => VerifySaid::SignaturesHold(n),
        };
        report.holds_that(About::People, None, said);
    }
}
