//! What a record is made from, byte for byte: from these alone it can be made again, on the
//! tablet and by whoever gets them with the record.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::sync::Arc;

use trayzero_core::job::Entry;
use trayzero_core::journal::{
    Cover, EndSeal, JournalError, JournalFault, JournalFile, JournalRead, JournalWhy, Limits, Mark,
    Members, Reader, read_plain, sha256,
};
use trayzero_core::record::{JournalFaultLine as FaultTold, PictureFound, Record};
use trayzero_core::shop_log::{ENDS_BYTES_MAX, Proofs};
use uuid::Uuid;

use crate::data::store::JobFold;
use crate::ui::words::EN;

/// One tablet's journal of the job.
#[derive(Clone, Debug)]
pub struct JournalBytes {
    /// Where it lies, for messages.
    pub file: PathBuf,
    /// Its bytes up to the end of its last whole line.
    pub bytes: Vec<u8>,
    /// The seal beside it.
    pub seal: Option<Vec<u8>>,
    /// The ends of all journals as people signed them on its tablet.
    pub ends: Option<Vec<u8>>,
    /// How far its lines hold.
    pub mark: Mark,
    /// Why it was not read at all.
    unread: Option<JournalFault>,
}

/// Which lines are told.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LinesTold {
    /// Every journal counts as it stands: in a tablet's own folder lies only what it has
    /// weighed itself. Otherwise only what a member has sealed counts.
    pub is_whole: bool,
    /// The tablet whose own folder it was.
    pub own: Option<Uuid>,
}

/// The journals of one job, and how they are read.
#[derive(Clone, Debug)]
pub struct Sources {
    /// The job.
    pub job: Uuid,
    /// By tablet.
    pub journals: BTreeMap<Uuid, JournalBytes>,
    /// Which lines are told.
    pub footing: LinesTold,
    /// The largest journal that is read.
    pub limits: Limits,
    /// Copies of the job's pictures, by the SHA-256 that they lay under.
    pub pictures: BTreeMap<String, Arc<[u8]>>,
    /// Pictures in whose place something else lay.
    pub changed_pictures: BTreeSet<String>,
}

/// A record as it was made from its sources.
#[derive(Clone, Debug)]
pub struct Made {
    /// The record; `None` where no line opens the job.
    pub record: Option<Record>,
    /// Torn lines, faults and newer lines, file and line named.
    pub notes: Vec<String>,
    /// The job as a bay shows it, and what it was folded from.
    pub job: ReplayedJob,
}

/// A job from its lines alone, in memory.
#[derive(Clone, Debug)]
pub struct ReplayedJob {
    /// Its state.
    pub fold: JobFold,
    /// The lines that count, in their order.
    pub entries: Vec<Entry>,
}

impl JournalBytes {
    /// A journal that is in memory already.
    pub fn of(file: PathBuf, bytes: Vec<u8>, seal: Option<Vec<u8>>) -> Self {
        Self {
            file,
            bytes,
            seal,
            ends: None,
            mark: Mark::START,
            unread: None,
        }
    }

    /// Reads a journal and the seal beside it.
    ///
    /// # Errors
    /// [`JournalError`] if it cannot be opened.
    pub fn read(journal: &JournalFile, job: Uuid, limits: Limits) -> Result<Self, JournalError> {
        let path = &journal.path;
        // It knows what is too large, and words what the system says.
        let unread = Reader::open(path, job, journal.tablet, limits, Mark::START)?.err();
        let mut read = Self::of(path.clone(), Vec::new(), None);
        if unread.is_none() {
            let copied = read_plain(path, 0, limits.file_bytes + 1);
            read.bytes = copied.map_err(|cause| JournalError::Io {
                file: path.clone(),
                doing: "reading it",
                cause,
            })?;
            read.seal = read_plain(&path.with_extension("seal"), 0, SEAL_BYTES_MAX).ok();
            read.ends = read_plain(&path.with_extension("ends"), 0, ENDS_BYTES_MAX).ok();
        }
        read.unread = unread;
        Ok(read)
    }

    /// Whether it is here to its end.
    pub fn is_whole(&self) -> bool {
        self.unread.is_none()
    }

    /// The seal beside it, where it reads as one.
    pub fn end_seal(&self) -> Option<EndSeal> {
        let text = self.seal.as_ref()?;
        EndSeal::from_bytes(text).ok()
    }

    /// A reader of its lines.
    pub fn reader(&self, job: Uuid, tablet: Uuid, limits: Limits) -> Reader<&[u8]> {
        Reader::new(
            self.bytes.as_slice(),
            &self.file,
            job,
            tablet,
            limits,
            Mark::START,
        )
    }

