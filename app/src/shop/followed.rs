//! One job of the board, as far as its journals have been read.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

use trayzero_core::job::Entry;
use trayzero_core::journal::{
    Cover, EndSeal, JobFolder, JournalFault, JournalFile, Limits, Mark, Members, Reader,
};
use trayzero_core::shop_log::Proofs;
use uuid::Uuid;

use super::card::{Block, Card};
use crate::data::store::{JobFold, JobSummary};

/// A job as far as its journals have been read.
#[derive(Debug)]
pub(super) struct Followed {
    pub journals: BTreeMap<Uuid, Journal>,
    /// The state behind the card; `None` once the job is over, for then the card is all
    /// that is ever shown. Should more lines come all the same, the job is read anew.
    pub fold: Option<JobFold>,
    pub card: Arc<Card>,
}

/// How far one journal has been read.
#[derive(Clone, Debug)]
pub(super) struct Journal {
    pub mark: Mark,
    pub bytes: u64,
    pub fault: Option<JournalFault>,
    /// It has lines that nobody vouches for.
    pub waits: bool,
    /// It no longer has the lines that were read from it.
    pub is_rolled_back: bool,
    /// It is a stranger's, and a foreman has dismissed it as it was.
    pub is_dismissed: bool,
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
#[derive(Debug, Default)]
pub(super) struct LookedAt {
    pub root: PathBuf,
    pub limits: Option<Limits>,
    /// Whose lines count; without, all do: in a tablet's own folder nothing else lies.
    pub members: Option<Members>,
    /// No summary is believed, not even this folder's own.
    pub reads_all: bool,
    /// What signatures are held against.
    pub proofs: Proofs,
}

/// What the files of a job have brought, before any of it is folded.
pub(super) enum LinesRead {
    /// The job is over, and its summary was checked against the end of each journal.
    Summary(Box<JobSummary>),
    /// How far each journal is read now, and the lines that are new.
    New(Vec<(Uuid, Journal)>, Vec<Entry>),
}

impl LinesRead {
    /// Reads a job's files anew, or on from where they were read.
    pub fn read(folder: &JobFolder, known: Option<&Followed>, sight: &LookedAt) -> Self {
        if known.is_none()
            && !sight.reads_all
            && let Some(summary) = JobSummary::read(folder, &sight.proofs)
            && summary.phase.is_over()
        {
            return Self::Summary(Box::new(summary));
        }
        // A job known by its card alone has no state to go on from.
        let known = known.filter(|known| known.fold.is_some());
        let mut new = Vec::new();
        let mut read = Vec::with_capacity(folder.journals.len());
        for file in &folder.journals {
            let journal = known.and_then(|known| known.journals.get(&file.tablet));
            let mark = journal.map_or(Mark::START, |journal| journal.mark);
            let journal = read_journal_on(file, folder.job, mark, sight, &mut new);
            read.push((file.tablet, journal));
        }
        Self::New(read, new)
    }
}

impl Followed {
    /// Reads a job anew, or on from where it was read.
    pub fn read(folder: &JobFolder, known: Option<Self>, sight: &LookedAt) -> Self {
        let lines = LinesRead::read(folder, known.as_ref(), sight);
        Self::take(folder, known, lines, sight)
    }

    /// Takes in what was read of a job, anew or from where it had been read.
    pub fn take(
        folder: &JobFolder,
        known: Option<Self>,
        lines: LinesRead,
        sight: &LookedAt,
    ) -> Self {
        let (read, mut new) = match lines {
            LinesRead::Summary(summary) => return Self::of_summary(folder, *summary),
            LinesRead::New(read, new) => (read, new),
        };
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
        followed.journals.extend(read);
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
    fn fold_anew(&mut self, folder: &JobFolder, sight: &LookedAt) -> JobFold {
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
            .extend(faults.map(|fault| Block::FileFault(Box::new(fault.clone()))));
        if card.work == self.card.work {
            // Nothing that the time to go rests on has changed.
            card.to_go = self.card.to_go;
        }
        self.fold = (!card.summary.phase.is_over()).then_some(fold);
        self.card = Arc::new(card);
    }
}

/// Whether a foreman has dismissed a stranger's file as it lies there.
pub(super) fn is_dismissed(members: Option<&Members>, job: Uuid, file: &JournalFile) -> bool {
    members.is_some_and(|members| members.dismisses_file(job, file))
}

fn read_journal_on(
    file: &JournalFile,
    job: Uuid,
    mark: Mark,
    sight: &LookedAt,
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
    let limits = sight.limits.unwrap_or(Limits::FOREIGN);
    let opened = Reader::open(&file.path, job, file.tablet, limits, mark);
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
                why: error.unread(),
            },
            false,
        ),
    }
}
