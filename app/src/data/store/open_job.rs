//! A job that is open on this tablet: its state, and the one way to change it.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use trayzero_core::job::{Effects, Entry, Event, Foreseen, JobState, Person, Refusal};
use trayzero_core::journal::{
    Hlc, JournalError, JournalFault, JournalRead, Limits, Mark, Opened, Writer, event_id, find_job,
    journal_path, read_journal,
};
use trayzero_core::shop_log::{NotSigned, Proofs, Shop};
use uuid::Uuid;

use super::acknowledged::Acknowledged;
use super::clock::random;
use super::{AnyFault, JobFold, JobSummary, ProposeError, Stamp, StoreError, StoreNote, Tablet};

/// A job open on this tablet. Dropping it lets the file go; [`OpenJob::close`] signs first.
#[derive(Debug)]
pub struct OpenJob {
    root: PathBuf,
    job: Uuid,
    pub(super) tablet: Arc<Tablet>,
    acknowledged: Arc<Acknowledged>,
    fold: JobFold,
    /// What is read of each tablet's journal, this one's included.
    pub(super) journals: BTreeMap<Uuid, JournalRead>,
    writer: Option<Writer>,
    read_only: Option<AnyFault>,
    /// The clock of this tablet's last line.
    pub(super) clock: Hlc,
    /// The latest clock of the others.
    heard: Hlc,
    /// Own lines since the last own seal.
    unsealed: bool,
    /// A person's signature among them. The other tablets take it in only with the seal.
    owes_seal: bool,
    notes: Vec<AnyFault>,
    /// Journals with lines that no seal covers, as the shop last said.
    unsealed_journals: usize,
    /// What the signatures in other tablets' lines are held against.
    proofs: Proofs,
}

impl OpenJob {
    /// Opens a job: reads every tablet's journal and, where this tablet has one, locks it
    /// for writing. Where that cannot be, the job opens read-only and says why.
    pub(super) fn open(
        root: &Path,
        job: Uuid,
        tablet: Arc<Tablet>,
        acknowledged: Arc<Acknowledged>,
        proofs: Proofs,
    ) -> Result<Self, StoreError> {
        let mut open = Self {
            root: root.to_owned(),
            job,
            tablet,
            acknowledged,
            fold: JobFold::default(),
            journals: BTreeMap::new(),
            writer: None,
            read_only: None,
            clock: Hlc::default(),
            heard: Hlc::default(),
            unsealed: false,
            owes_seal: false,
            notes: Vec::new(),
            unsealed_journals: 0,
            proofs,
        };
        if journal_path(root, job, open.tablet.id()).exists() {
            open.open_own();
        }
        open.read_foreign()?;
        open.refold();
        Ok(open)
    }

    /// The job's identity.
    pub fn id(&self) -> Uuid {
        self.job
    }

    /// The state, over the lines of all tablets known here.
    pub fn state(&self) -> &JobState {
        self.fold.state()
    }

    /// Why the job can only be read here, if so.
    pub fn read_only(&self) -> Option<&AnyFault> {
        self.read_only.as_ref()
    }

    /// What the person at the tablet should know about the files: a torn line set aside,
    /// a seal that could not be written. Taken out by asking.
    pub fn take_notes(&mut self) -> Vec<AnyFault> {
        std::mem::take(&mut self.notes)
    }

    /// What does not hold in any tablet's journal of this job.
    pub fn faults(&self) -> impl Iterator<Item = &JournalFault> {
        self.journals
            .values()
            .filter_map(|read| read.fault.as_ref())
    }

    /// Identities that came with different contents: somebody has tampered with a file.
    pub fn clashes(&self) -> &[Uuid] {
        self.fold.clashes()
    }

    /// Every entry known here, merged: for the record and for checks.
    pub fn entries(&self) -> Vec<Entry> {
        let journals = self.journals.values().map(|read| read.entries.clone());
        trayzero_core::journal::merge(journals).entries
    }

