//! The data folder of this tablet, and the jobs in it.
//!
//! ```text
//! tablet.json  tablet.key     who this tablet is; the key is for this user alone
//! jobs/<job>/<tablet>.jsonl   journals: this tablet's own, and copies of the others'
//! layouts/                    the shop's own engine layouts
//! log/                        the shop log: who belongs to the shop
//! keys.json  box.key          locked keys of the people; for this user alone
//! attempts.json  tries.json   the codes tried, sealed by the tablet
//! settings.json  joined.json  pins.json
//! finished.txt  learned.json  the jobs that are over, and what forecasts learn from them
//! ```

mod acknowledged;
mod clock;
mod error;
mod finished;
mod fold;
mod from_paper;
mod new_tablet;
mod open_job;
mod others;
pub mod sealed;
pub mod small_file;
mod summary;
mod tablet;
mod told;

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use directories::ProjectDirs;
use trayzero_core::job::{Event, Opening, Person};
use trayzero_core::journal::{
    FileFault, JobFolder, Limits, event_id, find_job, list_jobs_but, read_journal,
};
use trayzero_core::shop_log::{Proofs, Shop};
use uuid::Uuid;

pub use acknowledged::Acknowledged;
pub use clock::{Clock, SetClock, Stamp, SystemClock};
pub use error::{DiskTrouble, ProposeError, StoreError, StoreNote};
pub use finished::{FinishedJobs, LearnedTimes};
pub use fold::JobFold;
pub use open_job::OpenJob;
pub use small_file::{Doing, FileError};
pub use summary::{AirOn, Ended, Fell, JobSummary, dangers_of};
pub use tablet::{GoesOnAsNew, TABLET_FILE, TABLET_NAME_MAX, Tablet, WhyNew};
pub use told::{AnyFault, InGerman};

/// The folder of the shop's own layouts, in the data folder.
pub const LAYOUTS_FOLDER: &str = "layouts";

pub(crate) use clock::random;

/// The usual folder for this user's data, where `--data` names none.
///
/// # Errors
/// [`StoreError::NoFolder`] if the system knows none.
pub fn usual_folder() -> Result<PathBuf, StoreError> {
    let folders = ProjectDirs::from("", "", "trayzero").ok_or(StoreError::NoFolder)?;
    Ok(folders.data_dir().to_owned())
}

/// One job in a list.
#[derive(Clone, Debug, PartialEq)]
pub struct ListedJob {
    /// The job.
    pub job: Uuid,
    /// Its figures.
    pub summary: JobSummary,
    /// This tablet has written lines of it.
    pub is_own: bool,
}

/// The jobs under way in the folder, and what could not be read of it.
#[derive(Clone, Debug, Default)]
pub struct JobList {
    /// The jobs that are not over, by identity: that is, in the order in which they were
    /// made.
    pub jobs: Vec<ListedJob>,
    /// How many jobs are over.
    pub finished: usize,
    /// Faults, each naming the file.
    pub faults: Vec<AnyFault>,
    /// What is neither a job nor a journal.
    pub left_alone: Vec<FileFault>,
}

/// What the exchange with the shop folder needs of the store, for a thread of its own.
#[derive(Clone, Debug)]
pub struct ForExchange {
    pub(crate) root: PathBuf,
    pub(crate) tablet: Arc<Tablet>,
    pub(crate) acknowledged: Arc<Acknowledged>,
}

/// The data folder of this tablet.
#[derive(Debug)]
pub struct Store {
    root: PathBuf,
    tablet: Arc<Tablet>,
    acknowledged: Arc<Acknowledged>,
    /// What signatures are held against.
    proofs: Proofs,
    goes_on_as_new: Option<GoesOnAsNew>,
}

