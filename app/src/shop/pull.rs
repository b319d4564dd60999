//! Other tablets' journals from the shop folder into copies in the data folder.
//!
//! A foreign file is untrusted. Of a tablet that nobody has admitted nothing is read at
//! all. Of a member's journal only plain files of bounded size are read, every line has to
//! follow from the lines before, and only what a member's seal covers is copied
//! ([`Cover`]); so whatever lies in the data folder counts. The rest is not confirmed: it is
//! listed, it holds the gate of its job, and it is taken once a seal covers it.
//!
//! A copy is looked over when the program starts and when the members change. What no seal
//! covers then (the version before took such lines) is cut off, kept in a side file, and
//! comes again from the shop folder if its owner seals it.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry as Place;
use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::Path;
use std::time::SystemTime;

use trayzero_core::journal::{
    Cover, Covered, EndSeal, JournalFile, Limits, Link, Listing, Mark, Members, Reader, job_path,
    journal_path, link_at, open_plain, read_plain, sync_folder,
};
use trayzero_core::shop_log::StrangerFile;
use uuid::Uuid;

use super::folder::LastChange;
use super::pins::Pins;
use super::{FileWhy, NotConfirmed, SharedFault, ShopFault, WhyNotConfirmed};
use crate::data::store::small_file::{self, Readers};

/// A copy of a foreign journal in the data folder.
#[derive(Debug, Default)]
struct Copied {
    mark: Mark,
    /// The copy there still had our last line when it was last looked at.
    is_compared: bool,
    /// What was there when something was left that could not be taken.
    stuck: Option<Look>,
    /// The same was left at two looks: it is not just on its way.
    is_told: bool,
    fault: Option<SharedFault>,
    waits: Option<WhyNotConfirmed>,
    /// Wall clock of the last line, in milliseconds.
    at_ms: i64,
    /// When that line came here, by this tablet's clock.
    came: Option<SystemTime>,
}

/// A foreign journal as it was found.
#[derive(Debug, PartialEq)]
struct Look {
    bytes: u64,
    seal: Option<EndSeal>,
    changed: Option<LastChange>,
}

impl Look {
    /// The same length and seal, whenever they were written.
    fn is_like(&self, other: &Self) -> bool {
        self.bytes == other.bytes && self.seal == other.seal
    }
}

/// A file of a tablet that nobody has admitted. Nothing in it is read; its hash says which
/// file it is, so that a foreman can dismiss it.
#[derive(Debug)]
struct Stranger {
    bytes: u64,
    changed: Option<LastChange>,
    hash: Option<Link>,
    /// It was there in this round.
    is_there: bool,
}

/// The copies of foreign journals, by job and tablet.
#[derive(Debug, Default)]
pub(super) struct Puller {
    copies: BTreeMap<(Uuid, Uuid), Copied>,
    /// Journals of tablets that nobody has admitted.
    strangers: BTreeMap<(Uuid, Uuid), Stranger>,
    /// Bytes of strangers' files that were read in this round.
    hashed_bytes: u64,
    /// Who the members were when the copies were looked over.
    members: Members,
    is_looked_over: bool,
}

/// The most journals of tablets that nobody has admitted that are listed.
const STRANGERS_MAX: usize = 1_000;

/// The most bytes of such journals that are read in a round; the rest waits for the next.
const HASHED_BYTES_MAX: u64 = 32 << 20;

impl Puller {
    /// Looks over every copy in the data folder, where that was not done for these members
    /// yet. Gives the jobs in which something was cut off.
    pub fn look_over(
        &mut self,
        root: &Path,
        own: Uuid,
        listing: &Listing,
        members: &Members,
    ) -> Vec<Uuid> {
        self.strangers.retain(|_, stranger| stranger.is_there);
        for stranger in self.strangers.values_mut() {
            stranger.is_there = false;
        }
        self.hashed_bytes = 0;
        if self.is_looked_over && self.members == *members {
            return Vec::new();
        }
        self.copies.clear();
        self.members = members.clone();
        self.is_looked_over = true;
        let mut cut = Vec::new();
        for job in &listing.jobs {
            for file in job.journals.iter().filter(|file| file.tablet != own) {
                // What cannot be read now is looked at when it is pulled.
                if let Ok((copied, was_cut)) = Copied::read(root, job.job, file.tablet, members) {
                    self.copies.insert((job.job, file.tablet), copied);
                    if was_cut && cut.last() != Some(&job.job) {
                        cut.push(job.job);
                    }
                }
            }
        }
        cut
    }

