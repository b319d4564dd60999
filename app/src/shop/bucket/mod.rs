//! A bucket as the place where a shop's tablets meet: objects on a server that somebody else
//! runs, reached from everywhere.
//!
//! A copy of the bucket in the shape of a shop folder lies below `bucket` in the data folder.
//! [`BucketPlace::fetch`] brings it up to what the bucket has, the exchange works with it as
//! with any folder, and [`BucketPlace::send`] puts what has changed in it. So every check of
//! a foreign file holds for foreign objects, and work goes on while the bucket is out of reach.
//!
//! Requests cost money and are counted by the work: a look is one request for a thousand
//! tablets, and one for each that has tapped; a tap is two; what is over is not looked at.
// Long because it is one course, from a look to what is put, over what both sides know.

mod address;
mod client;
mod fault;
mod head;
mod journals;
mod own;
mod small;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::mem::take;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use trayzero_core::journal::{Members, journal_path, pictures_path};
use uuid::Uuid;

pub use address::{BucketAddress, Surroundings};
pub use fault::BucketFault;

use super::place::MeetingPlace;
use super::{FileFault, ShopFault};
use client::{Client, Listed, at_once};
use head::{HEAD_BYTES_MAX, Head, Past, hash_of, past_name};
use journals::{NotTaken, WantedJournal, write_copy};
use own::OwnJournals;
use small::{NOW, SmallFiles};

/// The most small objects and heads that are looked at.
const OBJECTS_MAX: usize = 20_000;
/// The most tablets that are no members whose journals are brought here, and their bytes.
const STRANGERS_MAX: usize = 200;
const STRANGERS_BYTES_MAX: u64 = 64 << 20;
/// Looks in a row that bring nothing double the pause up to so many usual ones.
const PAUSE_LEAST: u32 = 3;
const PAUSE_MOST: u32 = 20;
/// A look at boxes with keys comes with every so many looks.
const BOXES_EVERY: u64 = 10;
/// How often it is looked whether own pieces lie there as they should.
const LOOK_OVER_EVERY: Duration = Duration::from_hours(1);
/// A picture that is not there is asked for again after this.
const PICTURE_AGAIN: Duration = Duration::from_mins(1);
/// The largest copy of a photograph, in bytes.
const PICTURE_BYTES_MAX: u64 = 2 << 20;
const SENT_PICTURES: &str = "pictures-sent.txt";

/// The copy of the bucket that a person named, in a data folder.
pub(super) fn copy_of(place: &Path, data: &Path) -> PathBuf {
    let name = hash_of(place.to_string_lossy().trim_end_matches('/').as_bytes());
    data.join("bucket").join(&name[..16]).join("shop")
}

/// A tablet's head as it was found.
#[derive(Debug, Default)]
struct KnownHead {
    /// What changes when it does; empty as long as something of it could not be taken.
    tag: String,
    /// Objects of the past that were taken whole.
    past: u32,
    /// Bytes that its journals take, for a bound on those of strangers.
    bytes: u64,
    /// Not all of it was taken, for it is a stranger's.
    is_bounded: bool,
}

/// A bucket, with its copy here.
#[derive(Debug)]
pub(super) struct BucketPlace {
    /// As the person wrote it.
    place: PathBuf,
    address: Result<BucketAddress, BucketFault>,
    folder: PathBuf,
    around: Surroundings,
    tablet: Option<Uuid>,
    client: Option<Client>,
    small: SmallFiles,
    heads: BTreeMap<Uuid, KnownHead>,
    own: OwnJournals,
    looked_over: Option<Instant>,
    looks: u64,
    quiet_looks: u32,
    changed: BTreeSet<Uuid>,
    faults: BTreeMap<PathBuf, FileFault>,
    left_alone: Vec<FileFault>,
    pictures_asked: BTreeMap<(Uuid, String), Instant>,
    pictures_sent: Option<BTreeSet<String>>,
}