impl Store {
    /// Opens a data folder, and makes it at the first start.
    ///
    /// # Errors
    /// [`StoreError`], which names the file.
    pub fn open(root: &Path, now: Stamp) -> Result<Self, StoreError> {
        for folder in [
            root.to_owned(),
            root.join("jobs"),
            root.join(LAYOUTS_FOLDER),
        ] {
            fs::create_dir_all(&folder)
                .map_err(|e| FileError::of(&folder, Doing::MakingFolder, e))?;
        }
        let (tablet, goes_on_as_new) = Tablet::open(root, now)?;
        Ok(Self {
            root: root.to_owned(),
            tablet: Arc::new(tablet),
            acknowledged: Arc::default(),
            proofs: Proofs::default(),
            goes_on_as_new,
        })
    }

    /// The data folder.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// The folder of the shop's own layouts.
    pub fn layouts_folder(&self) -> PathBuf {
        self.root.join(LAYOUTS_FOLDER)
    }

    /// Who this tablet is.
    pub fn tablet(&self) -> &Arc<Tablet> {
        &self.tablet
    }

    /// The shop whose log signatures are held against from now on. A job that is open is told
    /// by itself ([`OpenJob::set_shop`]).
    pub fn set_shop(&mut self, shop: Option<&Shop>) {
        self.proofs = Proofs::of(shop, Some(self.tablet.id()));
    }

    /// What signatures are held against.
    pub fn proofs(&self) -> &Proofs {
        &self.proofs
    }

    /// How far own journals are acknowledged, for whoever copies them.
    pub fn acknowledged(&self) -> &Arc<Acknowledged> {
        &self.acknowledged
    }

    /// What the exchange with the shop folder needs.
    pub fn for_exchange(&self) -> ForExchange {
        ForExchange {
            root: self.root.clone(),
            tablet: Arc::clone(&self.tablet),
            acknowledged: Arc::clone(&self.acknowledged),
        }
    }

    /// That this tablet is a new one since the folder was opened, and why.
    pub fn goes_on_as_new(&self) -> Option<&GoesOnAsNew> {
        self.goes_on_as_new.as_ref()
    }

    /// Gives the tablet another name. Jobs that are open keep the name they were opened
    /// with until they are opened again; no line carries it.
    ///
    /// # Errors
    /// [`StoreError::BadName`], or what the disk says.
    pub fn rename_tablet(&mut self, name: &str, now: Stamp) -> Result<(), StoreError> {
        let (mut tablet, _) = Tablet::open(&self.root, now)?;
        tablet.rename(&self.root, name)?;
        self.tablet = Arc::new(tablet);
        Ok(())
    }

    /// Every job under way that is known here, told by its checked summary where there is
    /// one. What is known to be over is only counted; nothing of it is read.
    ///
    /// # Errors
    /// [`StoreError`] if the folder itself cannot be read.
    pub fn jobs(&self) -> Result<JobList, StoreError> {
        let mut finished = FinishedJobs::read(&self.root);
        finished.judge_by(&self.proofs);
        let listing = list_jobs_but(&self.root, |job| finished.contains(job))?;
        let mut list = JobList {
            left_alone: listing.left_alone,
            ..JobList::default()
        };
        for folder in &listing.jobs {
            let (listed, is_sound) = self.listed(folder, &mut list.faults);
            if is_sound && listed.summary.phase.is_over() {
                finished.add(folder, &listed.summary);
            } else {
                list.jobs.push(listed);
            }
        }
        finished.write(&self.root);
        list.finished = finished.count();
        Ok(list)
    }

    /// Jobs that are over, the latest first, without the `left_out` first ones.
    pub fn finished(&self, left_out: usize, most: usize) -> Vec<ListedJob> {
        let finished = FinishedJobs::read(&self.root);
        let jobs = finished.latest().skip(left_out).take(most);
        jobs.filter_map(|job| find_job(&self.root, job).ok()?)
            .map(|folder| self.listed(&folder, &mut Vec::new()).0)
            .collect()
    }

    /// A job that was over may have got more lines: the next list looks at it again. Gives
    /// whether it was over.
    pub fn forget_finished(&self, job: Uuid) -> bool {
        let mut finished = FinishedJobs::read(&self.root);
        let was_over = finished.forget(job);
        finished.write(&self.root);
        was_over
    }

