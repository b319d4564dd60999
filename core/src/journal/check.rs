//! Looking at every line of every journal in a folder.

use std::path::{Path, PathBuf};

use uuid::Uuid;

use super::folder::{JobFolder, JournalFile, list_any};
use super::reader::{Limits, Mark, ReadEnd, Reader};
use super::seal::SealReport;
use super::{
    Cover, Covered, EndSeal, FORMAT, FileFault, JournalError, JournalFault, Members, WrongSeal,
    order,
};
use crate::job::Entry;

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
    /// Whether the shop has admitted its tablet.
    pub is_admitted: bool,
    /// A foreman has dismissed it, a stranger's, as it lies there.
    pub is_dismissed: bool,
    /// Events that no member's seal covers.
    pub unsealed: u64,
    /// Bytes that a seal signs and that are not there.
    pub missing: u64,
    /// Seals that vouch for nothing.
    pub wrong_seals: Vec<WrongSeal>,
}

impl Checked {
    /// Whether every line holds.
    pub fn is_clean(&self) -> bool {
        self.end.torn.is_none() && self.end.fault.is_none() && self.seals.bad.is_empty()
    }

    /// Whether every line holds, is known, and is sealed by a member of the shop.
    pub fn is_sure(&self) -> bool {
        let is_sealed = self.unsealed == 0 && self.missing == 0 && self.wrong_seals.is_empty();
        self.is_clean() && self.is_admitted && is_sealed && self.end.unknown == 0
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
    /// Side files that hold lines nobody has vouched for.
    pub unconfirmed: Vec<PathBuf>,
    /// Jobs without a journal.
    pub empty: Vec<PathBuf>,
    /// What is neither a job nor a journal.
    pub left_alone: Vec<FileFault>,
}

impl CheckReport {
    /// Whether every line of every journal holds.
    pub fn is_clean(&self) -> bool {
        self.journals.iter().all(Checked::is_clean)
    }

    /// Whether there is anything, all of it was read, and all of it counts.
    pub fn is_sure(&self) -> bool {
        let is_whole = self.jobs > 0 && self.empty.is_empty();
        let is_read = self.left_alone.is_empty() && self.unconfirmed.is_empty();
        is_whole && is_read && self.journals.iter().all(Checked::is_sure)
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
    check_folder_of(folder, &Members::default(), |_, _| {})
}

/// The same, with who was admitted to the shop: [`CheckReport::is_sure`] leans on it.
/// `signed` gets the events of each job that count and carry a person's signature, in the
/// order of the job, for whoever knows the people.
///
/// # Errors
/// As [`check_folder`].
pub fn check_folder_of(
    folder: &Path,
    members: &Members,
    mut signed: impl FnMut(Uuid, Vec<Entry>),
) -> Result<CheckReport, JournalError> {
    let listing = list_any(folder)?;
    let mut report = CheckReport {
        jobs: listing.jobs.len(),
        left_alone: listing.left_alone,
        ..CheckReport::default()
    };
    for job in &listing.jobs {
        report.set_aside.extend(job.torn.iter().cloned());
        report.unconfirmed.extend(job.unconfirmed.iter().cloned());
        if job.journals.is_empty() {
            report.empty.push(job.path.clone());
        }
        let mut entries = Vec::new();
        let journals = job.journals.iter();
        let journals = journals.map(|file| check_journal(job, file, members, &mut entries));
        report.journals.extend(journals);
        entries.sort_by(order);
        signed(job.job, entries);
    }
    Ok(report)
}

fn check_journal(
    job: &JobFolder,
    file: &JournalFile,
    members: &Members,
    signed: &mut Vec<Entry>,
) -> Checked {
    let mut seals = SealReport::default();
    let end = match Reader::open(&file.path, job.job, file.tablet, Limits::OWN, Mark::START) {
        Ok(Ok(reader)) => reader.for_each(|entry, line, over| seals.weigh(&entry, line, over)),
        Ok(Err(fault)) => ReadEnd {
            fault: Some(fault),
            ..ReadEnd::default()
        },
        Err(e) => ReadEnd {
            fault: Some(JournalFault {
                file: file.path.clone(),
                line: 1,
                field: String::new(),
                why: e.unread(),
            }),
            ..ReadEnd::default()
        },
    };
    let mut covered = cover_of(job, file, members, signed);
    if covered.waiting == 0 {
        // The seals of a lost tablet, on lines that stand by the word of the log.
        let is_lost = |key: &String| members.struck_off(file.tablet, key);
        covered
            .wrong
            .retain(|wrong| !wrong.stranger.as_ref().is_some_and(is_lost));
    }
    Checked {
        is_admitted: members.knows(file.tablet),
        is_dismissed: members.dismisses_file(job.job, file),
        unsealed: covered.waiting,
        missing: covered.missing,
        wrong_seals: covered.wrong,
        file: file.path.clone(),
        job: job.job,
        tablet: file.tablet,
        end,
        seals,
    }
}

/// What no seal covers. It is read a second time: the first time looked at every line,
/// whoever wrote it.
fn cover_of(
    job: &JobFolder,
    file: &JournalFile,
    members: &Members,
    signed: &mut Vec<Entry>,
) -> Covered {
    let seal = EndSeal::beside(&file.path).ok().flatten();
    let cover = Cover::new(job.job, file.tablet, members, seal.as_ref());
    match Reader::open(&file.path, job.job, file.tablet, Limits::OWN, Mark::START) {
        Ok(Ok(reader)) => cover.read(reader, |entry, _| {
            if entry.event.signatures().next().is_some() {
                signed.push(entry);
            }
        }),
        // The first reading has said what is wrong.
        _ => Covered::default(),
    }
}
