//! One round of exchange with the shop folder: own lines there, the others' here.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use trayzero_core::journal::{
    CLOCK_AHEAD_MS_MAX, JournalError, Listing, Members, journal_path, list_jobs,
};
use uuid::Uuid;

use super::folder;
use super::pins::Pins;
use super::pull::Puller;
use super::push::{Pushed, Pusher};
use super::{ClockAhead, FileFault, KeyConflict, NotConfirmed, ShopFault};
use crate::data::crew::{CREW_FILE, CREW_PURPOSE, CrewList};
use crate::data::store::small_file::{self, Readers};
use crate::data::store::{Acknowledged, ForExchange, Tablet, sealed};

/// The most things of others that are listed by name.
const LISTED_MAX: usize = 100;
/// The most crew lists that are looked at.
const CREWS_MAX: usize = 500;

/// What a round came to.
#[derive(Debug, Default)]
pub struct Round {
    /// Why the folder did not serve, or not wholly.
    pub fault: Option<ShopFault>,
    /// Jobs with new foreign lines, each once.
    pub pulled: Vec<Uuid>,
    /// Jobs in which this tablet's own key has sealed what is not in its journal.
    pub twice: Vec<Uuid>,
    /// Own bytes that are new in the folder.
    pub pushed_bytes: u64,
    /// Own acknowledged bytes that are not in the folder yet.
    pub behind_bytes: u64,
    /// Crew lists that have changed, by the tablet that sealed them.
    pub crews: Vec<(Uuid, CrewList)>,
    /// Files that do not hold.
    pub file_faults: Vec<FileFault>,
    /// What lies in the folder and is none of ours.
    pub left_alone: Vec<FileFault>,
    /// Tablets with a changed key.
    pub key_conflicts: Vec<KeyConflict>,
    /// Lines that nobody vouches for.
    pub not_confirmed: Vec<NotConfirmed>,
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
    folder: PathBuf,
    tablet: Arc<Tablet>,
    acknowledged: Arc<Acknowledged>,
    pins: Pins,
    pusher: Pusher,
    puller: Puller,
    crew_pushed: Vec<u8>,
    crews_seen: BTreeMap<Uuid, CrewList>,
}

impl Exchange {
    /// An exchange of a data folder with a shop folder.
    pub fn new(of: &ForExchange, folder: &Path) -> Self {
        Self {
            root: of.root.clone(),
            folder: folder.to_owned(),
            tablet: Arc::clone(&of.tablet),
            acknowledged: Arc::clone(&of.acknowledged),
            pins: Pins::read(&of.root, &of.tablet),
            pusher: Pusher::default(),
            puller: Puller::default(),
            crew_pushed: Vec::new(),
            crews_seen: BTreeMap::new(),
        }
    }

    /// A foreman has looked at a tablet's changed key: it counts from here on, unless the
    /// tablet shows yet another one by now.
    pub fn accept_key(&mut self, tablet: Uuid, key: &str) {
        self.pins.accept(tablet, key);
        self.puller.look_again(tablet);
    }

    /// Does one round. Whatever goes wrong is in the answer, and what could be done is
    /// done all the same.
    pub fn round(&mut self) -> Round {
        let mut round = Round::default();
        if let Err(fault) = folder::enter(&self.root, &self.folder) {
            round.fault = Some(fault);
            round.behind_bytes = self.behind();
        } else {
            self.push_all(&mut round);
            self.pull_all(&mut round);
            self.push_crew(&mut round);
            self.pull_crews(&mut round);
        }
        if let Err(error) = self.pins.keep(&self.tablet) {
            round.file_faults.push(FileFault {
                path: self.root.clone(),
                why: error.to_string(),
            });
        }
        round.file_faults.extend(self.pins.fault().cloned());
        round.file_faults.extend(self.puller.faults().cloned());
        round
            .file_faults
            .extend(self.pusher.mended().iter().cloned());
        round.not_confirmed = self.puller.unconfirmed();
        round.clocks = self.puller.clocks();
        round.file_faults.sort();
        round.file_faults.dedup();
        round.file_faults.truncate(LISTED_MAX);
        round.left_alone.truncate(LISTED_MAX);
        round.key_conflicts = self.pins.conflicts();
        round.tablets = self.pins.names();
        round
    }

