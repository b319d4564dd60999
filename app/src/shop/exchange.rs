//! One round of exchange with the shop folder: own lines there, the others' here.

use std::cell::OnceCell;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use trayzero_core::job::Picture;
use trayzero_core::journal::{
    CLOCK_AHEAD_MS_MAX, JobFolder, JournalError, Listing, Members, journal_path, list_jobs,
};
use trayzero_core::shop_log::StrangerFile;
use uuid::Uuid;

use super::bucket::Surroundings;
use super::folder;
use super::layouts::LayoutMirror;
use super::log::LogExchange;
use super::open_place::open_place;
use super::own_copy;
use super::pictures::PictureMirror;
use super::pins::Pins;
use super::place::MeetingPlace;
use super::pull::Puller;
use super::push::{Pushed, Pusher};
use super::twin;
use super::{
    ClockAhead, FileFault, FileWhy, KeyConflict, NotConfirmed, SharedFault, ShopFault,
    WhyNotConfirmed,
};
use crate::data::crew::LogSight;
use crate::data::store::{Acknowledged, FinishedJobs, ForExchange, LAYOUTS_FOLDER, Tablet};

/// The most things of others that are listed by name.
const LISTED_MAX: usize = 100;

/// What a round came to.
#[derive(Debug, Default)]
pub struct Round {
    /// Why the folder did not serve, or not wholly.
    pub fault: Option<ShopFault>,
    /// Jobs with new foreign lines, each once.
    pub pulled: Vec<Uuid>,
    /// Jobs of which pictures have come.
    pub pictures: Vec<Uuid>,
    /// Whether layouts have come.
    pub layouts: bool,
    /// Jobs in which this tablet's own key has sealed what is not in its journal.
    pub twice: Vec<Uuid>,
    /// Own bytes that are new in the folder.
    pub pushed_bytes: u64,
    /// Own acknowledged bytes that are not in the folder yet.
    pub behind_bytes: u64,
    /// What lies in the folder about the shop itself, if it has changed.
    pub sight: Option<LogSight>,
    /// Files that do not hold.
    pub file_faults: Vec<SharedFault>,
    /// What lies in the folder and is none of ours.
    pub left_alone: Vec<FileFault>,
    /// Tablets with a changed key.
    pub key_conflicts: Vec<KeyConflict>,
    /// Lines that nobody vouches for.
    pub not_confirmed: Vec<NotConfirmed>,
    /// Files among them that a foreman can dismiss.
    pub strangers: Vec<StrangerFile>,
    /// Tablets that are said to be in use twice.
    twins: Vec<NotConfirmed>,
    /// Wall clock of each tablet's latest line, in milliseconds.
    pub clocks: BTreeMap<Uuid, i64>,
    /// Tablets met.
    pub tablets: Vec<(Uuid, String)>,
}

/// The exchange with one shop folder. It does what the disk does, for as long as the
/// disk takes; the window never waits for it.
#[derive(Debug)]
pub struct Exchange {
    root: PathBuf,
    place: Box<dyn MeetingPlace>,
    tablet: Arc<Tablet>,
    acknowledged: Arc<Acknowledged>,
    pins: Pins,
    pusher: Pusher,
    puller: Puller,
    log: LogExchange,
    pictures: PictureMirror,
    layouts: LayoutMirror,
}

impl Exchange {
    /// An exchange of a data folder with a shop folder, or with a bucket.
    pub fn new(of: &ForExchange, place: &Path) -> Self {
        Self::within(of, place, &Surroundings::of_system())
    }

    /// The same, with what says how a bucket is asked.
    pub fn within(of: &ForExchange, place: &Path, around: &Surroundings) -> Self {
        Self {
            root: of.root.clone(),
            place: open_place(place, &of.root, Some(of.tablet.id()), around),
            tablet: Arc::clone(&of.tablet),
            acknowledged: Arc::clone(&of.acknowledged),
            pins: Pins::read(&of.root, &of.tablet),
            pusher: Pusher::default(),
            puller: Puller::default(),
            log: LogExchange::default(),
            pictures: PictureMirror::default(),
            layouts: LayoutMirror::default(),
        }
    }