    /// All its good lines, whoever has sealed them.
    fn read_whole(&mut self, job: Uuid, tablet: Uuid, limits: Limits) -> JournalRead {
        let mut read = JournalRead::nothing_of(&self.file, job, tablet);
        if let Some(fault) = &self.unread {
            read.fault = Some(fault.clone());
            return read;
        }
        let reader = self.reader(job, tablet, limits);
        let end = reader.for_each(|entry, _, _| read.entries.push(entry));
        self.mark = end.mark;
        read.unknown = end.unknown;
        read.mark = end.mark;
        read.fault = end.fault;
        if let Some(torn) = &end.torn {
            // Nobody was ever told of such a line.
            self.bytes.truncate(torn.offset as usize);
        }
        read.torn = end.torn;
        read
    }

    /// The lines of a journal that count. What else is there becomes its fault.
    fn read_covered(
        &mut self,
        job: Uuid,
        tablet: Uuid,
        limits: Limits,
        members: &Members,
    ) -> JournalRead {
        let mut read = JournalRead::nothing_of(&self.file, job, tablet);
        let left_out = |line: u64, why: JournalWhy| JournalFault {
            file: self.file.clone(),
            line,
            field: String::new(),
            why,
        };
        if !members.knows(tablet) {
            read.fault = Some(left_out(1, JournalWhy::NotAdmitted));
            return read;
        }
        if let Some(fault) = &self.unread {
            read.fault = Some(fault.clone());
            return read;
        }
        let seal = self.end_seal();
        let cover = Cover::new(job, tablet, members, seal.as_ref());
        let reader = self.reader(job, tablet, limits);
        let covered = cover.read(reader, |entry, _| read.entries.push(entry));
        read.mark = covered.mark;
        read.unknown = covered.end.unknown;
        read.fault.clone_from(&covered.end.fault);
        if read.fault.is_none() && covered.leaves_something() {
            let why = JournalWhy::NotSealed(covered.complaint().map(Box::new));
            read.fault = Some(left_out(covered.mark.lines + 1, why));
        }
        self.mark = covered.end.mark;
        if let Some(torn) = covered.end.torn {
            self.bytes.truncate(torn.offset as usize);
        }
        read
    }
}

/// More than the seal beside a journal ever has.
const SEAL_BYTES_MAX: u64 = 2 << 10;

impl Sources {
    /// Makes the record. `members` says whose lines count, `proofs` whose signatures.
    pub fn record(&mut self, members: &Members, proofs: &Proofs) -> Made {
        let (job, footing) = (self.job, self.footing.clone());
        let read: Vec<JournalRead> = self
            .journals
            .iter_mut()
            .map(|(tablet, journal)| {
                let is_own = footing.own == Some(*tablet);
                let limits = if is_own { Limits::OWN } else { self.limits };
                if footing.is_whole || is_own {
                    journal.read_whole(job, *tablet, limits)
                } else {
                    journal.read_covered(job, *tablet, limits, members)
                }
            })
            .collect();
        let notes = notes(&read);
        let last = read
            .iter()
            .filter(|j| !j.mark.is_start())
            .max_by_key(|j| (j.mark.clock, j.tablet));
        let last_link = last.map(|j| j.mark.link.to_string()).unwrap_or_default();
        let faults = faults(&read);
        let journals = read.into_iter().map(|j| j.entries);
        let (fold, entries) = JobFold::with_entries(job, proofs, journals);
        let why = |refusal: &_| EN.refusal_why(refusal);
        let mut record = Record::of(fold.state(), &entries, &last_link, why);
        if let Some(record) = &mut record {
            record.journal_faults = faults;
            record.tell_not_signed(fold.state(), fold.not_signed());
            self.tell_pictures(record);
        }
        Made {
            record,
            notes,
            job: ReplayedJob { fold, entries },
        }
    }

    /// Tells what there is of each picture; only the very bytes that its event names are it.
    pub fn tell_pictures(&self, record: &mut Record) {
        for line in &mut record.pictures {
            let name = &line.copy_sha256;
            let copy = self.pictures.get(name);
            let is_it =
                |copy: &&Arc<[u8]>| copy.len() as u64 == line.copy_bytes && sha256(copy) == *name;
            line.copy = copy.filter(is_it).cloned();
            line.found = match copy {
                Some(_) if line.copy.is_some() => PictureFound::Whole,
                Some(_) => PictureFound::Changed,
                None if self.changed_pictures.contains(name) => PictureFound::Changed,
                None => PictureFound::Missing,
            };
        }
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
