//! The ends of all journals, as people signed them when the job was closed.

use trayzero_core::record::Record;
use trayzero_core::shop_log::{ENDS_BYTES_MAX, Shop, SignedEnds};
use uuid::Uuid;

use super::{About, Files, VerifyReport, tablet_in};
use crate::record::proof::journal_name;
use crate::ui::words::verified::VerifySaid;

/// Whether every journal still goes through the place that the closing person signed.
pub(super) fn check(
    files: &Files,
    job: Uuid,
    record: Option<&Record>,
    shop: Option<&Shop>,
    report: &mut VerifyReport,
) {
    let mut is_signed = false;
    for (name, bytes) in files {
        if tablet_in(name, "ends-", ".json").is_none() {
            continue;
        }
        is_signed = true;
        let most = ENDS_BYTES_MAX as usize;
        match SignedEnds::from_bytes(bytes.get(..most).unwrap_or(bytes)) {
            Ok(ends) => {
                if ends.job != job {
                    report.fails_in(About::Ends, Some(name), VerifySaid::EndsOfOtherJob);
                }
                of_ends(name, &ends, files, shop, report);
            }
            Err(why) => report.fails_in(
                About::Ends,
                Some(name),
                VerifySaid::EndsUnread(why.to_string()),
            ),
        }
    }
    let is_over = record.is_some_and(|record| record.ended.is_some());
    if !is_signed && is_over && shop.is_some() {
        report.leaves_open(About::Ends, None, VerifySaid::EndsNotSigned);
    }
}

fn of_ends(
    name: &str,
    ends: &SignedEnds,
    files: &Files,
    shop: Option<&Shop>,
    report: &mut VerifyReport,
) {
    let said = report.lines.len();
    if tablet_in(name, "ends-", ".json") != Some(ends.tablet) {
        report.fails_in(About::Ends, Some(name), VerifySaid::EndsOfOtherTablet);
    }
    for person in ends.people() {
        let holds = match shop {
            Some(shop) => ends.is_signed_by(person, shop).map_err(Some),
            None => Err(None),
        };
        if let Err(why) = holds {
            let person = person.to_owned();
            let said = VerifySaid::PersonNotSigned { person, why };
            report.fails_in(About::Ends, Some(name), said);
        }
    }
    if ends.people().next().is_none() {
        report.fails_in(About::Ends, Some(name), VerifySaid::EndsByNobody);
    }
    let mut later = 0;
    for (tablet, (bytes, link)) in &ends.ends {
        let journal_file = journal_name(*tablet);
        let Some(journal) = files.get(&journal_file) else {
            let said = VerifySaid::MissingSinceClosing;
            report.fails_in(About::Ends, Some(&journal_file), said);
            continue;
        };
        let (to_end, rest) = journal.split_at(journal.len().min(*bytes as usize));
        if to_end.len() as u64 != *bytes || link_at_end(to_end) != Some(link.as_bytes()) {
            let said = VerifySaid::ChangedSinceClosing;
            report.fails_in(About::Ends, Some(&journal_file), said);
        }
        later += rest.split_inclusive(|byte| *byte == b'\n').count();
    }
    if report.lines.len() == said {
        let said = VerifySaid::EndsHold {
            people: ends.people().map(str::to_owned).collect(),
            journals: ends.ends.len(),
            later,
        };
        report.holds_that(About::Ends, Some(name), said);
    }
}

/// The link that the last line of a journal closes with.
fn link_at_end(journal: &[u8]) -> Option<&[u8]> {
    let line = journal.strip_suffix(b"\"}\n")?;
    line.get(line.len().checked_sub(64)?..)
}