    /// Takes in what is new in one foreign journal. Gives whether there was anything.
    /// What does not hold is kept and listed by [`Puller::faults`], what nobody vouches for
    /// by [`Puller::unconfirmed`].
    pub fn pull(
        &mut self,
        root: &Path,
        folder: &Path,
        job: Uuid,
        there: &JournalFile,
        pins: &mut Pins,
    ) -> Result<bool, ShopFault> {
        let tablet = there.tablet;
        if !self.members.knows(tablet) {
            self.meet_stranger(job, there);
            return Ok(false);
        }
        let mut is_new = false;
        let copied = match self.copies.entry((job, tablet)) {
            Place::Occupied(known) => known.into_mut(),
            Place::Vacant(place) => {
                let (copied, was_cut) = Copied::read(root, job, tablet, &self.members)
                    .map_err(ShopFault::at(&journal_path(root, job, tablet)))?;
                is_new = was_cut;
                place.insert(copied)
            }
        };
        if copied.is_compared && there.bytes == copied.mark.bytes {
            copied.settle();
            return Ok(is_new);
        }
        // A seal that cannot be read covers nothing.
        let seal = EndSeal::read(folder, job, tablet).ok().flatten();
        let found = there.path.symlink_metadata().ok();
        let look = Look {
            bytes: there.bytes,
            seal,
            changed: found.as_ref().and_then(LastChange::settled),
        };
        copied.is_told = copied.stuck.as_ref().is_some_and(|old| old.is_like(&look));
        // Its owner may have put it right since, byte for byte as long as it was.
        if look.changed.is_some() && copied.stuck.as_ref() == Some(&look) {
            return Ok(is_new);
        }
        is_new |= copied.take(root, job, there, look.seal.as_ref(), &self.members, pins)?;
        copied.stuck = (there.bytes != copied.mark.bytes).then_some(look);
        Ok(is_new)
    }

    fn meet_stranger(&mut self, job: Uuid, there: &JournalFile) {
        let key = (job, there.tablet);
        if self.strangers.len() >= STRANGERS_MAX && !self.strangers.contains_key(&key) {
            return;
        }
        let found = there.path.symlink_metadata().ok();
        let changed = found.as_ref().and_then(LastChange::settled);
        let known = self.strangers.get(&key).filter(|known| {
            known.bytes == there.bytes && changed.is_some() && known.changed == changed
        });
        let hash = match known {
            Some(known) => known.hash,
            None if self.hashed_bytes + there.bytes <= HASHED_BYTES_MAX => {
                self.hashed_bytes += there.bytes;
                there.hash().ok()
            }
            None => None,
        };
        let stranger = Stranger {
            bytes: there.bytes,
            changed: changed.filter(|_| hash.is_some()),
            hash,
            is_there: true,
        };
        self.strangers.insert(key, stranger);
    }

    /// Strangers' files that no foreman has dismissed as they are.
    fn not_dismissed(&self) -> impl Iterator<Item = (Uuid, Uuid, &Stranger)> {
        let there = self.strangers.iter().filter(|(_, s)| s.is_there);
        let waiting = there.filter(|((job, tablet), stranger)| {
            let dismisses = |hash| {
                let members = &self.members;
                members.dismisses(*job, *tablet, stranger.bytes, hash)
            };
            !stranger.hash.is_some_and(dismisses)
        });
        waiting.map(|((job, tablet), stranger)| (*job, *tablet, stranger))
    }

    /// Files that a foreman can dismiss.
    pub fn strangers(&self) -> Vec<StrangerFile> {
        let files = self.not_dismissed().filter_map(|(job, tablet, stranger)| {
            Some(StrangerFile {
                job,
                tablet,
                bytes: stranger.bytes,
                hash: stranger.hash?.to_string(),
            })
        });
        files.collect()
    }