    /// Proposes events, all or none. When it returns they are on the disk and in the
    /// state; a signature is followed by the tablet's own.
    ///
    /// # Errors
    /// [`ProposeError`]; nothing has changed then.
    pub fn propose(
        &mut self,
        now: Stamp,
        who: &Person,
        events: &[Event],
    ) -> Result<Vec<Effects>, ProposeError> {
        self.ready(now, who)?;
        let (entries, clock) = self.entries_of(now, who, events)?;
        self.write_down(now, who, entries, clock)
    }

    pub(super) fn ready(&mut self, now: Stamp, who: &Person) -> Result<(), ProposeError> {
        self.be_writable()?;
        if self.owes_seal {
            self.seal(now, who);
        }
        Ok(())
    }

    pub(super) fn write_down(
        &mut self,
        now: Stamp,
        who: &Person,
        entries: Vec<Entry>,
        clock: Hlc,
    ) -> Result<Vec<Effects>, ProposeError> {
        let is_signed_for = entries.iter().any(|entry| wants_seal(&entry.event));
        let foreseen = self.check(&entries)?;
        let effects = self.keep(entries, clock, foreseen)?;
        if is_signed_for {
            self.seal(now, who);
        }
        if self.state().phase().is_over() {
            self.summarise();
        }
        Ok(effects)
    }

    /// Signs all own lines, if there are any since the last signature: at sign-offs, at
    /// hand-over, before lines go to the shop folder, and at a clean exit. What goes wrong
    /// becomes a note, for nobody has tapped anything.
    pub fn seal(&mut self, now: Stamp, who: &Person) {
        if let Err(error) = self.try_seal(now, who) {
            self.notes.push(Arc::new(StoreNote::SealNotKept(error)));
        }
    }

    /// Whether own lines wait for the tablet's signature.
    pub fn is_unsealed(&self) -> bool {
        self.unsealed && self.writer.is_some()
    }

    /// Signs and lets the files go.
    pub fn close(mut self, now: Stamp, who: &Person) {
        self.seal(now, who);
        self.summarise();
    }

    /// In how many journals of this job lines are not confirmed: they hold the gate.
    /// Gives whether that has changed.
    pub fn set_unconfirmed(&mut self, journals: usize) -> bool {
        let is_new = self.unsealed_journals != journals;
        self.unsealed_journals = journals;
        self.fold.set_unsealed(journals);
        is_new
    }

    /// Takes in what other tablets' journals here have got since. Gives whether anything
    /// has changed. The work grows with the new lines, unless they belong before lines
    /// that are known: then the job is folded anew.
    ///
    /// # Errors
    /// [`StoreError`] if the folder cannot be read; what was known stays.
    pub fn take_foreign(&mut self) -> Result<bool, StoreError> {
        let (mut new, is_rolled_back) = self.read_foreign()?;
        if is_rolled_back {
            self.refold();
            return Ok(true);
        }
        if new.is_empty() {
            return Ok(false);
        }
        let clocks = new.iter().map(|entry| entry.clock.into());
        self.heard = clocks.fold(self.heard, Hlc::observe);
        if !self.fold.take_on(&mut new) {
            self.refold();
        }
        if self.state().phase().is_over() {
            self.summarise();
        }
        Ok(true)
    }

    fn try_seal(&mut self, now: Stamp, who: &Person) -> Result<(), ProposeError> {
        let Some(writer) = self.writer.as_ref().filter(|_| self.unsealed) else {
            return Ok(());
        };
        let seal = Event::Sealed(Box::new(self.tablet.seal(writer.link())));
        let (entries, clock) = self.entries_of(now, who, &[seal])?;
        self.keep(entries, clock, None)?;
        self.unsealed = false;
        self.owes_seal = false;
        Ok(())
    }

    /// Entries for events, in order of the hybrid clock.
    pub(super) fn entries_of(
        &self,
        now: Stamp,
        who: &Person,
        events: &[Event],
    ) -> Result<(Vec<Entry>, Hlc), StoreError> {
        let own = self.tablet.id();
        let mut after = self.fold.made_after(own, self.heard, now);
        let mut clock = self.clock.follow(self.heard, now.at_ms);
        let mut entries = Vec::with_capacity(events.len());
        for event in events {
            clock = clock.tick(now.at_ms);
            entries.push(Entry {
                id: event_id(now.at_ms, &random()?),
                tablet: own,
                at_ms: now.at_ms,
                offset_min: now.offset_min,
                clock: clock.pair(),
                after: after.take(),
                paper: None,
                who: who.clone(),
                event: event.clone(),
            });
        }
        Ok((entries, clock))
    }

