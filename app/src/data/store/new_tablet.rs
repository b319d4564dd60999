//! The way out where one identity is in use twice: this copy becomes a new tablet.
//!
//! A data folder that was copied signs with the same key as the one it was copied from. The
//! lines that both have stay the old tablet's; the lines that this copy has written since
//! become the first lines of a new tablet, with their times, their order and their
//! identities, so that what refers to them still does. Nothing is deleted: the end of the
//! old journal is kept in a side file.

use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::Path;

use trayzero_core::job::{Entry, Event};
use trayzero_core::journal::{
    JobFolder, Limits, Mark, Reader, Writer, journal_path, list_jobs, read_journal, read_plain,
};
use uuid::Uuid;

use super::small_file::{Doing, FileError};
use super::{Stamp, Store, StoreError};

/// Lines written at once.
const AT_ONCE: usize = 32;

impl Store {
    /// Makes this copy a new tablet. `shop` is the folder that the other copy writes to; what
    /// lies there stays the old tablet's. No job may be open. The new tablet has to be
    /// admitted to the shop like any other.
    ///
    /// # Errors
    /// [`StoreError`], which names the file; the tablet is the old one then.
    pub fn become_new_tablet(&mut self, shop: &Path, now: Stamp) -> Result<(), StoreError> {
        let old = self.tablet.id();
        let new = self.tablet.new_from_copy(now)?;
        let mut kept = Vec::new();
        for job in list_jobs(&self.root)?.jobs {
            if let Some(common) = self.move_lines(&job, old, new.id(), shop)? {
                kept.push((job, common));
            }
        }
        // From here on this is the new tablet; a journal that is not cut yet is cut later,
        // when it is held against what its owner has sealed.
        new.write(&self.root)?;
        self.tablet = std::sync::Arc::new(new);
        for (job, common) in kept {
            // The note that there are two is this copy's, and is true no more. If it cannot
            // be removed, it is said a little longer.
            let _ = fs::remove_file(journal_path(shop, job.job, old).with_extension("twin"));
            let path = journal_path(&self.root, job.job, old);
            cut_with_copy(&path, common)
                .map_err(|e| FileError::of(&path, Doing::KeepingShared, e))?;
        }
        Ok(())
    }

    /// Writes what this copy alone has of a job as the new tablet's lines. Gives how many
    /// bytes both copies have; `None` where this copy has no lines of its own.
    fn move_lines(
        &self,
        job: &JobFolder,
        old: Uuid,
        new: Uuid,
        shop: &Path,
    ) -> Result<Option<u64>, StoreError> {
        let own = journal_path(&self.root, job.job, old);
        if !own.exists() {
            return Ok(None);
        }
        let there = journal_path(shop, job.job, old);
        let common =
            common_lines(&own, &there).map_err(|e| FileError::of(&own, Doing::Comparing, e))?;
        let read = read_journal(&own, job.job, old, Limits::OWN)?;
        let shared =
            read_plain(&own, 0, common).map_err(|e| FileError::of(&own, Doing::Reading, e))?;
        let (limits, start) = (Limits::OWN, Mark::START);
        let shared = Reader::new(shared.as_slice(), &own, job.job, old, limits, start);
        let shared = shared.for_each(|_, _, _| {}).mark.n;
        let rest = read.entries.get(shared as usize..);
        let rest: Vec<Entry> = rest
            .unwrap_or_default()
            .iter()
            .filter(|entry| !matches!(entry.event, Event::Sealed(_)))
            .map(|entry| Entry {
                tablet: new,
                ..entry.clone()
            })
            .collect();
        if rest.is_empty() {
            return Ok(None);
        }
        let mut writer = Writer::open(&self.root, job.job, new)?.writer;
        for batch in rest.chunks(AT_ONCE) {
            writer.append(batch)?;
        }
        Ok(Some(common))
    }
}

/// How many bytes two journals have in common, in whole lines.
fn common_lines(own: &Path, there: &Path) -> io::Result<u64> {
    let read = |path: &Path| read_plain(path, 0, Limits::FOREIGN.file_bytes);
    let own = read(own)?;
    let there = match read(there) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => Vec::new(),
        other => other?,
    };
    let same = own.iter().zip(&there).take_while(|(a, b)| a == b).count();
    let end = own[..same].iter().rposition(|b| *b == b'\n');
    Ok(end.map_or(0, |at| at as u64 + 1))
}

/// Keeps the end of a journal in a side file, and cuts it off.
fn cut_with_copy(path: &Path, bytes: u64) -> io::Result<()> {
    let whole = fs::read(path)?;
    let rest = whole.get(bytes as usize..).unwrap_or_default();
    let mut aside = OpenOptions::new()
        .append(true)
        .create(true)
        .open(path.with_extension("unconfirmed"))?;
    aside.write_all(rest)?;
    aside.sync_all()?;
    let file = OpenOptions::new().write(true).open(path)?;
    file.set_len(bytes)?;
    file.sync_all()
}