    /// What does not hold in any foreign journal.
    pub fn faults(&self) -> impl Iterator<Item = &SharedFault> {
        self.copies.values().filter_map(|c| c.fault.as_ref())
    }

    /// Journals with lines that nobody vouches for.
    pub fn unconfirmed(&self) -> Vec<NotConfirmed> {
        let strangers = self.not_dismissed().map(|(job, tablet, _)| NotConfirmed {
            job,
            tablet,
            why: WhyNotConfirmed::Stranger,
        });
        let waiting = self.copies.iter().filter_map(|((job, tablet), copied)| {
            let why = copied.waits.clone().filter(|_| copied.is_told)?;
            Some(NotConfirmed {
                job: *job,
                tablet: *tablet,
                why,
            })
        });
        strangers.chain(waiting).collect()
    }

    /// The latest wall clock of each tablet's lines, in milliseconds.
    pub fn clocks(&self) -> BTreeMap<Uuid, i64> {
        let mut latest: BTreeMap<Uuid, &Copied> = BTreeMap::new();
        for ((_, tablet), copied) in &self.copies {
            let known = latest.entry(*tablet).or_insert(copied);
            // A clock that was wrong and has been mended is not held against it.
            if copied.came > known.came {
                *known = copied;
            }
        }
        let clocks = latest.into_iter();
        clocks.map(|(id, copied)| (id, copied.at_ms)).collect()
    }

    /// Forgets a tablet's faults, so that its files are looked at again.
    pub fn look_again(&mut self, tablet: Uuid) {
        let copies = self.copies.iter_mut();
        for (_, copied) in copies.filter(|((_, of), _)| *of == tablet) {
            copied.stuck = None;
        }
    }
}

impl Copied {
    /// Reads the copy in the data folder, and cuts off what no seal covers. The second
    /// value says whether there was anything to cut off.
    fn read(root: &Path, job: Uuid, tablet: Uuid, members: &Members) -> io::Result<(Self, bool)> {
        let path = journal_path(root, job, tablet);
        let mut copied = Self::default();
        let bytes = match path.symlink_metadata() {
            Ok(known) => {
                copied.came = known.modified().ok();
                known.len()
            }
            Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok((copied, false)),
            Err(e) => return Err(e),
        };
        let seal = EndSeal::read(root, job, tablet).ok().flatten();
        let reader = Reader::new(
            open_plain(&path)?,
            &path,
            job,
            tablet,
            Limits::FOREIGN,
            Mark::START,
        );
        let cover = Cover::new(job, tablet, members, seal.as_ref());
        let covered = cover.read(reader, |entry, _| {
            copied.at_ms = entry.at_ms;
        });
        copied.mark = covered.mark;
        let is_cut = copied.mark.bytes < bytes;
        if is_cut {
            set_aside(&path, copied.mark.bytes)?;
            let file = OpenOptions::new().write(true).open(&path)?;
            file.set_len(copied.mark.bytes)?;
            file.sync_all()?;
        }
        Ok((copied, is_cut))
    }

    /// Nothing is left that could not be taken.
    fn settle(&mut self) {
        self.stuck = None;
        self.fault = None;
        self.waits = None;
    }