    /// A foreman has looked at a tablet's changed key: it counts from here on, unless the
    /// tablet shows yet another one by now.
    pub fn accept_key(&mut self, tablet: Uuid, key: &str) {
        self.pins.accept(tablet, key);
        self.puller.look_again(tablet);
    }

    /// The pictures that a job's events name: their copies are fetched where they are not here.
    pub fn want_pictures(&mut self, job: Uuid, wanted: Vec<Picture>) {
        self.pictures.want(&self.root, job, wanted);
    }

    /// Does one round. Whatever goes wrong is in the answer, and what could be done is
    /// done all the same.
    pub fn round(&mut self) -> Round {
        self.round_of(true)
    }

    /// The same; a bucket is asked what is new only where others are to be heard, too, and not
    /// after each tap.
    pub fn round_of(&mut self, hears: bool) -> Round {
        let mut round = Round::default();
        let members = self.members();
        let fetched = if hears {
            self.place.fetch(&members)
        } else {
            Ok(())
        };
        if let Err(fault) = fetched.and_then(|()| folder::enter(&self.root, self.place.folder())) {
            round.fault = Some(fault);
            round.behind_bytes = self.behind();
        } else {
            // Who is a member comes first: it says what of the journals counts.
            match self
                .log
                .round(&self.root, self.place.folder(), &self.tablet)
            {
                Ok(sight) => round.sight = sight,
                Err(fault) => round.note(Err(fault)),
            }
            let pushed = self.push_all(&mut round);
            self.pull_all(&mut round);
            self.place.fetch_pictures(&self.pictures.wanted());
            round.pictures = self.pictures.pull(&self.root, self.place.folder());
            self.share_layouts(&mut round);
            self.send(&pushed, &mut round);
        }
        if let Err(error) = self.pins.keep(&self.tablet) {
            let fault = SharedFault::new(&self.root, FileWhy::told(error));
            round.file_faults.push(fault);
        }
        round.file_faults.extend(self.pins.fault().cloned());
        round.file_faults.extend(self.place.faults());
        round.file_faults.extend(self.puller.faults().cloned());
        round.file_faults.extend(self.pictures.faults().cloned());
        round.file_faults.extend(self.layouts.faults().cloned());
        round
            .file_faults
            .extend(self.pusher.mended().iter().cloned());
        round.not_confirmed = self.puller.unconfirmed();
        round.strangers = self.puller.strangers();
        let own = self.tablet.id();
        let twice = round.twice.iter().map(|job| NotConfirmed {
            job: *job,
            tablet: own,
            why: WhyNotConfirmed::Twice,
        });
        round.not_confirmed.extend(twice);
        round.not_confirmed.append(&mut round.twins);
        round.not_confirmed.sort();
        round.not_confirmed.dedup();
        round.clocks = self.puller.clocks();
        round.file_faults.sort();
        round.file_faults.dedup();
        round.file_faults.truncate(LISTED_MAX);
        round.left_alone.truncate(LISTED_MAX);
        (round.key_conflicts, round.tablets) = match self.log.shop() {
            Some(shop) => (
                self.log.key_conflicts(shop),
                shop.members()
                    .map(|(id, tablet)| (id, tablet.name.clone()))
                    .collect(),
            ),
            None => (self.pins.conflicts(), self.pins.names()),
        };
        round
    }

    /// The folder that is read and written: the shop's, or the copy here of a bucket.
    pub fn folder(&self) -> &Path {
        self.place.folder()
    }

    /// How long to wait before the next round, where a folder would be looked at after `usual`.
    pub fn pause(&self, usual: Duration) -> Duration {
        self.place.pause(usual)
    }

    /// Whose lines count: as the shop log says, and while there is none, the keys that are
    /// pinned.
    fn members(&self) -> Members {
        let Some(shop) = self.log.shop() else {
            return self.pins.members(&self.tablet);
        };
        let mut members = shop.journal_members();
        members.admit(self.tablet.id(), &self.tablet.public_key());
        members
    }

