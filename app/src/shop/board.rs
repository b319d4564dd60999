//! The board: a card for every job of a folder, kept up to date by reading what is new.

mod hours;

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use trayzero_core::journal::{
    JobFolder, JournalError, JournalFault, Limits, Listing, Members, find_job, job_folders,
};
use trayzero_core::plan::{Score, ShopPace};
use trayzero_core::shop_log::Proofs;
use uuid::Uuid;

use super::FileFault;
use super::card::{Block, Card, is_shown};
use super::followed::{Followed, LinesRead, LookedAt, is_dismissed};
use super::spread::spread;
use crate::data::store::{FinishedJobs, LearnedTimes};

/// A board over a data folder or a shop folder.
#[derive(Debug, Default)]
pub struct Board {
    sight: LookedAt,
    jobs: BTreeMap<Uuid, Followed>,
    left_alone: Vec<FileFault>,
    /// Whether what the data folder knows to be over is left out.
    leaves_out_finished: bool,
    learned: LearnedTimes,
    /// What the shop has learned of its hours, and from which jobs, the latest last.
    pace: Option<(Vec<Uuid>, Arc<ShopPace>)>,
    /// How the forecasts of finished jobs turned out, each by what was known before it.
    scores: BTreeMap<Uuid, Vec<Score>>,
}

/// The files of so many jobs are read before any of their lines is folded.
const JOBS_AT_ONCE: usize = 64;

impl Board {
    /// Reads a folder's jobs, on as many threads as the machine has.
    ///
    /// # Errors
    /// [`JournalError`] if the folder itself cannot be read.
    pub fn of_folder(root: &Path, limits: Limits, proofs: Proofs) -> Result<Self, JournalError> {
        Self::over(root, limits, proofs).begun()
    }

    /// The same, every job from its journals: no summary is believed.
    ///
    /// # Errors
    /// [`JournalError`] if the folder itself cannot be read.
    pub fn of_journals(root: &Path, limits: Limits, proofs: Proofs) -> Result<Self, JournalError> {
        let mut board = Self::over(root, limits, proofs);
        board.sight.reads_all = true;
        board.begun()
    }

    /// The same for a folder that others write to: of every journal only those lines count
    /// that a seal of a member covers, and nobody's summary is believed.
    ///
    /// # Errors
    /// [`JournalError`] if the folder itself cannot be read.
    pub fn of_members(root: &Path, members: Members, proofs: Proofs) -> Result<Self, JournalError> {
        let mut board = Self::over(root, Limits::FOREIGN, proofs);
        board.sight.members = Some(members);
        board.sight.reads_all = true;
        board.begun()
    }

    /// The same without the jobs that this data folder knows to be over; forecasts lean on
    /// what was learned from them.
    ///
    /// # Errors
    /// [`JournalError`] if the folder itself cannot be read.
    pub fn of_unfinished(
        root: &Path,
        limits: Limits,
        proofs: Proofs,
    ) -> Result<Self, JournalError> {
        let mut board = Self::over(root, limits, proofs);
        board.leaves_out_finished = true;
        board.learned = FinishedJobs::read(root).into_learned();
        board.begun()
    }

    fn over(root: &Path, limits: Limits, proofs: Proofs) -> Self {
        let sight = LookedAt {
            root: root.to_owned(),
            limits: Some(limits),
            proofs,
            ..LookedAt::default()
        };
        Self {
            sight,
            ..Self::default()
        }
    }

    fn begun(mut self) -> Result<Self, JournalError> {
        self.read_on()?;
        Ok(self)
    }