    /// A job as a list shows it, and whether its journals hold to their ends.
    fn listed(&self, folder: &JobFolder, faults: &mut Vec<AnyFault>) -> (ListedJob, bool) {
        let (summary, is_sound) = summary_of(folder, &self.proofs, faults);
        let own = self.tablet.id();
        let listed = ListedJob {
            job: folder.job,
            summary,
            is_own: folder.journals.iter().any(|file| file.tablet == own),
        };
        (listed, is_sound)
    }

    /// Makes a job; its opening is its first line.
    ///
    /// # Errors
    /// [`StoreError::Refused`] for an opening that the rules refuse, or what the disk says.
    pub fn create_job(&self, opening: Opening, now: Stamp) -> Result<OpenJob, StoreError> {
        let job = event_id(now.at_ms, &random()?);
        let who: Person = opening.technician.clone();
        let mut open = self.open_files(job)?;
        open.propose(now, &who, &[Event::JobOpened(Box::new(opening))])
            .map_err(|error| match error {
                ProposeError::Refused { refusal, .. } => StoreError::Refused(refusal),
                ProposeError::Disk { why, .. } | ProposeError::ReadOnly(why) => {
                    StoreError::NotKept(why)
                }
            })?;
        Ok(open)
    }

    /// Opens a job that is known here.
    ///
    /// # Errors
    /// [`StoreError::NoSuchJob`], or what the disk says. A job that can only be read
    /// opens and says so ([`OpenJob::read_only`]).
    pub fn open_job(&self, job: Uuid) -> Result<OpenJob, StoreError> {
        match find_job(&self.root, job)? {
            Some(folder) if !folder.journals.is_empty() => self.open_files(job),
            _ => Err(StoreError::NoSuchJob { job }),
        }
    }

    fn open_files(&self, job: Uuid) -> Result<OpenJob, StoreError> {
        let tablet = Arc::clone(&self.tablet);
        let acknowledged = Arc::clone(&self.acknowledged);
        OpenJob::open(&self.root, job, tablet, acknowledged, self.proofs.clone())
    }
}

/// The figures of a finished job that tell how it ended. A summary that an older program kept
/// does not: then the job is read once more. `None` where it is gone, or not over any more.
pub fn finished_job(root: &Path, job: Uuid, proofs: &Proofs) -> Option<JobSummary> {
    let folder = find_job(root, job).ok()??;
    let known = JobSummary::read(&folder, proofs).filter(|known| known.ended.is_some());
    let summary = known.unwrap_or_else(|| summary_anew(&folder, proofs, &mut Vec::new()).0);
    summary.phase.is_over().then_some(summary)
}

/// The figures of a job, and whether its journals hold to their ends and all of it counts:
/// from its checked summary, or else from its events.
fn summary_of(
    folder: &JobFolder,
    proofs: &Proofs,
    faults: &mut Vec<AnyFault>,
) -> (JobSummary, bool) {
    match JobSummary::read(folder, proofs) {
        Some(summary) => (summary, true),
        None => summary_anew(folder, proofs, faults),
    }
}

/// The same from its events, and keeps the summary.
fn summary_anew(
    folder: &JobFolder,
    proofs: &Proofs,
    faults: &mut Vec<AnyFault>,
) -> (JobSummary, bool) {
    let mut marks = Vec::new();
    let mut journals = Vec::new();
    let mut is_sound = true;
    for file in &folder.journals {
        match read_journal(&file.path, folder.job, file.tablet, Limits::OWN) {
            Ok(read) => {
                if let Some(fault) = &read.fault {
                    faults.push(Arc::new(fault.clone()));
                }
                is_sound &= read.fault.is_none() && read.torn.is_none() && !read.is_newer();
                marks.push((file.tablet, read.mark));
                journals.push(read.entries);
            }
            Err(error) => {
                is_sound = false;
                faults.push(Arc::new(error));
            }
        }
    }
    let fold = JobFold::of(folder.job, proofs, journals);
    is_sound &= fold.not_signed().is_empty();
    let summary = JobSummary::of(fold.state());
    if is_sound && !folder.journals.is_empty() {
        summary.keep(&folder.path, folder.job, &marks, proofs);
    }
    (summary, is_sound)
}