    fn take(
        &mut self,
        root: &Path,
        job: Uuid,
        there: &JournalFile,
        seal: Option<&EndSeal>,
        members: &Members,
        pins: &mut Pins,
    ) -> Result<bool, ShopFault> {
        let failed = ShopFault::at(&there.path);
        if there.bytes > Limits::FOREIGN.file_bytes {
            self.blame(
                there,
                FileWhy::TooLong(there.bytes),
                WhyNotConfirmed::Unread,
            );
            return Ok(false);
        }
        let still_has = self.mark.is_start()
            || link_at(&there.path, self.mark.bytes).map_err(failed)? == Some(self.mark.link);
        let from = if still_has { self.mark } else { Mark::START };
        let new =
            read_plain(&there.path, from.bytes, Limits::FOREIGN.file_bytes).map_err(failed)?;
        let reader = Reader::new(
            new.as_slice(),
            &there.path,
            job,
            there.tablet,
            Limits::FOREIGN,
            from,
        );
        let mut at_ms = self.at_ms;
        let cover = Cover::new(job, there.tablet, members, seal);
        let covered = cover.read(reader, |entry, _| at_ms = entry.at_ms);
        for key in covered.wrong.iter().filter_map(|w| w.stranger.as_deref()) {
            pins.meet(there.tablet, None, key);
        }
        let copy = journal_path(root, job, there.tablet);
        if !still_has {
            return self.compare(there, &copy, &covered);
        }
        self.is_compared = true;
        self.weigh(there, &covered);
        let length = (covered.mark.bytes - self.mark.bytes) as usize;
        if length == 0 {
            return Ok(false);
        }
        keep(root, job, &copy, self.mark.bytes, &new[..length]).map_err(ShopFault::at(&copy))?;
        // The lines first: the seal from before still covers the lines from before.
        if let Some(proof) = &covered.proof {
            let path = EndSeal::path(root, job, there.tablet);
            small_file::write(&path, &proof.to_bytes(), Readers::Usual)?;
        }
        self.mark = covered.mark;
        self.at_ms = at_ms;
        self.came = Some(SystemTime::now());
        Ok(true)
    }

    /// The file no longer has the lines that were read from it. They are sealed, so they
    /// stay; if what is there now is sealed too, one identity writes in two places.
    fn compare(
        &mut self,
        there: &JournalFile,
        copy: &Path,
        covered: &Covered,
    ) -> Result<bool, ShopFault> {
        let theirs = covered.mark;
        let is_ours = theirs.is_start()
            || link_at(copy, theirs.bytes).map_err(ShopFault::at(copy))? == Some(theirs.link);
        if is_ours {
            self.blame(there, FileWhy::LinesGone, WhyNotConfirmed::Changed);
        } else {
            self.blame(there, FileWhy::TwoCourses, WhyNotConfirmed::Twice);
        }
        Ok(false)
    }

    /// Says what of the file could not be taken, and why.
    fn weigh(&mut self, there: &JournalFile, covered: &Covered) {
        let complaint = covered.complaint();
        self.fault = complaint.map(|why| SharedFault::new(&there.path, FileWhy::told(why)));
        self.waits = if covered.end.fault.is_some() {
            Some(WhyNotConfirmed::Unread)
        } else if covered.waiting > 0 {
            let lines = covered.waiting;
            Some(WhyNotConfirmed::Unsealed { lines })
        } else if covered.missing > 0 {
            Some(WhyNotConfirmed::Missing)
        } else {
            None
        };
    }

    fn blame(&mut self, there: &JournalFile, why: FileWhy, waits: WhyNotConfirmed) {
        self.waits = Some(waits);
        self.fault = Some(SharedFault::new(&there.path, why));
    }
}

/// Keeps what comes after a place in a copy in a side file, before it is cut off.
fn set_aside(copy: &Path, from: u64) -> io::Result<()> {
    let rest = read_plain(copy, from, Limits::FOREIGN.file_bytes)?;
    let path = copy.with_extension("unconfirmed");
    let mut file = OpenOptions::new().append(true).create(true).open(path)?;
    file.write_all(&rest)?;
    file.sync_all()
}

/// Adds lines to the copy in the data folder, durably.
fn keep(root: &Path, job: Uuid, copy: &Path, from: u64, lines: &[u8]) -> io::Result<()> {
    let is_new = from == 0;
    if is_new {
        fs::create_dir_all(job_path(root, job))?;
    }
    let mut file = OpenOptions::new().append(true).create(true).open(copy)?;
    if file.metadata()?.len() != from {
        return Err(io::Error::other("somebody else has changed this copy"));
    }
    file.write_all(lines)?;
    file.sync_data()?;
    if is_new {
        let job = job_path(root, job);
        for folder in [Some(job.as_path()), job.parent()].into_iter().flatten() {
            sync_folder(folder)?;
        }
    }
    Ok(())
}