impl BucketPlace {
    pub fn open(
        place: &Path,
        address: Result<BucketAddress, BucketFault>,
        data: &Path,
        tablet: Option<Uuid>,
        around: &Surroundings,
    ) -> Self {
        Self {
            place: place.to_owned(),
            address,
            folder: copy_of(place, data),
            around: around.clone(),
            tablet,
            client: None,
            small: SmallFiles::default(),
            heads: BTreeMap::new(),
            own: OwnJournals::default(),
            looked_over: None,
            looks: 0,
            quiet_looks: 0,
            changed: BTreeSet::new(),
            faults: BTreeMap::new(),
            left_alone: Vec::new(),
            pictures_asked: BTreeMap::new(),
            pictures_sent: None,
        }
    }

    fn failed(&self, why: BucketFault) -> ShopFault {
        ShopFault::Bucket {
            place: self.place.clone(),
            why,
        }
    }

    /// Does something with the bucket, with the keys that the system has now.
    fn with_client(
        &mut self,
        work: impl FnOnce(&mut Self, &Client) -> Result<(), ShopFault>,
    ) -> Result<(), ShopFault> {
        let client = if let Some(client) = self.client.take() {
            client
        } else {
            let address = self.address.clone().map_err(|why| self.failed(why))?;
            Client::new(&address, &self.place, &self.around).map_err(|why| self.failed(why))?
        };
        let done = work(self, &client);
        // Keys may be others by the next time.
        let is_refused = matches!(
            done,
            Err(ShopFault::Bucket {
                why: BucketFault::Refused | BucketFault::ClockOff { .. },
                ..
            })
        );
        self.client = Some(client).filter(|_| !is_refused);
        done
    }

    fn fetch_all(&mut self, client: &Client, members: &Members) -> Result<(), ShopFault> {
        fs::create_dir_all(self.folder.join("jobs"))
            .map_err(|e| ShopFault::of(&self.folder, &e))?;
        let listed = client.list(NOW, OBJECTS_MAX);
        let listed = listed.map_err(|why| self.failed(why))?;
        let (mut heads, mut small) = (Vec::new(), Vec::new());
        self.left_alone.clear();
        for object in listed {
            let head = head::tablet_of(&object.name);
            match head {
                Some(tablet) => heads.push((tablet, object)),
                None if small::path_of(&self.folder, &object.name).is_some() => small.push(object),
                None => self.left_alone.push(FileFault {
                    path: self.place.join(&object.name),
                    why: "its name is none of a shop's".to_owned(),
                }),
            }
        }
        let mut is_new = self.small.fetch(client, &self.folder, NOW, &small)?;
        if let Some(own) = self
            .tablet
            .filter(|_| self.looks.is_multiple_of(BOXES_EVERY))
        {
            let within = format!("keys/{own}/");
            let boxes = client.list(&within, OBJECTS_MAX);
            let boxes = boxes.map_err(|why| self.failed(why))?;
            is_new |= self.small.fetch(client, &self.folder, &within, &boxes)?;
        }
        is_new |= self.fetch_heads(client, members, heads)?;
        self.looks += 1;
        self.quiet_looks = if is_new { 0 } else { self.quiet_looks + 1 };
        Ok(())
    }

