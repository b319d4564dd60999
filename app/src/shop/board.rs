//! The board: a card for every job of a folder, kept up to date by reading what is new.

mod hours;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use trayzero_core::job::Entry;
use trayzero_core::journal::{
    Cover, EndSeal, JobFolder, JournalError, JournalFault, JournalFile, Limits, Mark, Members,
    Reader, find_job, list_jobs_but,
};
use trayzero_core::plan::{Score, ShopPace};
use trayzero_core::shop_log::Proofs;
use uuid::Uuid;

use super::FileFault;
use super::card::{Block, Card, is_shown};
use super::spread::spread;
use crate::data::store::{FinishedJobs, JobFold, JobSummary, LearnedTimes};

/// A board over a data folder or a shop folder.
#[derive(Debug, Default)]
pub struct Board {
    root: PathBuf,
    limits: Option<Limits>,
    /// Whose lines count; without, all do: in a tablet's own folder nothing else lies.
    members: Option<Members>,
    /// What signatures are held against.
    proofs: Proofs,
    jobs: BTreeMap<Uuid, Followed>,
    left_alone: Vec<FileFault>,
    /// No summary is believed, not even this folder's own.
    reads_all: bool,
    /// Whether what the data folder knows to be over is left out.
    leaves_out_finished: bool,
    learned: LearnedTimes,
    /// What the shop has learned of its hours, and from which jobs, the latest last.
    pace: Option<(Vec<Uuid>, Arc<ShopPace>)>,
    /// How the forecasts of finished jobs turned out, each by what was known before it.
    scores: BTreeMap<Uuid, Vec<Score>>,
}

/// A job as far as its journals have been read.
#[derive(Debug)]
struct Followed {
    journals: BTreeMap<Uuid, Journal>,
    /// The state behind the card; `None` once the job is over, for then the card is all
    /// that is ever shown. Should more lines come all the same, the job is read anew.
    fold: Option<JobFold>,
    card: Arc<Card>,
}

/// How far one journal has been read.
#[derive(Clone, Debug)]
struct Journal {
    mark: Mark,
    bytes: u64,
    fault: Option<JournalFault>,
    /// It has lines that nobody vouches for.
    waits: bool,
    /// It no longer has the lines that were read from it.
    is_rolled_back: bool,
    /// It is a stranger's, and a foreman has dismissed it as it was.
    is_dismissed: bool,
}

impl Journal {
    /// One of which nothing counts and that holds up nothing.
    fn nothing_of(file: &JournalFile) -> Self {
        Self {
            mark: Mark::START,
            bytes: file.bytes,
            fault: None,
            waits: false,
            is_rolled_back: false,
            is_dismissed: false,
        }
    }
}

/// How journals are looked at.
#[derive(Debug)]
struct Sight {
    root: PathBuf,
    limits: Limits,
    members: Option<Members>,
    reads_all: bool,
    proofs: Proofs,
}

impl Board {
    /// Reads a folder's jobs, on as many threads as the machine has.
    ///
    /// # Errors
    /// [`JournalError`] if the folder itself cannot be read.
    pub fn of_folder(root: &Path, limits: Limits, proofs: Proofs) -> Result<Self, JournalError> {
        let mut board = Self {
            root: root.to_owned(),
            limits: Some(limits),
            proofs,
            ..Self::default()
        };
        board.read_on()?;
        Ok(board)
    }

    /// The same, every job from its journals: no summary is believed.
    ///
    /// # Errors
    /// [`JournalError`] if the folder itself cannot be read.
    pub fn of_journals(root: &Path, limits: Limits, proofs: Proofs) -> Result<Self, JournalError> {
        let mut board = Self {
            root: root.to_owned(),
            limits: Some(limits),
            proofs,
            reads_all: true,
            ..Self::default()
        };
        board.read_on()?;
        Ok(board)
    }

    /// The same for a folder that others write to: of every journal only those lines count
    /// that a seal of a member covers, and nobody's summary is believed.
    ///
    /// # Errors
    /// [`JournalError`] if the folder itself cannot be read.
    pub fn of_members(root: &Path, members: Members, proofs: Proofs) -> Result<Self, JournalError> {
        let mut board = Self {
            root: root.to_owned(),
            limits: Some(Limits::FOREIGN),
            members: Some(members),
            reads_all: true,
            proofs,
            ..Self::default()
        };
        board.read_on()?;
        Ok(board)
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
        let mut board = Self {
            root: root.to_owned(),
            limits: Some(limits),
            proofs,
            leaves_out_finished: true,
            learned: FinishedJobs::read(root).into_learned(),
            ..Self::default()
        };
        board.read_on()?;
        Ok(board)
    }