    /// Reads what is new in any job. The work grows with the new bytes, besides one look
    /// at each file's length. Gives the jobs that have changed.
    ///
    /// # Errors
    /// [`JournalError`] if the folder itself cannot be read.
    pub fn read_on(&mut self) -> Result<Vec<Uuid>, JournalError> {
        let finished = if self.leaves_out_finished {
            FinishedJobs::read(&self.sight.root)
        } else {
            FinishedJobs::default()
        };
        let (folders, beside) = job_folders(&self.sight.root, |job| {
            finished.contains(job) && !self.jobs.contains_key(&job)
        })?;
        drop(finished);
        let listing = beside.with(spread(folders, |(job, path)| Listing::of_job(job, &path)));
        self.left_alone = listing.left_alone;
        let changed: Vec<&JobFolder> = listing
            .jobs
            .iter()
            .filter(|job| self.has_changed(job))
            .collect();
        let sight = &self.sight;
        // Files are read by many threads and lines folded by this one: what stays for long
        // would else lie scattered over the memory of threads that have ended.
        for some in changed.chunks(JOBS_AT_ONCE) {
            let work: Vec<_> = some.iter().map(|f| (*f, self.jobs.get(&f.job))).collect();
            let lines = spread(work, |(folder, known)| {
                LinesRead::read(folder, known, sight)
            });
            for (folder, lines) in some.iter().zip(lines) {
                let known = self.jobs.remove(&folder.job);
                let followed = Followed::take(folder, known, lines, sight);
                self.jobs.insert(folder.job, followed);
            }
        }
        Ok(changed.into_iter().map(|job| job.job).collect())
    }

    /// Holds signatures against another log from now on: every job is read and judged anew
    /// at the next reading. Those that are over are known by their summaries as far as these
    /// were judged the same.
    pub fn set_proofs(&mut self, proofs: Proofs) {
        if self.sight.proofs != proofs {
            self.sight.proofs = proofs;
            self.jobs.clear();
        }
    }

    /// Reads what is new in one job alone. Gives whether there was anything.
    ///
    /// # Errors
    /// [`JournalError`] if its folder cannot be read.
    pub fn read_job(&mut self, job: Uuid) -> Result<bool, JournalError> {
        let Some(folder) = find_job(&self.sight.root, job)? else {
            return Ok(false);
        };
        if !self.has_changed(&folder) {
            return Ok(false);
        }
        let known = self.jobs.remove(&job);
        let read = Followed::read(&folder, known, &self.sight);
        self.jobs.insert(job, read);
        Ok(true)
    }

    fn has_changed(&self, folder: &JobFolder) -> bool {
        let Some(known) = self.jobs.get(&folder.job) else {
            return !folder.journals.is_empty();
        };
        folder.journals.iter().any(|file| {
            known.journals.get(&file.tablet).is_none_or(|journal| {
                let was_changed = || !is_dismissed(self.sight.members.as_ref(), folder.job, file);
                let looks_again = journal.waits || journal.is_dismissed && was_changed();
                looks_again || journal.bytes != file.bytes
            })
        })
    }

    /// A job's card.
    pub fn card(&self, job: Uuid) -> Option<&Card> {
        self.jobs.get(&job).map(|followed| &*followed.card)
    }

    /// Every card, by job. They are shared, so a copy of the board costs little.
    pub fn cards(&self) -> Vec<Arc<Card>> {
        self.jobs
            .values()
            .filter(|followed| is_shown(&followed.card.summary))
            .map(|followed| Arc::clone(&followed.card))
            .collect()
    }

    /// The state of a job that is not over, for looking at it and for checks.
    pub fn state(&self, job: Uuid) -> Option<&trayzero_core::job::JobState> {
        let fold = self.jobs.get(&job)?.fold.as_ref()?;
        Some(fold.state())
    }

    /// What does not hold in any journal.
    pub fn faults(&self) -> impl Iterator<Item = &JournalFault> {
        self.jobs
            .values()
            .flat_map(|followed| followed.journals.values())
            .filter_map(|journal| journal.fault.as_ref())
    }

    /// Jobs that have no card, for nothing of them counts; with what is wrong with them.
    pub fn not_shown(&self) -> impl Iterator<Item = (Uuid, &Block)> {
        let jobs = self.jobs.iter();
        let hidden = jobs.filter(|(_, followed)| !is_shown(&followed.card.summary));
        hidden.flat_map(|(job, followed)| followed.card.blocks.iter().map(|block| (*job, block)))
    }

    /// What lies in the folder and is neither a job nor a journal.
    pub fn left_alone(&self) -> &[FileFault] {
        &self.left_alone
    }
}
