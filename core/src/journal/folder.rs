//! The folders that journals lie in.

use std::fs::{self, DirEntry};
use std::io;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};
use uuid::Uuid;

use super::{FileFault, JournalError, Limits, Link, read_plain};

/// The folder of all jobs within a data folder or a shop folder.
const JOBS: &str = "jobs";

/// A job's checked summary, and one that is being written.
pub(super) const SUMMARY: &str = "summary.json";
pub(super) const SUMMARY_UNFINISHED: &str = "summary.json.new";
/// The folder of a job's pictures within the job's own.
const PICTURES: &str = "pictures";

/// The most names of one folder that are looked at.
const NAMES_MAX: usize = 20_000;

/// The folder of a job.
pub fn job_path(data: &Path, job: Uuid) -> PathBuf {
    data.join(JOBS).join(job.to_string())
}

/// The folder of a job's pictures.
pub fn pictures_path(data: &Path, job: Uuid) -> PathBuf {
    job_path(data, job).join(PICTURES)
}

/// The journal of a tablet on a job.
pub fn journal_path(data: &Path, job: Uuid, tablet: Uuid) -> PathBuf {
    job_path(data, job).join(format!("{tablet}.jsonl"))
}

/// A journal that is there.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct JournalFile {
    /// The tablet that writes it.
    pub tablet: Uuid,
    /// The file.
    pub path: PathBuf,
    /// Its length.
    pub bytes: u64,
}

impl JournalFile {
    /// SHA-256 of the whole file as it was listed.
    ///
    /// # Errors
    /// What the system says, or that it is too large or of another length by now.
    pub fn hash(&self) -> io::Result<Link> {
        if self.bytes > Limits::FOREIGN.file_bytes {
            return Err(io::Error::other("it is too large"));
        }
        let text = read_plain(&self.path, 0, self.bytes + 1)?;
        if text.len() as u64 != self.bytes {
            return Err(io::Error::other("it is being written to"));
        }
        Ok(Link(Sha256::digest(&text).into()))
    }
}

/// A job that is there.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct JobFolder {
    /// The job.
    pub job: Uuid,
    /// The folder.
    pub path: PathBuf,
    /// Its journals by tablet.
    pub journals: Vec<JournalFile>,
    /// Side files with torn lines.
    pub torn: Vec<PathBuf>,
    /// Side files with lines that nobody has vouched for.
    pub unconfirmed: Vec<PathBuf>,
    /// Tablets that somebody says are in use twice.
    pub twins: Vec<Uuid>,
    /// The folder of its pictures.
    pub pictures: Option<PathBuf>,
}

/// All jobs of a folder.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Listing {
    /// The jobs, by identity.
    pub jobs: Vec<JobFolder>,
    /// Everything else.
    pub left_alone: Vec<FileFault>,
}

/// Lists the jobs of a data folder or a shop folder. Only plain folders and files with a
/// UUID for a name count; links are never followed, and nothing is opened. A folder with
/// no jobs in it yet is no error.
///
/// # Errors
/// [`JournalError`] if the folder cannot be read.
pub fn list_jobs(data: &Path) -> Result<Listing, JournalError> {
    list_jobs_but(data, |_| false)
}

/// The same without the jobs that are `left_out`, whose folders are not looked into.
///
/// # Errors
/// [`JournalError`] if the folder cannot be read.
pub fn list_jobs_but(
    data: &Path,
    left_out: impl Fn(Uuid) -> bool,
) -> Result<Listing, JournalError> {
    let (folders, listing) = job_folders(data, left_out)?;
    let jobs = folders
        .iter()
        .map(|(job, path)| Listing::of_job(*job, path));
    Ok(listing.with(jobs))
}

/// The folders of jobs that [`list_jobs_but`] looks into, and what lies beside them: for
/// callers that look into many at once.
///
/// # Errors
/// [`JournalError`] if the folder cannot be read.
pub fn job_folders(
    data: &Path,
    left_out: impl Fn(Uuid) -> bool,
) -> Result<(Vec<(Uuid, PathBuf)>, Listing), JournalError> {
    let (mut folders, mut listing) = (Vec::new(), Listing::default());
    let jobs = data.join(JOBS);
    let failed = |e| JournalError::from_io(&jobs, "listing it", e);
    match jobs.symlink_metadata() {
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok((folders, listing)),
        Err(e) => return Err(failed(e)),
        Ok(known) if !known.is_dir() => {
            listing.leave(&jobs, "it is no folder");
            return Ok((folders, listing));
        }
        Ok(_) => {}
    }
    for name in names_in(&jobs, &mut listing).map_err(failed)? {
        let path = name.path();
        match uuid_name(&path, "") {
            None => listing.leave(&path, "its name is no job"),
            Some(job) if left_out(job) => {}
            Some(_) if !name.file_type().is_ok_and(|t| t.is_dir()) => {
                listing.leave(&path, "it is no plain folder");
            }
            Some(job) => folders.push((job, path)),
        }
    }
    Ok((folders, listing))
}