    /// Reads what is new in any job. The work grows with the new bytes, besides one look
    /// at each file's length. Gives the jobs that have changed.
    ///
    /// # Errors
    /// [`JournalError`] if the folder itself cannot be read.
    pub fn read_on(&mut self) -> Result<Vec<Uuid>, JournalError> {
        let finished = if self.leaves_out_finished {
            FinishedJobs::read(&self.root)
        } else {
            FinishedJobs::default()
        };
        let listing = list_jobs_but(&self.root, |job| {
            finished.contains(job) && !self.jobs.contains_key(&job)
        })?;
        drop(finished);
        let left = listing.left_alone.into_iter();
        self.left_alone = left
            .map(|left| FileFault {
                path: left.path,
                why: left.why,
            })
            .collect();
        let changed: Vec<&JobFolder> = listing
            .jobs
            .iter()
            .filter(|job| self.has_changed(job))
            .collect();
        let sight = self.sight();
        let mut work: Vec<(&JobFolder, Option<Followed>)> = Vec::with_capacity(changed.len());
        for job in &changed {
            work.push((job, self.jobs.remove(&job.job)));
        }
        for (job, followed) in spread(work, |(job, followed)| {
            (job.job, Followed::read(job, followed, &sight))
        }) {
            self.jobs.insert(job, followed);
        }
        Ok(changed.into_iter().map(|job| job.job).collect())
    }

    /// Holds signatures against another log from now on: every job is read and judged anew
    /// at the next reading. Those that are over are known by their summaries as far as these
    /// were judged the same.
    pub fn set_proofs(&mut self, proofs: Proofs) {
        if self.proofs != proofs {
            self.proofs = proofs;
            self.jobs.clear();
        }
    }

    /// Reads what is new in one job alone. Gives whether there was anything.
    ///
    /// # Errors
    /// [`JournalError`] if its folder cannot be read.
    pub fn read_job(&mut self, job: Uuid) -> Result<bool, JournalError> {
        let Some(folder) = find_job(&self.root, job)? else {
            return Ok(false);
        };
        if !self.has_changed(&folder) {
            return Ok(false);
        }
        let known = self.jobs.remove(&job);
        let read = Followed::read(&folder, known, &self.sight());
        self.jobs.insert(job, read);
        Ok(true)
    }

    fn sight(&self) -> Sight {
        Sight {
            root: self.root.clone(),
            limits: self.limits.unwrap_or(Limits::FOREIGN),
            members: self.members.clone(),
            reads_all: self.reads_all,
            proofs: self.proofs.clone(),
        }
    }