    /// Whether the state takes all entries. One alone needs no copy of the state.
    fn check(&self, entries: &[Entry]) -> Result<Option<Foreseen>, ProposeError> {
        let refused = |at: usize, refusal: Refusal| ProposeError::Refused { at, refusal };
        if let [only] = entries {
            if let Some(refusal) = self.state().objection(&only.event) {
                return Err(refused(0, refusal));
            }
            let foreseen = self.state().would_take(only);
            return foreseen.map(Some).map_err(|r| refused(0, r));
        }
        let mut trial = self.state().clone();
        for (at, entry) in entries.iter().enumerate() {
            if let Some(refusal) = trial.objection(&entry.event) {
                return Err(refused(at, refusal));
            }
            trial.apply(entry).map_err(|r| refused(at, r))?;
        }
        Ok(None)
    }

    /// Brings entries to the disk and then into the state.
    fn keep(
        &mut self,
        entries: Vec<Entry>,
        clock: Hlc,
        mut foreseen: Option<Foreseen>,
    ) -> Result<Vec<Effects>, ProposeError> {
        let mut writer = match self.writer.take() {
            Some(writer) => writer,
            None => self.make_writer()?,
        };
        let appended = writer.append(&entries);
        let mark = *writer.mark();
        self.writer = Some(writer);
        appended?;
        self.clock = clock;
        self.unsealed = true;
        self.owes_seal |= entries.iter().any(is_signed);
        self.acknowledged.set(self.job, mark.bytes);
        let mut effects = Vec::with_capacity(entries.len());
        for (at, entry) in entries.iter().enumerate() {
            let applied = self.fold.take_own(entry, foreseen.take());
            effects.push(applied.map_err(|refusal| ProposeError::Refused { at, refusal })?);
        }
        if let Some(own) = self.journals.get_mut(&self.tablet.id()) {
            own.entries.extend(entries);
            own.mark = mark;
        }
        Ok(effects)
    }
}

impl Drop for OpenJob {
    fn drop(&mut self) {
        self.acknowledged.forget(self.job);
    }
}

/// The files behind it.
impl OpenJob {
    /// Makes sure that the job may be written to; after a disk error it opens the file
    /// again, for whatever was wrong may be over.
    fn be_writable(&mut self) -> Result<(), ProposeError> {
        if let Some(why) = &self.read_only {
            return Err(ProposeError::ReadOnly(why.clone()));
        }
        let is_open = self.writer.as_ref().is_some_and(|w| !w.is_poisoned());
        if !is_open && self.journals.contains_key(&self.tablet.id()) {
            self.open_again()?;
        }
        Ok(())
    }

    /// Opens the own journal again. What is not in the file any more, all of it if the
    /// folder was deleted, is written again: it was acknowledged, and is still known here.
    fn open_again(&mut self) -> Result<(), ProposeError> {
        self.writer = None;
        let own = self.journals.get(&self.tablet.id());
        let known = own.map_or(&[][..], |read| &read.entries);
        let opened = Writer::restore(&self.root, self.job, self.tablet.id(), known)?;
        self.take_opened(opened);
        self.refold();
        Ok(())
    }

    /// The first own line in a job that came from another tablet makes the file.
    fn make_writer(&mut self) -> Result<Writer, ProposeError> {
        let Opened { writer, read } = Writer::open(&self.root, self.job, self.tablet.id())?;
        self.journals.insert(self.tablet.id(), read);
        Ok(writer)
    }

    fn open_own(&mut self) {
        match Writer::open(&self.root, self.job, self.tablet.id()) {
            Ok(opened) => self.take_opened(opened),
            Err(error) => {
                self.read_only = Some(Arc::new(error));
                self.read_own();
            }
        }
    }