    fn own_listing(&self) -> Result<Listing, ShopFault> {
        list_jobs(&self.root).map_err(|e| journal_fault(&self.root, e))
    }

    /// Own bytes that wait, when the folder cannot be asked.
    fn behind(&self) -> u64 {
        let own = self.tablet.id();
        let Ok(listing) = self.own_listing() else {
            return 0;
        };
        let jobs = listing.jobs.iter();
        jobs.filter(|job| job.journals.iter().any(|file| file.tablet == own))
            .filter_map(|job| {
                let path = journal_path(&self.root, job.job, own);
                let bytes = Pusher::own_bytes(&path, job.job, &self.acknowledged).ok()?;
                Some(self.pusher.behind(job.job, bytes))
            })
            .sum()
    }

    /// Brings own lines there. Gives the jobs that have any.
    fn push_all(&mut self, round: &mut Round) -> Vec<Uuid> {
        let shown = Pins::show_own_card(self.place.folder(), &self.tablet);
        round.note(shown);
        let listing = match self.own_listing() {
            Ok(listing) => listing,
            Err(fault) => {
                round.note(Err(fault));
                return Vec::new();
            }
        };
        for job in &listing.jobs {
            self.push_job(job, round);
        }
        let own = self.tablet.id();
        let with_own = |job: &&JobFolder| job.journals.iter().any(|file| file.tablet == own);
        let with_own = listing.jobs.iter().filter(with_own);
        with_own.map(|job| job.job).collect()
    }

    /// Brings layouts there and back. Who is a member now says which of them count.
    fn share_layouts(&mut self, round: &mut Round) {
        let members = self.members();
        let layouts = self.root.join(LAYOUTS_FOLDER);
        let who = (self.tablet.id(), &members);
        match self.layouts.round(&layouts, self.place.folder(), who) {
            Ok(has_new) => round.layouts = has_new,
            Err(fault) => round.note(Err(fault)),
        }
    }

    /// Sends on what was brought to the folder of these jobs, where that is a copy.
    fn send(&mut self, jobs: &[Uuid], round: &mut Round) {
        let finished = OnceCell::new();
        let is_over = |job| {
            let finished = finished.get_or_init(|| FinishedJobs::read(&self.root));
            finished.contains(job)
        };
        let sent = self.place.send(jobs, &is_over);
        round.note(sent);
        round.behind_bytes += self.place.behind_bytes(jobs);
    }

    fn push_job(&mut self, job: &JobFolder, round: &mut Round) {
        let own = self.tablet.id();
        if let Some(pictures) = &job.pictures {
            let pushed = self
                .pictures
                .push(job.job, pictures, self.place.folder(), own);
            round.note(pushed);
        }
        let Some(file) = job.journals.iter().find(|file| file.tablet == own) else {
            return;
        };
        let bytes = match Pusher::own_bytes(&file.path, job.job, &self.acknowledged) {
            Ok(bytes) => bytes,
            Err(e) => {
                round.note(Err(ShopFault::at(&file.path)(e)));
                return;
            }
        };
        let tablet = &self.tablet;
        let pushed = self
            .pusher
            .push(job, tablet, &file.path, bytes, self.place.folder());
        match pushed {
            Ok(Pushed::All(new)) => round.pushed_bytes += new,
            Ok(Pushed::Differs(fault)) => round.file_faults.push(fault),
            Ok(Pushed::Behind(fault)) => self.fetch_own(job.job, fault, round),
            Ok(Pushed::Twice(fault)) => {
                round.file_faults.push(fault);
                round.twice.push(job.job);
                let told = twin::leave(self.place.folder(), job.job, tablet, &file.path, bytes);
                round.note(told);
            }
            Err(fault) => {
                round.note(Err(fault));
                round.behind_bytes += self.pusher.behind(job.job, bytes);
            }
        }
    }

