//! The checked summary of a job, so that a list of many jobs need not read their events.
//!
//! `summary.json` lies beside the journals: one line, closed by a link like a journal's
//! header. It names length and last link of every journal it was made from, and counts
//! only while they are just so; then one look at the end of each file is enough. It is
//! never the truth, only a short cut to it: whoever finds it wrong reads the journals.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::Path;

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::folder::{JobFolder, SUMMARY, SUMMARY_UNFINISHED};
use super::link::{Link, close_line, split};
use super::reader::{Mark, open_plain, read_plain, tail_link};
use super::{JournalError, LINE_BYTES_MAX};

const SUMMARY_FORMAT: u32 = 1;

#[derive(Serialize, Deserialize, PartialEq)]
struct JournalEnd {
    tablet: Uuid,
    bytes: u64,
    end: String,
}

#[derive(Serialize)]
struct SummaryOut<'a, P> {
    format: u32,
    job: Uuid,
    journals: Vec<JournalEnd>,
    payload: &'a P,
}

#[derive(Deserialize)]
struct SummaryIn<P> {
    format: u32,
    job: Uuid,
    journals: Vec<JournalEnd>,
    payload: P,
}

/// Writes the summary of a job made from its journals as read up to these marks.
///
/// # Errors
/// [`JournalError`] if it cannot be written; the journals are not touched.
pub fn write_summary<P: Serialize>(
    folder: &Path,
    job: Uuid,
    journals: &[(Uuid, Mark)],
    payload: &P,
) -> Result<(), JournalError> {
    let path = folder.join(SUMMARY);
    let failed = |e| JournalError::from_io(&path, "writing the summary", e);
    let mut ends: Vec<JournalEnd> = journals
        .iter()
        .map(|(tablet, mark)| JournalEnd {
            tablet: *tablet,
            bytes: mark.bytes,
            end: mark.link.to_string(),
        })
        .collect();
    ends.sort_by_key(|end| end.tablet);
    let summary = SummaryOut {
        format: SUMMARY_FORMAT,
        job,
        journals: ends,
        payload,
    };
    let mut text = serde_json::to_vec(&summary).map_err(|e| failed(e.into()))?;
    close_line(&mut text, 0, Link::BEFORE_ALL);
    // It is not synced: what a power cut leaves of it does not fit its link.
    let new = folder.join(SUMMARY_UNFINISHED);
    File::create(&new)
        .and_then(|mut file| file.write_all(&text))
        .and_then(|()| fs::rename(&new, &path))
        .map_err(failed)
}

/// The summary of a job, if there is one and every journal still ends as it says. The
/// work does not grow with the journals.
pub fn read_summary<P: DeserializeOwned>(job: &JobFolder) -> Option<P> {
    let text = read_plain(&job.path.join(SUMMARY), 0, LINE_BYTES_MAX as u64).ok()?;
    let line = text.strip_suffix(b"\n")?;
    let (body, digits) = split(line)?;
    if Link::BEFORE_ALL.then(body).digits() != digits {
        return None;
    }
    let summary: SummaryIn<P> = serde_json::from_slice(line).ok()?;
    let fits = summary.format == SUMMARY_FORMAT
        && summary.job == job.job
        && ends_of(job).ok()?? == summary.journals;
    fits.then_some(summary.payload)
}

/// How the journals end now; `None` if one does not end with a line.
fn ends_of(job: &JobFolder) -> io::Result<Option<Vec<JournalEnd>>> {
    let mut ends = Vec::with_capacity(job.journals.len());
    for journal in &job.journals {
        let mut file = open_plain(&journal.path)?;
        let bytes = file.metadata()?.len();
        let Some(link) = tail_link(&mut file, bytes)? else {
            return Ok(None);
        };
        ends.push(JournalEnd {
            tablet: journal.tablet,
            bytes,
            end: link.to_string(),
        });
    }
    Ok(Some(ends))
}