    fn take_opened(&mut self, opened: Opened) {
        let Opened { writer, read } = opened;
        if let Some(torn) = &read.torn {
            self.notes.push(Arc::new(StoreNote::Torn(torn.clone())));
        }
        self.acknowledged.set(self.job, read.mark.bytes);
        let since_seal = || {
            let from_the_end = read.entries.iter().rev();
            from_the_end.take_while(|entry| !matches!(entry.event, Event::Sealed(_)))
        };
        self.unsealed = since_seal().next().is_some();
        self.owes_seal = since_seal().any(is_signed);
        self.journals.insert(self.tablet.id(), read);
        self.writer = Some(writer);
    }

    fn read_own(&mut self) {
        let own = self.tablet.id();
        let file = journal_path(&self.root, self.job, own);
        match read_journal(&file, self.job, own, Limits::OWN) {
            Ok(read) => {
                self.journals.insert(own, read);
            }
            Err(error) => self.notes.push(Arc::new(error)),
        }
    }

    /// Reads on in every foreign journal; gives the new entries, and whether lines that were
    /// known are there no more.
    fn read_foreign(&mut self) -> Result<(Vec<Entry>, bool), StoreError> {
        let mut new = Vec::new();
        let mut is_rolled_back = false;
        let folder = find_job(&self.root, self.job)?;
        for file in folder.into_iter().flat_map(|folder| folder.journals) {
            // An own journal that was opened is known; one that only another copy of the
            // program writes is read like a foreign one.
            if file.tablet == self.tablet.id() && self.read_only.is_none() {
                continue;
            }
            let read = self
                .journals
                .entry(file.tablet)
                .or_insert_with(|| JournalRead::nothing_of(&file.path, self.job, file.tablet));
            if file.bytes == read.mark.bytes {
                continue;
            }
            if read.is_rolled_back() {
                *read = JournalRead::nothing_of(&file.path, self.job, file.tablet);
                is_rolled_back = true;
            }
            match read.read_on(Limits::OWN) {
                Ok(count) => new.extend_from_slice(&read.entries[read.entries.len() - count..]),
                Err(JournalError::Io { .. }) => {}
                Err(error) => self.notes.push(Arc::new(error)),
            }
        }
        Ok((new, is_rolled_back))
    }

    fn refold(&mut self) {
        let journals = self.journals.values().map(|read| read.entries.clone());
        self.fold = JobFold::of(self.job, &self.proofs, journals);
        self.fold.set_unsealed(self.unsealed_journals);
        for (tablet, read) in &self.journals {
            let latest = if *tablet == self.tablet.id() {
                &mut self.clock
            } else {
                &mut self.heard
            };
            *latest = latest.observe(read.mark.clock);
        }
    }

    /// What the signatures in other tablets' lines are held against: a tablet alone does not
    /// speak for a person. What is not signed so counts for nothing, and is not confirmed.
    /// Gives whether anything has changed.
    pub fn set_shop(&mut self, shop: Option<&Shop>) -> bool {
        let proofs = Proofs::of(shop, Some(self.tablet.id()));
        if self.proofs == proofs {
            return false;
        }
        self.proofs = proofs;
        self.refold();
        true
    }

    /// Events that are not confirmed because a signature on them does not count.
    pub fn not_signed(&self) -> &[NotSigned] {
        self.fold.not_signed()
    }

    /// Writes the summary, for lists. It is only a short cut, so a disk that does
    /// not take it is no fault.
    fn summarise(&self) {
        if !self.not_signed().is_empty() {
            // A summary does not tell of them.
            return;
        }
        let marks: Vec<(Uuid, Mark)> = self
            .journals
            .iter()
            .map(|(tablet, read)| (*tablet, read.mark))
            .collect();
        let folder = trayzero_core::journal::job_path(&self.root, self.job);
        let summary = JobSummary::of(self.state());
        summary.keep(&folder, self.job, &marks, &self.proofs);
    }
}

/// Whether the tablet signs right after an event.
fn wants_seal(event: &Event) -> bool {
    matches!(event, Event::HandedOver { .. }) || event.signatures().next().is_some()
}

fn is_signed(entry: &Entry) -> bool {
    entry.event.signatures().next().is_some()
}