    // Long because it is one course of requests, each resting on what the one before gave.
    /// Takes the heads that have changed, and what they name. Gives whether there were any.
    fn fetch_heads(
        &mut self,
        client: &Client,
        members: &Members,
        mut listed: Vec<(Uuid, Listed)>,
    ) -> Result<bool, ShopFault> {
        let own = self.tablet;
        let is_own_gone = listed.iter().all(|(tablet, _)| Some(*tablet) != own);
        if is_own_gone && !self.own.tag.is_empty() {
            self.own.take_head(Head::default(), String::new());
        }
        self.heads
            .retain(|tablet, _| listed.iter().any(|(id, _)| id == tablet));
        // Of strangers the shortest first, so that one cannot hide the others.
        listed.sort_by_key(|(_, object)| object.bytes);
        let knows = |tablet: Uuid| Some(tablet) == own || members.knows(tablet);
        let mut strangers = 0;
        listed.retain(|(tablet, object)| {
            strangers += usize::from(!knows(*tablet));
            let is_bounded = knows(*tablet) || strangers <= STRANGERS_MAX;
            is_bounded && object.bytes <= HEAD_BYTES_MAX
        });
        listed.retain(|(tablet, object)| {
            let tag = match self.heads.get(tablet) {
                _ if Some(*tablet) == own => &self.own.tag,
                Some(known) if !(known.is_bounded && knows(*tablet)) => &known.tag,
                _ => return true,
            };
            tag.is_empty() || *tag != object.tag
        });
        let got = at_once(listed, |(tablet, object)| {
            let got = client.get(&object.name, HEAD_BYTES_MAX)?;
            Ok(got.map(|got| (tablet, got)))
        });
        let mut wanted = Vec::new();
        let mut changed = BTreeMap::new();
        for got in got {
            let got = got.map_err(|why: BucketFault| self.failed(why))?;
            let Some((tablet, got)) = got else { continue };
            let path = self.place.join(head::head_name(tablet));
            match Head::read(&got.bytes) {
                Ok(head) => {
                    self.faults.remove(&path);
                    changed.insert(tablet, (head, got.tag));
                }
                Err(why) => {
                    self.faults.insert(path.clone(), FileFault { path, why });
                }
            }
        }
        let past = self.fetch_past(client, &changed)?;
        for (tablet, (head, tag)) in &changed {
            let is_first = !self.heads.contains_key(tablet);
            let is_own = Some(*tablet) == own;
            let open: BTreeSet<Uuid> = head.open.iter().map(|journal| journal.job).collect();
            let of_past = past.iter().filter(|(of, ..)| of == tablet);
            let over = of_past.flat_map(|(.., past)| &past.journals);
            // One that was over and went on is told of twice; the later place is the true one.
            let over: BTreeMap<Uuid, _> = over.map(|journal| (journal.job, journal)).collect();
            let over = over
                .into_values()
                .filter(|journal| !open.contains(&journal.job));
            let all = over.map(|journal| (journal, false));
            let all = all.chain(
                head.open
                    .iter()
                    .map(|journal| (journal, is_first || is_own)),
            );
            wanted.extend(all.map(|(journal, is_looked_over)| WantedJournal {
                tablet: *tablet,
                head: journal.clone(),
                is_looked_over,
            }));
            if is_own {
                // Somebody else has written it, or this is the first look.
                self.looked_over = None;
                self.own.take_head(head.clone(), tag.clone());
                for (_, n, past) in past.iter().filter(|(of, ..)| of == tablet) {
                    self.own.take_past(*n, past);
                }
            }
        }
        let bounded = self.bound_strangers(&mut wanted, &knows);
        let failing = self.take_journals(client, wanted)?;
        for (tablet, (head, tag)) in &changed {
            let bytes = head.open.iter().map(head::JournalHead::bytes);
            let mut known = KnownHead {
                bytes: bytes.fold(0, u64::saturating_add),
                is_bounded: bounded.contains(tablet),
                past: self.heads.get(tablet).map_or(0, |known| known.past),
                tag: String::new(),
            };
            if !failing.contains(tablet) {
                known.tag.clone_from(tag);
                for (_, n, past) in past.iter().filter(|(of, ..)| of == tablet) {
                    known.past = *n - u32::from(!past.is_full());
                    self.keep_past(*tablet, *n, past);
                }
            }
            self.heads.insert(*tablet, known);
        }
        Ok(!changed.is_empty())
    }

    /// Puts the journals together. Gives the tablets of which one could not be.
    fn take_journals(
        &mut self,
        client: &Client,
        wanted: Vec<WantedJournal>,
    ) -> Result<BTreeSet<Uuid>, ShopFault> {
        let mut failing = BTreeSet::new();
        let folder = self.folder.clone();
        let taken = at_once(wanted, |wanted| {
            let taken = wanted.take(client, &folder);
            (wanted, taken)
        });
        for (wanted, taken) in taken {
            let path = journal_path(&folder, wanted.head.job, wanted.tablet);
            match taken {
                Ok(is_new) => {
                    self.faults.remove(&path);
                    self.changed.extend(is_new.then_some(wanted.head.job));
                }
                Err(NotTaken::Bucket(why)) => return Err(self.failed(why)),
                Err(NotTaken::File(fault)) => {
                    failing.insert(wanted.tablet);
                    self.faults.insert(path, fault);
                }
            }
        }
        Ok(failing)
    }

