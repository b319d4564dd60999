//! The tablets' heads, and what they name, brought into the copy.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::mem::take;
use std::path::{Path, PathBuf};

use trayzero_core::journal::{Members, journal_path};
use uuid::Uuid;

use super::client::{Client, Listed, at_once};
use super::fault::BucketFault;
use super::head::{HEAD_BYTES_MAX, Head, JournalHead, Past, head_name, past_name};
use super::journals::{NotTaken, WantedJournal, write_copy};
use super::own::OwnJournals;
use crate::shop::SharedFault;

/// The most tablets that are no members whose journals are brought here, and their bytes.
const STRANGERS_MAX: usize = 200;
const STRANGERS_BYTES_MAX: u64 = 64 << 20;

/// A tablet's head as it was taken.
#[derive(Debug, Default)]
struct TakenHead {
    /// What changes when it does; empty as long as something of it could not be taken.
    tag: String,
    /// Objects of the past that were taken whole.
    past: u32,
    /// Bytes that its journals take, for a bound on those of strangers.
    bytes: u64,
    /// Not all of it was taken, for it is a stranger's.
    is_bounded: bool,
}

/// What a changed head came to.
struct ChangedHead {
    tablet: Uuid,
    head: Head,
    tag: String,
    /// Objects of the past that were not taken yet, with their numbers.
    past: Vec<(u32, Past)>,
}

/// The heads of a bucket.
#[derive(Debug, Default)]
pub(super) struct Heads {
    folder: PathBuf,
    known: BTreeMap<Uuid, TakenHead>,
    /// Files that could not be taken.
    pub faults: BTreeMap<PathBuf, SharedFault>,
    /// Jobs with new lines.
    pub changed: BTreeSet<Uuid>,
}

impl Heads {
    /// With a copy in this folder.
    pub fn of(folder: &Path) -> Self {
        Self {
            folder: folder.to_owned(),
            ..Self::default()
        }
    }

    /// Takes the heads that have changed, and what they name. `own` is the tablet that sends,
    /// with what it knows of its own. Gives whether there were any.
    pub fn fetch(
        &mut self,
        client: &Client,
        members: &Members,
        listed: Vec<(Uuid, Listed)>,
        mut own: Option<(Uuid, &mut OwnJournals)>,
    ) -> Result<bool, BucketFault> {
        let there: BTreeSet<Uuid> = listed.iter().map(|(tablet, _)| *tablet).collect();
        self.known.retain(|tablet, _| there.contains(tablet));
        let own_id = own.as_ref().map(|(id, _)| *id);
        let mut own_tag = None;
        if let Some((id, journals)) = &mut own {
            if !there.contains(id) && !journals.tag.is_empty() {
                journals.take_head(Head::default(), String::new());
            }
            own_tag = Some(journals.tag.clone());
        }
        let knows = |tablet: Uuid| Some(tablet) == own_id || members.knows(tablet);
        let mut chosen = bounded(listed, &knows);
        chosen.retain(|(tablet, object)| {
            let tag = match self.known.get(tablet) {
                _ if Some(*tablet) == own_id => own_tag.as_ref(),
                Some(known) if known.is_bounded && knows(*tablet) => None,
                known => known.map(|known| &known.tag),
            };
            tag.is_none_or(|tag| tag.is_empty() || *tag != object.tag)
        });
        let mut changed = self.read(client, chosen)?;
        let mut wanted = Vec::new();
        for head in &changed {
            let is_own = Some(head.tablet) == own_id;
            let is_first = !self.known.contains_key(&head.tablet);
            wanted.extend(head.wanted(is_first || is_own));
            if let Some((_, journals)) = own.as_mut().filter(|_| is_own) {
                journals.take_head(head.head.clone(), head.tag.clone());
                for (n, past) in &head.past {
                    journals.take_past(*n, past);
                }
            }
        }
        let left_out = self.leave_out(&mut wanted, &knows);
        let failing = self.take_journals(client, wanted)?;
        let is_new = !changed.is_empty();
        for head in &mut changed {
            let is_whole = !failing.contains(&head.tablet);
            self.note(head, is_whole, left_out.contains(&head.tablet));
        }
        Ok(is_new)
    }

    /// Reads heads, and the objects of the past that they name and that are new.
    fn read(
        &mut self,
        client: &Client,
        chosen: Vec<(Uuid, Listed)>,
    ) -> Result<Vec<ChangedHead>, BucketFault> {
        let known = &self.known;
        let folder = &self.folder;
        let got = at_once(chosen, |(tablet, object)| {
            let Some(got) = client.get(&object.name, HEAD_BYTES_MAX)? else {
                return Ok(None);
            };
            let head = match Head::read(&got.bytes) {
                Ok(head) => head,
                Err(why) => return Ok(Some(Err((tablet, why)))),
            };
            let from = known.get(&tablet).map_or(0, |known| known.past);
            let mut past = Vec::new();
            // A head may claim any number: what comes after a gap is none.
            for n in from.saturating_add(1)..=head.past {
                match read_past(client, folder, tablet, n)? {
                    Some(found) => past.push((n, found)),
                    None => break,
                }
            }
            Ok(Some(Ok(ChangedHead {
                tablet,
                head,
                tag: got.tag,
                past,
            })))
        });
        let got: Result<Vec<_>, BucketFault> = got.into_iter().collect();
        let mut changed = Vec::new();
        for head in got?.into_iter().flatten() {
            match head {
                Ok(head) => {
                    self.faults
                        .remove(&client.place.join(head_name(head.tablet)));
                    changed.push(head);
                }
                Err((tablet, why)) => {
                    let path = client.place.join(head_name(tablet));
                    self.faults.insert(path.clone(), SharedFault { path, why });
                }
            }
        }
        Ok(changed)
    }

