//! From a job's journals on disk to its record: what the command line, the demo and the
//! window share. Nothing is written.

use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;
use trayzero_core::journal::{JobFolder, JournalError, JournalFile, Limits, Members, list_jobs};
use trayzero_core::record::Record;
use trayzero_core::shop_log::Proofs;
use uuid::Uuid;

use super::sources::{JournalBytes, LinesTold, Made, Sources};
use crate::data::crew::log_files::{Most, logs_in};
use crate::data::pictures::{Found, find_named};
use crate::shop::Admitted;

/// The most that goes into a record of logs of tablets that are none of the shop's.
const LOGS_MOST: Most = Most {
    files: 200,
    bytes: 16 << 20,
};

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
    /// What it is made from.
    pub sources: Sources,
    /// The shop's log by tablet.
    pub logs: BTreeMap<Uuid, Vec<u8>>,
    /// Tablets and the keys they are known by, where there is no log that says it.
    pub members: Members,
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
    let footing = LinesTold {
        is_whole: true,
        own: proofs.own(),
    };
    let folder = find(data, job)?;
    told(data, &folder, footing, &Members::default(), proofs)
}

/// The same from a folder that others may have written to: of every journal only those
/// lines are told that a seal of a member covers. What is left out is a fault of the record,
/// unless a foreman has dismissed a stranger's file.
///
/// # Errors
/// As [`gather`].
pub fn gather_of(data: &Path, job: Uuid, admitted: &Admitted) -> Result<Gathered, GatherError> {
    let footing = LinesTold {
        is_whole: false,
        own: admitted.own,
    };
    let mut folder = find(data, job)?;
    let is_dismissed = |file: &JournalFile| admitted.members.dismisses_file(job, file);
    folder.journals.retain(|file| !is_dismissed(file));
    told(data, &folder, footing, &admitted.members, &admitted.proofs)
}

fn told(
    data: &Path,
    folder: &JobFolder,
    footing: LinesTold,
    members: &Members,
    proofs: &Proofs,
) -> Result<Gathered, GatherError> {
    let limits = if footing.is_whole {
        Limits::OWN
    } else {
        Limits::FOREIGN
    };
    let mut journals = BTreeMap::new();
    for journal in &folder.journals {
        let is_own = footing.own == Some(journal.tablet);
        let limits = if is_own { Limits::OWN } else { limits };
        let read = JournalBytes::read(journal, folder.job, limits)?;
        journals.insert(journal.tablet, read);
    }
    let mut sources = Sources {
        job: folder.job,
        journals,
        footing,
        limits,
        pictures: BTreeMap::new(),
        changed_pictures: BTreeSet::new(),
    };
    let Made { record, notes, .. } = sources.record(members, proofs);
    let Some(mut record) = record else {
        return Err(GatherError::NeverOpened {
            folder: folder.path.clone(),
            faults: notes,
        });
    };
    let logs = logs_in(data, &members.tablets().collect(), LOGS_MOST);
    find_pictures(data, &mut record, &mut sources);
    Ok(Gathered {
        record,
        notes,
        sources,
        // A record without its log is one that says so when it is checked.
        logs: logs.unwrap_or_default().bytes,
        members: members.clone(),
    })
}

/// Looks for the copy of every picture that the record names.
fn find_pictures(data: &Path, record: &mut Record, sources: &mut Sources) {
    for line in &record.pictures {
        let name = &line.copy_sha256;
        match find_named(data, sources.job, name, line.copy_bytes) {
            Found::Whole(copy) => {
                sources.pictures.insert(name.clone(), copy.into());
            }
            Found::Changed => {
                sources.changed_pictures.insert(name.clone());
            }
            Found::Missing => {}
        }
    }
    sources.tell_pictures(record);
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
