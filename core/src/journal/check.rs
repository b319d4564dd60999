//! Looking at every line of every journal in a folder.

use std::path::{Path, PathBuf};

use uuid::Uuid;

use super::folder::{JobFolder, JournalFile, LeftAlone, list_any};
use super::reader::{Limits, Mark, ReadEnd, Reader};
use super::seal::{SealAt, SealReport};
use super::{FORMAT, JournalError, JournalFault};

/// One journal, looked at line by line.
#[derive(Clone, Debug)]
pub struct Checked {
    /// The file.
    pub file: PathBuf,
    /// Its job.
    pub job: Uuid,
    /// Its tablet.
    pub tablet: Uuid,
    /// How far it could be read, and what stopped it.
    pub end: ReadEnd,
    /// What its seals are worth.
    pub seals: SealReport,
}

impl Checked {
    /// Whether every line holds.
    pub fn is_clean(&self) -> bool {
        self.end.torn.is_none() && self.end.fault.is_none() && self.seals.bad.is_empty()
    }

    /// Whether a newer program has written some of it.
    pub fn is_newer(&self) -> bool {
        self.end.mark.format > FORMAT
    }
}

/// All journals of a folder, looked at line by line.
#[derive(Clone, Debug, Default)]
pub struct CheckReport {
    /// How many jobs there are.
    pub jobs: usize,
    /// The journals by job and tablet.
    pub journals: Vec<Checked>,
    /// Side files that hold torn lines set aside earlier.
    pub set_aside: Vec<PathBuf>,
    /// What is neither a job nor a journal.
    pub left_alone: Vec<LeftAlone>,
}

impl CheckReport {
    /// Whether every line of every journal holds.
    pub fn is_clean(&self) -> bool {
        self.journals.iter().all(Checked::is_clean)
    }

    /// Good lines in all.
    pub fn lines(&self) -> u64 {
        self.journals.iter().map(|j| j.end.mark.lines).sum()
    }
}

/// Checks every line of every journal in a folder: a data folder, a shop folder, its
/// `jobs` folder, or the folder of one job. The memory it takes does not grow with the
/// journals.
///
/// # Errors
/// [`JournalError`] if the folder itself cannot be read. What is wrong inside is in the
/// report.
pub fn check_folder(folder: &Path) -> Result<CheckReport, JournalError> {
    let listing = list_any(folder)?;
    let mut report = CheckReport {
        jobs: listing.jobs.len(),
        left_alone: listing.left_alone,
        ..CheckReport::default()
    };
    for job in &listing.jobs {
        report.set_aside.extend(job.torn.iter().cloned());
        report
            .journals
            .extend(job.journals.iter().map(|file| check_journal(job, file)));
    }
    Ok(report)
}

fn check_journal(job: &JobFolder, file: &JournalFile) -> Checked {
    let mut seals = SealReport::default();
    let end = match Reader::open(&file.path, job.job, file.tablet, Limits::OWN, Mark::START) {
        Ok(Ok(reader)) => reader.for_each(|entry, line, over| {
            if let Some(at) = SealAt::of(&entry, line, over) {
                seals.weigh(&at, None);
            }
        }),
        Ok(Err(fault)) => ReadEnd {
            fault: Some(fault),
            ..ReadEnd::default()
        },
        Err(e) => ReadEnd {
            fault: Some(JournalFault {
                file: file.path.clone(),
                line: 1,
                field: String::new(),
                why: e.to_string(),
            }),
            ..ReadEnd::default()
        },
    };
    Checked {
        file: file.path.clone(),
        job: job.job,
        tablet: file.tablet,
        end,
        seals,
    }
}
