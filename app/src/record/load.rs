//! From a job's journals on disk to its record: what the command line, the demo and the
//! window share. Nothing is written.

use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;
use trayzero_core::journal::{
    Cover, EndSeal, JobFolder, JournalError, JournalFault, JournalFile, JournalRead, Limits, Mark,
    Members, Reader, list_jobs, read_journal,
};
use trayzero_core::record::{JournalFault as FaultTold, Record};
use trayzero_core::shop_log::Proofs;
use uuid::Uuid;

use crate::data::store::JobFold;
use crate::shop::Admitted;

/// Why there is no record of a job.
#[derive(Debug, Error)]
pub enum GatherError {
    /// The folder cannot be listed.
    #[error("{}: it cannot be listed: {cause}", folder.display())]
    Folder {
        /// The folder.
        folder: PathBuf,
        /// What the system said.
        cause: io::Error,
    },
    /// A journal cannot be read.
    #[error(transparent)]
    Journal(#[from] JournalError),
    /// The folder has no such job.
    #[error("{}: there is no job {job} in this folder{}", folder.display(), listed(known))]
    NoSuchJob {
        /// The folder.
        folder: PathBuf,
        /// The job asked for.
        job: Uuid,
        /// The jobs that are there.
        known: Vec<Uuid>,
    },
    /// None of the job's journals says that it was opened.
    #[error("{}: no line of this job's journals opens it{}", folder.display(), because(faults))]
    NeverOpened {
        /// The job's folder.
        folder: PathBuf,
        /// What is wrong with the journals, file and line named.
        faults: Vec<String>,
    },
}

fn listed(known: &[Uuid]) -> String {
    let ids: Vec<String> = known.iter().take(20).map(ToString::to_string).collect();
    match (ids.len(), known.len()) {
        (0, _) => "; it holds no job at all".to_owned(),
        (shown, all) if shown == all => format!("; there are: {}", ids.join(", ")),
        _ => format!("; there are {}, the first: {}", known.len(), ids.join(", ")),
    }
}

fn because(faults: &[String]) -> String {
    if faults.is_empty() {
        String::new()
    } else {
        format!(": {}", faults.join("; "))
    }
}

/// A record with what a person should know about where it comes from.
#[derive(Clone, Debug)]
pub struct Gathered {
    /// The record.
    pub record: Record,
    /// Torn lines, faults and newer lines, file and line named.
    pub notes: Vec<String>,
}

/// Gathers the record of a job from the journals in a data folder or a shop folder.
///
/// A journal that does not hold to its end still gives its good lines; the record then
/// says on every page that it rests on a faulty journal. An event with a signature that does
/// not count is told apart.
///
/// # Errors
/// [`GatherError`] where there is no such job, nothing of it can be read, or no line
/// opens it.
pub fn gather(data: &Path, job: Uuid, proofs: &Proofs) -> Result<Gathered, GatherError> {
    let folder = find(data, job)?;
    let mut read = Vec::new();
    for journal in &folder.journals {
        let journal = read_journal(&journal.path, job, journal.tablet, Limits::OWN)?;
        read.push(journal);
    }
    told(folder, read, proofs)
}

/// The same from a folder that others may have written to: of every journal only those
/// lines are told that a seal of a member covers. What is left out is a fault of the record,
/// unless a foreman has dismissed a stranger's file.
///
/// # Errors
/// As [`gather`].
pub fn gather_of(data: &Path, job: Uuid, admitted: &Admitted) -> Result<Gathered, GatherError> {
    let folder = find(data, job)?;
    let mut read = Vec::new();
    let journals = folder.journals.iter();
    for journal in journals.filter(|file| !admitted.members.dismisses_file(job, file)) {
        let journal = if admitted.own == Some(journal.tablet) {
            read_journal(&journal.path, job, journal.tablet, Limits::OWN)?
        } else {
            read_covered(journal, job, &admitted.members)?
        };
        read.push(journal);
    }
    told(folder, read, &admitted.proofs)
}

/// The lines of a journal that count. What else is there becomes its fault.
fn read_covered(
    journal: &JournalFile,
    job: Uuid,
    members: &Members,
) -> Result<JournalRead, JournalError> {
    let mut read = JournalRead::nothing_of(&journal.path, job, journal.tablet);
    let left_out = |line: u64, why: String| JournalFault {
        file: journal.path.clone(),
        line,
        field: String::new(),
        why,
    };
    if !members.knows(journal.tablet) {
        let why = "nobody has admitted this tablet to the shop; nothing of it is told";
        read.fault = Some(left_out(1, why.to_owned()));
        return Ok(read);
    }
    let limits = Limits::FOREIGN;
    let reader = match Reader::open(&journal.path, job, journal.tablet, limits, Mark::START)? {
        Ok(reader) => reader,
        Err(fault) => {
            read.fault = Some(fault);
            return Ok(read);
        }
    };
    let seal = EndSeal::beside(&journal.path).ok().flatten();
    let cover = Cover::new(job, journal.tablet, members, seal.as_ref());
    let covered = cover.read(reader, |entry, _| read.entries.push(entry));
    read.mark = covered.mark;
    read.unknown = covered.end.unknown;
    read.fault.clone_from(&covered.end.fault);
    if read.fault.is_none() && covered.leaves_something() {
        let why = match covered.complaint() {
            Some(why) => format!("from here on it is not sealed by a member of the shop: {why}"),
            None => "from here on it is not sealed by a member of the shop".to_owned(),
        };
        read.fault = Some(left_out(covered.mark.lines + 1, why));
    }
    Ok(read)
}

fn told(
    folder: JobFolder,
    read: Vec<JournalRead>,
    proofs: &Proofs,
) -> Result<Gathered, GatherError> {
    let notes = notes(&read);
    let last = read
        .iter()
        .filter(|j| !j.mark.is_start())
        .max_by_key(|j| (j.mark.clock, j.tablet));
    let last_link = last.map(|j| j.mark.link.to_string()).unwrap_or_default();
    let faults = faults(&read);
    let journals = read.into_iter().map(|j| j.entries);
    let (fold, entries) = JobFold::with_entries(folder.job, proofs, journals);
    let Some(mut record) = Record::of(fold.state(), &entries, &last_link) else {
        return Err(GatherError::NeverOpened {
            folder: folder.path,
            faults: notes,
        });
    };
    record.journal_faults = faults;
    record.tell_not_signed(fold.state(), fold.not_signed());
    Ok(Gathered { record, notes })
}

fn find(data: &Path, job: Uuid) -> Result<JobFolder, GatherError> {
    data.read_dir().map_err(|cause| GatherError::Folder {
        folder: data.to_owned(),
        cause,
    })?;
    let mut jobs = list_jobs(data)?.jobs;
    match jobs.iter().position(|j| j.job == job) {
        Some(index) => Ok(jobs.swap_remove(index)),
        None => Err(GatherError::NoSuchJob {
            folder: data.to_owned(),
            job,
            known: jobs.iter().map(|j| j.job).collect(),
        }),
    }
}

/// What is wrong with the journals and so belongs into the record.
fn faults(read: &[JournalRead]) -> Vec<FaultTold> {
    let faulty = read.iter().filter_map(|j| {
        let fault = j.fault.as_ref()?;
        Some(FaultTold {
            tablet: j.tablet,
            line: fault.line,
            field: fault.field.clone(),
            why: fault.why.clone(),
        })
    });
    faulty.collect()
}

fn notes(read: &[JournalRead]) -> Vec<String> {
    let mut notes = Vec::new();
    for journal in read {
        notes.extend(journal.fault.iter().map(ToString::to_string));
        notes.extend(journal.torn.iter().map(ToString::to_string));
        if journal.unknown > 0 {
            notes.push(format!(
                "{}: {} lines of a newer format are not in the record",
                journal.file.display(),
                journal.unknown
            ));
        }
    }
    notes
}