    /// Whose lines count.
    fn members(&self) -> Members {
        self.pins.members(&self.tablet)
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

    fn push_all(&mut self, round: &mut Round) {
        let shown = Pins::show_own_card(&self.folder, &self.tablet);
        round.note(shown);
        match self.own_listing() {
            Ok(listing) => {
                for job in &listing.jobs {
                    self.push_job(job, round);
                }
            }
            Err(fault) => round.note(Err(fault)),
        }
    }

    fn push_job(&mut self, job: &trayzero_core::journal::JobFolder, round: &mut Round) {
        let own = self.tablet.id();
        let Some(file) = job.journals.iter().find(|file| file.tablet == own) else {
            return;
        };
        let bytes = match Pusher::own_bytes(&file.path, job.job, &self.acknowledged) {
            Ok(bytes) => bytes,
            Err(e) => {
                round.note(Err(ShopFault::of(&file.path, &e)));
                return;
            }
        };
        let tablet = &self.tablet;
        let pushed = self
            .pusher
            .push(job, tablet, &file.path, bytes, &self.folder);
        match pushed {
            Ok(Pushed::All(new)) => round.pushed_bytes += new,
            Ok(Pushed::Differs(fault)) => round.file_faults.push(fault),
            Ok(Pushed::Twice(fault)) => {
                round.file_faults.push(fault);
                round.twice.push(job.job);
            }
            Err(fault) => {
                round.note(Err(fault));
                round.behind_bytes += self.pusher.behind(job.job, bytes);
            }
        }
    }

    fn pull_all(&mut self, round: &mut Round) {
        let own = self.tablet.id();
        let met = self
            .pins
            .meet_all(&self.folder, own, &mut round.file_faults);
        round.note(met);
        let members = self.members();
        match self.own_listing() {
            Ok(copies) => round.pulled = self.puller.look_over(&self.root, own, &copies, &members),
            Err(fault) => round.note(Err(fault)),
        }
        let listing = match list_jobs(&self.folder) {
            Ok(listing) => listing,
            Err(error) => {
                round.note(Err(journal_fault(&self.folder, error)));
                return;
            }
        };
        for job in &listing.jobs {
            let mut is_new = false;
            for file in job.journals.iter().filter(|file| file.tablet != own) {
                let (root, folder) = (&self.root, &self.folder);
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
        let left = listing.left_alone.into_iter().map(|left| FileFault {
            path: left.path,
            why: left.why,
        });
        round.left_alone.extend(left);
    }

    /// The crew list goes as it is: it is sealed already.
    fn push_crew(&mut self, round: &mut Round) {
        let Ok(Some(bytes)) = small_file::read(&self.root.join(CREW_FILE)) else {
            return;
        };
        if bytes == self.crew_pushed {
            return;
        }
        let path = folder::crew(&self.folder).join(format!("{}.json", self.tablet.id()));
        match small_file::write(&path, &bytes, Readers::Usual) {
            Ok(()) => self.crew_pushed = bytes,
            Err(error) => round.note(Err(ShopFault::of(&error.path, &error.cause))),
        }
    }

    fn pull_crews(&mut self, round: &mut Round) {
        let crews = folder::crew(&self.folder);
        let names = match fs::read_dir(&crews) {
            Ok(names) => names,
            Err(e) => {
                round.note(Err(ShopFault::of(&crews, &e)));
                return;
            }
        };
        for name in names.take(CREWS_MAX) {
            let path = match name {
                Ok(name) => name.path(),
                Err(e) => {
                    round.note(Err(ShopFault::of(&crews, &e)));
                    return;
                }
            };
            if path.extension().is_none_or(|e| e != "json") {
                continue;
            }
            match self.pull_crew(&path) {
                Ok(Some(news)) => round.crews.push(news),
                Ok(None) => {}
                Err(why) => round.file_faults.push(FileFault { path, why }),
            }
        }
    }

    /// The crew list of another tablet, if it has changed and is sealed as it should be.
    fn pull_crew(&mut self, path: &Path) -> Result<Option<(Uuid, CrewList)>, String> {
        let stem = path.file_stem().and_then(|stem| stem.to_str());
        let tablet: Uuid = stem
            .and_then(|stem| stem.parse().ok())
            .ok_or("its name is no tablet's")?;
        if tablet == self.tablet.id() {
            return Ok(None);
        }
        let read = sealed::read::<CrewList>(path, CREW_PURPOSE)
            .map_err(|e| e.to_string())?
            .ok_or("it is gone")?;
        match self.pins.key_of(tablet) {
            None => return Ok(None),
            Some(key) if key != read.key => {
                return Err("it was not sealed by the tablet that it is named after".to_owned());
            }
            Some(_) => {}
        }
        if self.crews_seen.get(&tablet) == Some(&read.payload) {
            return Ok(None);
        }
        self.crews_seen.insert(tablet, read.payload.clone());
        Ok(Some((tablet, read.payload)))
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
        JournalError::ReadOnly { file, cause, .. } => ShopFault::of(&file, &cause),
        JournalError::Io { file, cause, .. } => ShopFault::of(&file, &cause),
        other => ShopFault::Io {
            path: folder.to_owned(),
            cause: other.to_string(),
        },
    }
}