    /// Leaves out journals of strangers beyond a bound of bytes. Gives whose.
    fn leave_out(
        &self,
        wanted: &mut Vec<WantedJournal>,
        knows: &dyn Fn(Uuid) -> bool,
    ) -> BTreeSet<Uuid> {
        let mut left_out = BTreeSet::new();
        let here = self.known.iter().filter(|(tablet, _)| !knows(**tablet));
        let here = here.map(|(_, known)| known.bytes);
        let mut bytes = here.fold(0, u64::saturating_add);
        wanted.retain(|wanted| {
            if knows(wanted.tablet) {
                return true;
            }
            bytes = bytes.saturating_add(wanted.head.bytes());
            let is_within = bytes <= STRANGERS_BYTES_MAX;
            left_out.extend((!is_within).then_some(wanted.tablet));
            is_within
        });
        left_out
    }

    /// Puts the journals together. Gives the tablets of which one could not be.
    fn take_journals(
        &mut self,
        client: &Client,
        wanted: Vec<WantedJournal>,
    ) -> Result<BTreeSet<Uuid>, BucketFault> {
        let mut failing = BTreeSet::new();
        let folder = &self.folder;
        let taken = at_once(wanted, |wanted| {
            let taken = wanted.take(client, folder);
            (wanted, taken)
        });
        for (wanted, taken) in taken {
            let path = journal_path(folder, wanted.head.job, wanted.tablet);
            match taken {
                Ok(is_new) => {
                    self.faults.remove(&path);
                    self.changed.extend(is_new.then_some(wanted.head.job));
                }
                Err(NotTaken::Bucket(why)) => return Err(why),
                Err(NotTaken::File(fault)) => {
                    failing.insert(wanted.tablet);
                    self.faults.insert(path, fault);
                }
            }
        }
        Ok(failing)
    }

    /// Notes how far a head was taken.
    fn note(&mut self, changed: &mut ChangedHead, is_whole: bool, is_bounded: bool) {
        let journals = changed.head.open.iter().map(JournalHead::bytes);
        let mut known = TakenHead {
            tag: String::new(),
            past: self
                .known
                .get(&changed.tablet)
                .map_or(0, |known| known.past),
            bytes: journals.fold(0, u64::saturating_add),
            is_bounded,
        };
        if is_whole {
            known.tag = take(&mut changed.tag);
            for (n, past) in &changed.past {
                known.past = n - u32::from(!past.is_full());
                keep_past(&self.folder, changed.tablet, *n, past);
            }
        }
        self.known.insert(changed.tablet, known);
    }
}

impl ChangedHead {
    /// The journals that it names. Those under way are held against what is here where
    /// `is_looked_over`; those of the past were, when they were brought.
    fn wanted(&self, is_looked_over: bool) -> impl Iterator<Item = WantedJournal> {
        let open: BTreeSet<Uuid> = self.head.open.iter().map(|journal| journal.job).collect();
        let over = self.past.iter().flat_map(|(_, past)| &past.journals);
        // One that was over and went on is told of twice; the later place is the true one.
        let over: BTreeMap<Uuid, _> = over.map(|journal| (journal.job, journal)).collect();
        let over = over.into_values().filter(move |j| !open.contains(&j.job));
        let all = over.map(|journal| (journal, false));
        let all = all.chain(self.head.open.iter().map(move |j| (j, is_looked_over)));
        all.map(|(journal, is_looked_over)| WantedJournal {
            tablet: self.tablet,
            head: journal.clone(),
            is_looked_over,
        })
    }
}

/// The heads that are looked at: those of tablets that are known, and of the others the
/// shortest, so that one cannot hide the rest.
fn bounded(mut listed: Vec<(Uuid, Listed)>, knows: &dyn Fn(Uuid) -> bool) -> Vec<(Uuid, Listed)> {
    listed.sort_by_key(|(_, object)| object.bytes);
    let mut strangers = 0;
    listed.retain(|(tablet, object)| {
        strangers += usize::from(!knows(*tablet));
        let is_within = knows(*tablet) || strangers <= STRANGERS_MAX;
        is_within && object.bytes <= HEAD_BYTES_MAX
    });
    listed
}

/// Where a full object of the past is kept, for it never changes.
fn past_path(folder: &Path, tablet: Uuid, n: u32) -> PathBuf {
    folder.with_file_name(past_name(tablet, n))
}

fn read_past(
    client: &Client,
    folder: &Path,
    tablet: Uuid,
    n: u32,
) -> Result<Option<Past>, BucketFault> {
    let read = |bytes: Vec<u8>| Past::read(&bytes).ok();
    let here = fs::read(past_path(folder, tablet, n)).ok();
    if let Some(past) = here.and_then(read) {
        return Ok(Some(past));
    }
    let got = client.get(&past_name(tablet, n), HEAD_BYTES_MAX)?;
    Ok(got.and_then(|got| read(got.bytes)))
}

fn keep_past(folder: &Path, tablet: Uuid, n: u32, past: &Past) {
    let path = past_path(folder, tablet, n);
    if !past.is_full() || path.exists() {
        return;
    }
    // Without it, it is fetched again.
    let _ = fs::create_dir_all(path.parent().unwrap_or(folder))
        .and_then(|()| write_copy(&path, &past.to_bytes()));
}
