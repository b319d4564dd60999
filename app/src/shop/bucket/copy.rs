//! The copy of a bucket here, and how it is kept in step with the bucket.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use trayzero_core::journal::{Members, journal_path, sha256};
use uuid::Uuid;

use super::address::{BucketAddress, Surroundings};
use super::client::Client;
use super::fault::BucketFault;
use super::head::tablet_of;
use super::heads::Heads;
use super::own::OwnJournals;
use super::photographs::Photographs;
use super::small::{NOW, SmallFiles, path_of};
use crate::shop::place::MeetingPlace;
use crate::shop::{FileFault, SharedFault, ShopFault};

/// The most small objects and heads that are looked at.
const OBJECTS_MAX: usize = 20_000;
/// Looks in a row that bring nothing double the pause up to so many usual ones.
const PAUSE_LEAST: u32 = 3;
const PAUSE_MOST: u32 = 20;
/// A look at boxes with keys comes with every so many looks.
const BOXES_EVERY: u64 = 10;
/// How often it is looked whether own pieces lie there as they should.
const LOOK_OVER_EVERY: Duration = Duration::from_hours(1);

/// The copy of the bucket that a person named, in a data folder.
pub(in crate::shop) fn copy_of(place: &Path, data: &Path) -> PathBuf {
    let name = sha256(place.to_string_lossy().trim_end_matches('/').as_bytes());
    data.join("bucket").join(&name[..16]).join("shop")
}

/// A bucket, with its copy here.
#[derive(Debug)]
pub(in crate::shop) struct BucketPlace {
    /// As the person wrote it.
    place: PathBuf,
    address: Result<BucketAddress, BucketFault>,
    folder: PathBuf,
    around: Surroundings,
    tablet: Option<Uuid>,
    client: Option<Client>,
    small: SmallFiles,
    heads: Heads,
    own: OwnJournals,
    photographs: Photographs,
    looked_over: Option<Instant>,
    looks: u64,
    quiet_looks: u32,
    /// Something but journals has changed since somebody asked.
    is_shop_changed: bool,
    left_alone: Vec<FileFault>,
}

impl BucketPlace {
    /// The copy in the data folder; `tablet` is the one that sends, where one does.
    pub fn open(
        place: &Path,
        address: Result<BucketAddress, BucketFault>,
        data: &Path,
        tablet: Option<Uuid>,
        around: &Surroundings,
    ) -> Self {
        let folder = copy_of(place, data);
        Self {
            place: place.to_owned(),
            address,
            around: around.clone(),
            tablet,
            client: None,
            small: SmallFiles::default(),
            heads: Heads::of(&folder),
            own: OwnJournals::default(),
            photographs: Photographs::of(&folder),
            folder,
            looked_over: None,
            looks: 0,
            quiet_looks: 0,
            is_shop_changed: true,
            left_alone: Vec::new(),
        }
    }

    /// Does something with the bucket, with the keys that the system has now.
    fn with_client(
        &mut self,
        work: impl FnOnce(&mut Self, &Client) -> Result<(), ShopFault>,
    ) -> Result<(), ShopFault> {
        let failed = |why| ShopFault::Bucket {
            place: self.place.clone(),
            why,
        };
        let client = if let Some(client) = self.client.take() {
            client
        } else {
            let address = self.address.clone().map_err(failed)?;
            Client::new(&address, &self.place, &self.around).map_err(failed)?
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
        let failed = |why| client.fault(why);
        fs::create_dir_all(self.folder.join("jobs")).map_err(ShopFault::at(&self.folder))?;
        let (mut heads, mut small) = (Vec::new(), Vec::new());
        self.left_alone.clear();
        for object in client.list(NOW, OBJECTS_MAX).map_err(failed)? {
            match tablet_of(&object.name) {
                Some(tablet) => heads.push((tablet, object)),
                None if path_of(&self.folder, &object.name).is_some() => small.push(object),
                None => {
                    let path = self.place.join(&object.name);
                    let fault = FileFault::new(&path, "its name is none of a shop's");
                    self.left_alone.push(fault);
                }
            }
        }
        let mut is_new = self.small.fetch(client, &self.folder, NOW, &small)?;
        let looks_at_boxes = self.looks.is_multiple_of(BOXES_EVERY);
        if let Some(own) = self.tablet.filter(|_| looks_at_boxes) {
            let within = format!("keys/{own}/");
            let boxes = client.list(&within, OBJECTS_MAX).map_err(failed)?;
            is_new |= self.small.fetch(client, &self.folder, &within, &boxes)?;
        }
        self.is_shop_changed |= is_new;
        let own_tag = self.own.tag.clone();
        let own = self.tablet.map(|tablet| (tablet, &mut self.own));
        let found = self.heads.fetch(client, members, heads, own);
        is_new |= found.map_err(failed)?;
        if self.own.tag != own_tag {
            // Somebody else has written this tablet's head, or this is the first look.
            self.looked_over = None;
        }
        self.looks += 1;
        self.quiet_looks = if is_new { 0 } else { self.quiet_looks + 1 };
        Ok(())
    }

    fn send_all(
        &mut self,
        client: &Client,
        tablet: Uuid,
        jobs: &[Uuid],
        is_over: &dyn Fn(Uuid) -> bool,
    ) -> Result<(), ShopFault> {
        self.small.send(client, &self.folder, tablet)?;
        let looked = self.looked_over;
        if looked.is_none_or(|at| at.elapsed() > LOOK_OVER_EVERY) {
            self.own.look_over(client, &self.folder, tablet)?;
            self.looked_over = Some(Instant::now());
        }
        self.own.send(client, &self.folder, tablet, jobs, is_over)?;
        // What somebody had made of its own journals there is put right.
        for job in jobs {
            let path = journal_path(&self.folder, *job, tablet);
            self.heads.faults.remove(&path);
        }
        self.photographs.send(client, jobs)
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
        Some(std::mem::take(&mut self.heads.changed))
    }

    fn take_is_shop_changed(&mut self) -> bool {
        std::mem::take(&mut self.is_shop_changed)
    }

    fn fetch_pictures(&mut self, wanted: &[(Uuid, String)]) {
        if let Some(client) = &self.client {
            self.photographs.fetch(client, wanted);
        }
    }

    fn send(&mut self, jobs: &[Uuid], is_over: &dyn Fn(Uuid) -> bool) -> Result<(), ShopFault> {
        let Some(tablet) = self.tablet else {
            return Ok(());
        };
        self.with_client(|place, client| place.send_all(client, tablet, jobs, is_over))
    }

    fn behind_bytes(&self, jobs: &[Uuid]) -> u64 {
        let behind = |tablet| self.own.behind_bytes(&self.folder, tablet, jobs);
        self.tablet.map_or(0, behind)
    }

    fn faults(&self) -> Vec<SharedFault> {
        self.heads.faults.values().cloned().collect()
    }

    fn left_alone(&self) -> Vec<FileFault> {
        self.left_alone.clone()
    }

    fn pause(&self, usual: Duration) -> Duration {
        let doubled = PAUSE_LEAST << self.quiet_looks.min(8);
        usual * doubled.min(PAUSE_MOST)
    }
}