    /// Fetches own lines that are in the shop folder alone. A job that is open here waits
    /// until it is left: its file has one writer.
    fn fetch_own(&mut self, job: Uuid, behind: SharedFault, round: &mut Round) {
        if self.acknowledged.bytes_of(job).is_some() {
            round.file_faults.push(behind);
            round.twice.push(job);
            return;
        }
        match own_copy::fetch(&self.root, self.place.folder(), job, &self.tablet) {
            Ok(0) => {}
            Ok(bytes) => {
                self.pusher.note_fetched(&behind.path, bytes);
                round.pulled.push(job);
            }
            Err(e) => round.note(Err(ShopFault::at(&behind.path)(e))),
        }
    }

    fn pull_all(&mut self, round: &mut Round) {
        let own = self.tablet.id();
        if self.log.shop().is_none() {
            let faults = &mut round.file_faults;
            let met = self.pins.meet_all(self.place.folder(), own, faults);
            round.note(met);
        }
        let members = self.members();
        match self.own_listing() {
            Ok(copies) => {
                let cut = self.puller.look_over(&self.root, own, &copies, &members);
                round.pulled.extend(cut);
            }
            Err(fault) => round.note(Err(fault)),
        }
        let listing = match list_jobs(self.place.folder()) {
            Ok(listing) => listing,
            Err(error) => {
                round.note(Err(journal_fault(self.place.folder(), error)));
                return;
            }
        };
        for job in &listing.jobs {
            for tablet in &job.twins {
                self.hear_of_twin(job.job, *tablet, &members, round);
            }
            let own_there = job.journals.iter().find(|file| file.tablet == own);
            if let Some(file) = own_there
                && !journal_path(&self.root, job.job, own).exists()
            {
                let behind = SharedFault::new(&file.path, FileWhy::InUseTwice);
                self.fetch_own(job.job, behind, round);
            }
            let mut is_new = false;
            for file in job.journals.iter().filter(|file| file.tablet != own) {
                let (root, folder) = (&self.root, self.place.folder());
                match self
                    .puller
                    .pull(root, folder, job.job, file, &mut self.pins)
                {
                    Ok(new) => is_new |= new,
                    Err(fault) => round.note(Err(fault)),
                }
            }
            if is_new && !round.pulled.contains(&job.job) {
                round.pulled.push(job.job);
            }
        }
        round.left_alone.extend(self.place.left_alone());
        round.left_alone.extend(listing.left_alone);
    }

    /// Somebody says that a tablet is in use twice.
    fn hear_of_twin(&self, job: Uuid, tablet: Uuid, members: &Members, round: &mut Round) {
        let known = journal_path(&self.root, job, tablet);
        let twin = twin::speaks_of_another(self.place.folder(), job, tablet, members, &known);
        if let Some(fault) = twin {
            round.file_faults.push(fault);
            round.twins.push(NotConfirmed {
                job,
                tablet,
                why: WhyNotConfirmed::Twice,
            });
        }
    }
}

impl Round {
    /// Tablets whose latest line is more than a day ahead of this wall clock.
    pub fn clocks_ahead(&self, now_ms: i64) -> Vec<ClockAhead> {
        let ahead = self.clocks.iter().filter_map(|(tablet, at_ms)| {
            let ahead_ms = u64::try_from(at_ms.saturating_sub(now_ms)).ok()?;
            (ahead_ms > CLOCK_AHEAD_MS_MAX).then_some(ClockAhead {
                tablet: *tablet,
                ahead_days: ahead_ms / CLOCK_AHEAD_MS_MAX,
            })
        });
        ahead.collect()
    }

    /// Keeps the first fault; the others are mostly its echo.
    fn note(&mut self, result: Result<(), ShopFault>) {
        if let Err(fault) = result {
            self.fault.get_or_insert(fault);
        }
    }
}

fn journal_fault(folder: &Path, error: JournalError) -> ShopFault {
    match error {
        JournalError::NoSpace { file, .. } => ShopFault::Full { path: file },
        JournalError::ReadOnly { file, cause, .. } | JournalError::Io { file, cause, .. } => {
            ShopFault::at(&file)(cause)
        }
        other => ShopFault::io(folder, &other),
    }
}