    fn has_changed(&self, folder: &JobFolder) -> bool {
        let Some(known) = self.jobs.get(&folder.job) else {
            return !folder.journals.is_empty();
        };
        folder.journals.iter().any(|file| {
            known.journals.get(&file.tablet).is_none_or(|journal| {
                let was_changed = || !is_dismissed(self.members.as_ref(), folder.job, file);
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

impl Followed {
    /// Reads a job anew, or on from where it was read.
    fn read(folder: &JobFolder, known: Option<Self>, sight: &Sight) -> Self {
        if known.is_none()
            && !sight.reads_all
            && let Some(summary) = JobSummary::read(folder, &sight.proofs)
            && summary.phase.is_over()
        {
            return Self::of_summary(folder, summary);
        }
        let fresh = || Self {
            journals: BTreeMap::new(),
            fold: None,
            card: Arc::new(Card::of_summary(
                folder.job,
                JobSummary::default(),
                Vec::new(),
            )),
        };
        // A job known by its card alone has no state to go on from.
        let known = known.filter(|known| known.fold.is_some());
        let mut followed = known.unwrap_or_else(fresh);
        let mut new = Vec::new();
        for file in &folder.journals {
            let mark = followed
                .journals
                .get(&file.tablet)
                .map_or(Mark::START, |journal| journal.mark);
            let journal = read_journal_on(file, folder.job, mark, sight, &mut new);
            followed.journals.insert(file.tablet, journal);
        }
        let new_fold = || JobFold::new(folder.job, &sight.proofs);
        let mut fold = followed.fold.take().unwrap_or_else(new_fold);
        let is_rolled_back = followed.journals.values().any(|j| j.is_rolled_back);
        if is_rolled_back || !fold.take_on(&mut new) {
            fold = followed.fold_anew(folder, sight);
        }
        followed.make_card(folder.job, fold);
        followed
    }

    /// A finished job's summary was checked against the end of each journal.
    fn of_summary(folder: &JobFolder, summary: JobSummary) -> Self {
        let journals = folder
            .journals
            .iter()
            .map(|file| (file.tablet, Journal::nothing_of(file)));
        let journals: BTreeMap<Uuid, Journal> = journals.collect();
        let tablets = journals.keys().copied().collect();
        Self {
            fold: None,
            card: Arc::new(Card::of_summary(folder.job, summary, tablets)),
            journals,
        }
    }

    /// Lines have come that belong before others: everything is read and folded again.
    fn fold_anew(&mut self, folder: &JobFolder, sight: &Sight) -> JobFold {
        let mut all = Vec::with_capacity(folder.journals.len());
        for file in &folder.journals {
            let mut entries = Vec::new();
            let journal = read_journal_on(file, folder.job, Mark::START, sight, &mut entries);
            self.journals.insert(file.tablet, journal);
            all.push(entries);
        }
        JobFold::of(folder.job, &sight.proofs, all)
    }

    fn make_card(&mut self, job: Uuid, fold: JobFold) {
        let tablets = self.journals.keys().copied().collect();
        let mut card = Card::of(job, fold.state(), tablets);
        let faults = self.journals.values().filter_map(|j| j.fault.as_ref());
        let waiting = self.journals.values().filter(|j| j.waits).count();
        if waiting > 0 {
            card.blocks.push(Block::NotConfirmed(waiting));
        }
        let not_signed = fold.not_signed().iter().cloned();
        card.blocks
            .extend(not_signed.map(|n| Block::NotSigned(Box::new(n))));
        card.blocks
            .extend(faults.map(|fault| Block::FileFault(fault.to_string())));
        if card.work == self.card.work {
            // Nothing that the time to go rests on has changed.
            card.to_go = self.card.to_go;
        }
        self.fold = (!card.summary.phase.is_over()).then_some(fold);
        self.card = Arc::new(card);
    }
}

/// Whether a foreman has dismissed a stranger's file as it lies there.
fn is_dismissed(members: Option<&Members>, job: Uuid, file: &JournalFile) -> bool {
    members.is_some_and(|members| members.dismisses_file(job, file))
}

fn read_journal_on(
    file: &JournalFile,
    job: Uuid,
    mark: Mark,
    sight: &Sight,
    new: &mut Vec<Entry>,
) -> Journal {
    if is_dismissed(sight.members.as_ref(), job, file) {
        return Journal {
            is_dismissed: true,
            ..Journal::nothing_of(file)
        };
    }
    let stuck = |fault: JournalFault, is_rolled_back: bool| Journal {
        mark,
        fault: Some(fault),
        waits: sight.members.is_some(),
        is_rolled_back,
        ..Journal::nothing_of(file)
    };
    let opened = Reader::open(&file.path, job, file.tablet, sight.limits, mark);
    match (opened, &sight.members) {
        (Ok(Ok(reader)), None) => {
            let end = reader.for_each(|entry, _, _| new.push(entry));
            Journal {
                mark: end.mark,
                fault: end.fault,
                ..Journal::nothing_of(file)
            }
        }
        (Ok(Ok(reader)), Some(members)) => {
            let seal = EndSeal::read(&sight.root, job, file.tablet).ok().flatten();
            let cover = Cover::new(job, file.tablet, members, seal.as_ref());
            let covered = cover.read(reader, |entry, _| new.push(entry));
            Journal {
                mark: covered.mark,
                waits: covered.leaves_something(),
                fault: covered.end.fault,
                ..Journal::nothing_of(file)
            }
        }
        (Ok(Err(fault)), _) => stuck(fault, !mark.is_start()),
        (Err(error), _) => stuck(
            JournalFault {
                file: file.path.clone(),
                line: mark.lines + 1,
                field: String::new(),
                why: error.to_string(),
            },
            false,
        ),
    }
}