    /// Leaves out journals of strangers beyond a bound of bytes. Gives whose.
    fn bound_strangers(
        &self,
        wanted: &mut Vec<WantedJournal>,
        knows: &dyn Fn(Uuid) -> bool,
    ) -> BTreeSet<Uuid> {
        let mut bounded = BTreeSet::new();
        let here = self.heads.iter().filter(|(tablet, _)| !knows(**tablet));
        let here = here.map(|(_, known)| known.bytes);
        let mut bytes = here.fold(0, u64::saturating_add);
        wanted.retain(|wanted| {
            if knows(wanted.tablet) {
                return true;
            }
            bytes = bytes.saturating_add(wanted.head.bytes());
            let is_within = bytes <= STRANGERS_BYTES_MAX;
            if !is_within {
                bounded.insert(wanted.tablet);
            }
            is_within
        });
        bounded
    }

    /// Objects of the past that were not taken yet, by tablet and number.
    fn fetch_past(
        &self,
        client: &Client,
        heads: &BTreeMap<Uuid, (Head, String)>,
    ) -> Result<Vec<(Uuid, u32, Past)>, ShopFault> {
        let each = at_once(heads.iter().collect(), |(tablet, (head, _))| {
            let known = self.heads.get(tablet).map_or(0, |known| known.past);
            let mut found = Vec::new();
            // A head may claim any number: what comes after a gap is none.
            for n in known.saturating_add(1)..=head.past {
                let here = fs::read(self.past_path(*tablet, n)).ok();
                let here = here.and_then(|bytes| Past::read(&bytes).ok());
                let past = if here.is_some() {
                    here
                } else {
                    let got = client.get(&past_name(*tablet, n), HEAD_BYTES_MAX)?;
                    got.and_then(|got| Past::read(&got.bytes).ok())
                };
                let Some(past) = past else { break };
                found.push((*tablet, n, past));
            }
            Ok(found)
        });
        let each: Result<Vec<_>, BucketFault> = each.into_iter().collect();
        let found = each.map_err(|why| self.failed(why))?;
        Ok(found.into_iter().flatten().collect())
    }

    fn past_path(&self, tablet: Uuid, n: u32) -> PathBuf {
        let beside = self.folder.parent().unwrap_or(&self.folder);
        beside.join(past_name(tablet, n))
    }

    /// A full object of the past never changes, so it is fetched once.
    fn keep_past(&self, tablet: Uuid, n: u32, past: &Past) {
        let path = self.past_path(tablet, n);
        if !past.is_full() || path.exists() {
            return;
        }
        // Without it, it is fetched again.
        let _ = fs::create_dir_all(path.parent().unwrap_or(&self.folder))
            .and_then(|()| write_copy(&path, &past.to_bytes()));
    }

    fn send_all(
        &mut self,
        client: &Client,
        tablet: Uuid,
        jobs: &[Uuid],
        is_over: &dyn Fn(Uuid) -> bool,
    ) -> Result<(), ShopFault> {
        self.small.send(client, &self.folder, tablet)?;
        let is_due = self
            .looked_over
            .is_none_or(|at| at.elapsed() > LOOK_OVER_EVERY);
        if is_due {
            self.own.look_over(client, &self.folder, tablet)?;
            self.looked_over = Some(Instant::now());
        }
        self.own.send(client, &self.folder, tablet, jobs, is_over)?;
        self.send_pictures(client, jobs)
    }