/// Lists the jobs of whichever of these `folder` is: a data folder or a shop folder, its
/// `jobs` folder, the folder of one job.
pub(super) fn list_any(folder: &Path) -> Result<Listing, JournalError> {
    let failed = |e| JournalError::from_io(folder, "listing it", e);
    let whole = folder.canonicalize().map_err(failed)?;
    whole.read_dir().map_err(failed)?;
    if whole.join(JOBS).is_dir() {
        return list_jobs(folder);
    }
    if let Some(job) = uuid_name(&whole, "") {
        let mut listing = Listing::default();
        let found = list_job(folder, job, &mut listing).map_err(failed)?;
        listing.jobs.push(found);
        return Ok(listing);
    }
    match whole.parent() {
        Some(above) if whole.file_name().is_some_and(|name| name == JOBS) => list_jobs(above),
        _ => Ok(Listing::default()),
    }
}

/// The folder of one job, without looking at the others; `None` if it is not there.
///
/// # Errors
/// [`JournalError`] if the folder cannot be read.
pub fn find_job(data: &Path, job: Uuid) -> Result<Option<JobFolder>, JournalError> {
    let path = job_path(data, job);
    let failed = |e| JournalError::from_io(&path, "listing it", e);
    match path.symlink_metadata() {
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(e) => Err(failed(e)),
        Ok(known) if !known.is_dir() => Ok(None),
        Ok(_) => {
            let mut rest = Listing::default();
            list_job(&path, job, &mut rest).map(Some).map_err(failed)
        }
    }
}

/// Lists the journals of one job's folder.
fn list_job(path: &Path, job: Uuid, listing: &mut Listing) -> io::Result<JobFolder> {
    let mut folder = JobFolder {
        job,
        path: path.to_owned(),
        journals: Vec::new(),
        torn: Vec::new(),
        unconfirmed: Vec::new(),
        twins: Vec::new(),
        pictures: None,
    };
    let mut seals = Vec::new();
    for name in names_in(path, listing)? {
        let path = name.path();
        let known = match name.metadata() {
            Ok(known) => known,
            // A file that is being moved into place may have gone since it was listed.
            Err(e) if e.kind() == io::ErrorKind::NotFound => continue,
            Err(e) => return Err(e),
        };
        if known.is_dir() && path.file_name().is_some_and(|name| name == PICTURES) {
            // What belongs in it is told by the events alone.
            folder.pictures = Some(path);
        } else if !known.is_file() {
            listing.leave(&path, "it is no plain file");
        } else if let Some(tablet) = uuid_name(&path, "jsonl") {
            folder.journals.push(JournalFile {
                tablet,
                path,
                bytes: known.len(),
            });
        } else if uuid_name(&path, "torn").is_some() {
            folder.torn.push(path);
        } else if uuid_name(&path, "unconfirmed").is_some() {
            folder.unconfirmed.push(path);
        } else if let Some(tablet) = uuid_name(&path, "twin") {
            folder.twins.push(tablet);
        } else if let Some(tablet) = uuid_name(&path, "seal") {
            seals.push((tablet, path));
        } else if uuid_name(&path, "ends").is_some() {
            // Signed by people when the job was closed; whoever makes the record reads it.
        } else if path.extension().is_some_and(|e| e == "new") {
            // A small file on its way into its place.
        } else if !is_summary(&path) {
            listing.leave(&path, "its name is no journal");
        }
    }
    folder.journals.sort();
    folder.torn.sort();
    folder.unconfirmed.sort();
    folder.twins.sort();
    for (tablet, path) in seals {
        if folder
            .journals
            .iter()
            .all(|journal| journal.tablet != tablet)
        {
            listing.leave(&path, "the journal that it seals is missing");
        }
    }
    Ok(folder)
}

impl Listing {
    /// What lies in the folder of one job.
    pub fn of_job(job: Uuid, path: &Path) -> Self {
        let mut listing = Self::default();
        match list_job(path, job, &mut listing) {
            Ok(folder) => listing.jobs.push(folder),
            Err(e) => listing.leave(path, &format!("it cannot be read: {e}")),
        }
        listing
    }

    /// Takes others in, in order.
    #[must_use]
    pub fn with(mut self, others: impl IntoIterator<Item = Listing>) -> Self {
        for other in others {
            self.jobs.extend(other.jobs);
            self.left_alone.extend(other.left_alone);
        }
        self.jobs.sort();
        self.left_alone.sort();
        self
    }

    fn leave(&mut self, path: &Path, why: &str) {
        self.left_alone.push(FileFault::new(path, why));
    }
}

/// The names in a folder, as many as are looked at.
fn names_in(folder: &Path, listing: &mut Listing) -> io::Result<Vec<DirEntry>> {
    let mut names = Vec::new();
    for name in fs::read_dir(folder)? {
        if names.len() == NAMES_MAX {
            listing.leave(folder, &format!("it has more than {NAMES_MAX} names"));
            break;
        }
        names.push(name?);
    }
    Ok(names)
}

/// The UUID that a name is, spelled as it is written here and with this extension.
fn uuid_name(path: &Path, extension: &str) -> Option<Uuid> {
    let name = path.file_name()?.to_str()?;
    let stem = match extension {
        "" => name,
        _ => name.strip_suffix(extension)?.strip_suffix('.')?,
    };
    let uuid = Uuid::parse_str(stem).ok()?;
    (uuid.to_string() == stem).then_some(uuid)
}

/// Whether a name in a job's folder is the summary's.
fn is_summary(path: &Path) -> bool {
    path.file_name()
        .is_some_and(|name| name == SUMMARY || name == SUMMARY_UNFINISHED)
}