    /// Puts the copies of photographs that this tablet has of these jobs.
    fn send_pictures(&mut self, client: &Client, jobs: &[Uuid]) -> Result<(), ShopFault> {
        let list = self.folder.with_file_name(SENT_PICTURES);
        let mut sent = self.pictures_sent.take().unwrap_or_else(|| {
            let known = fs::read_to_string(&list).unwrap_or_default();
            known.lines().map(str::to_owned).collect()
        });
        let mut new = String::new();
        let mut result = Ok(());
        for job in jobs {
            let within = pictures_path(&self.folder, *job);
            for file in fs::read_dir(&within).into_iter().flatten().flatten() {
                let file_name = file.file_name().to_string_lossy().into_owned();
                let name = picture_name(*job, &file_name);
                if !is_picture(&file_name) || sent.contains(&name) {
                    continue;
                }
                let put = fs::read(file.path())
                    .map_err(|e| ShopFault::of(&file.path(), &e))
                    .and_then(|bytes| {
                        let put = client.put_new(&name, &bytes);
                        put.map_err(|why| client.fault(why))
                    });
                match put {
                    Ok(_) => {
                        new.push_str(&name);
                        new.push('\n');
                        sent.insert(name);
                    }
                    Err(fault) => result = Err(fault),
                }
            }
        }
        self.pictures_sent = Some(sent);
        if !new.is_empty() {
            let file = fs::OpenOptions::new().append(true).create(true).open(&list);
            // Without the list they are sent once more at the next start.
            let _ = file.and_then(|mut file| std::io::Write::write_all(&mut file, new.as_bytes()));
        }
        result
    }
}

impl MeetingPlace for BucketPlace {
    fn folder(&self) -> &Path {
        &self.folder
    }

    fn fetch(&mut self, members: &Members) -> Result<(), ShopFault> {
        self.with_client(|place, client| place.fetch_all(client, members))
    }

    fn take_changed(&mut self) -> Option<BTreeSet<Uuid>> {
        Some(take(&mut self.changed))
    }

    fn fetch_pictures(&mut self, wanted: &[(Uuid, String)]) {
        let folder = self.folder.clone();
        let mut wanted = wanted.to_vec();
        self.pictures_asked
            .retain(|_, at| at.elapsed() < PICTURE_AGAIN);
        wanted.retain(|(job, name)| {
            let is_asked = self.pictures_asked.contains_key(&(*job, name.clone()));
            !is_asked && is_picture(name) && !pictures_path(&folder, *job).join(name).exists()
        });
        for (job, name) in wanted {
            self.pictures_asked
                .insert((job, name.clone()), Instant::now());
            let Some(client) = &self.client else { return };
            // What does not come now is asked for again.
            if let Ok(Some(got)) = client.get(&picture_name(job, &name), PICTURE_BYTES_MAX) {
                let within = pictures_path(&folder, job);
                let _ = fs::create_dir_all(&within)
                    .and_then(|()| write_copy(&within.join(&name), &got.bytes));
            }
        }
    }

    fn send(&mut self, jobs: &[Uuid], is_over: &dyn Fn(Uuid) -> bool) -> Result<(), ShopFault> {
        let Some(tablet) = self.tablet else {
            return Ok(());
        };
        self.with_client(|place, client| place.send_all(client, tablet, jobs, is_over))
    }

    fn behind_bytes(&self, jobs: &[Uuid]) -> u64 {
        self.tablet.map_or(0, |tablet| {
            self.own.behind_bytes(&self.folder, tablet, jobs)
        })
    }

    fn faults(&self) -> Vec<FileFault> {
        self.faults.values().cloned().collect()
    }

    fn left_alone(&self) -> Vec<FileFault> {
        self.left_alone.clone()
    }

    fn pause(&self, usual: Duration) -> Duration {
        let doubled = PAUSE_LEAST << self.quiet_looks.min(8);
        usual * doubled.min(PAUSE_MOST)
    }
}

fn picture_name(job: Uuid, name: &str) -> String {
    format!("pictures/{job}/{name}")
}

/// Whether a file's name is one that a copy of a photograph has: its hash.
fn is_picture(name: &str) -> bool {
    let is_hash = |stem: &str| stem.len() == 64 && stem.bytes().all(|b| b.is_ascii_hexdigit());
    name.strip_suffix(".jpg").is_some_and(is_hash)
}
