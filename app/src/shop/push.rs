//! Own journals to the shop folder, by appending what is missing there, and the seal beside
//! each, without which no other tablet counts the lines.
//!
//! Only this tablet may write its own journals. What somebody else has made of one there is
//! put right again, and said; unless it is sealed with this tablet's own key: then its
//! identity is in use twice, or it has gone back to an old copy of itself.

use std::collections::BTreeMap;
use std::fs::{self, File, OpenOptions};
use std::io::{self, BufReader, Read, Seek, SeekFrom, Write};
use std::path::Path;

use trayzero_core::journal::{EndSeal, JobFolder, job_path, journal_path, link_at, open_plain};
use uuid::Uuid;

use super::folder::{LastChange, make_plain_folder, open_to_append};
use super::own_copy::sealed_there;
use super::{FileWhy, SharedFault, ShopFault};
use crate::data::store::small_file::{self, Readers};
use crate::data::store::{Acknowledged, Tablet};

const CHUNK_BYTES: usize = 64 << 10;

/// The most files put right that are remembered.
const MENDED_MAX: usize = 100;

/// What pushing one journal came to.
#[derive(Debug, PartialEq)]
pub(super) enum Pushed {
    /// All of it is there; so many bytes are new.
    All(u64),
    /// What is there is sealed with this tablet's own key and is not in its journal: it is
    /// left alone.
    Twice(SharedFault),
    /// What is there goes on from all of this tablet's journal, sealed with its own key: an
    /// old copy of the data folder was put back.
    Behind(SharedFault),
    /// The file there is none that can be written to.
    Differs(SharedFault),
}

/// How far one own journal is known to be in the shop folder.
#[derive(Clone, Copy, Debug, Default)]
struct Known {
    /// Length up to which the copy was compared or written by this process.
    bytes: u64,
    /// The copy's last change when it was compared, if it was settled then.
    changed: Option<LastChange>,
    /// Up to here it is sealed there.
    sealed: u64,
    /// The last change of the seal there when it was read, if it was settled then.
    seal_changed: Option<LastChange>,
}

/// How far own journals are known to be in the shop folder.
#[derive(Debug, Default)]
pub(super) struct Pusher {
    known: BTreeMap<Uuid, Known>,
    mended: Vec<SharedFault>,
}

impl Pusher {
    /// Own acknowledged bytes of a job: the length first, then what is acknowledged of it.
    pub fn own_bytes(path: &Path, job: Uuid, acknowledged: &Acknowledged) -> io::Result<u64> {
        let mut file = open_plain(path)?;
        let bytes = file.metadata()?.len();
        match acknowledged.bytes_of(job) {
            Some(acknowledged) => Ok(bytes.min(acknowledged)),
            None => whole_lines(&mut file, bytes),
        }
    }

    /// Bytes of a job that are not known to be in the shop folder.
    pub fn behind(&self, job: Uuid, own_bytes: u64) -> u64 {
        own_bytes.saturating_sub(self.known.get(&job).map_or(0, |known| known.bytes))
    }

    /// Own files that somebody had changed in the shop folder, and that were put right.
    pub fn mended(&self) -> &[SharedFault] {
        &self.mended
    }

    /// Brings one own journal to the shop folder, after comparing what is there, and seals
    /// it there.
    pub fn push(
        &mut self,
        job: &JobFolder,
        tablet: &Tablet,
        own: &Path,
        own_bytes: u64,
        folder: &Path,
    ) -> Result<Pushed, ShopFault> {
        let there = journal_path(folder, job.job, tablet.id());
        let failed = ShopFault::at(&there);
        let (there_bytes, changed) = match there.symlink_metadata() {
            Ok(known) if known.is_file() => (known.len(), LastChange::settled(&known)),
            Ok(_) => {
                let why = FileWhy::OwnIsNoFile;
                if !clear(&there) {
                    return Ok(Pushed::Differs(SharedFault { path: there, why }));
                }
                self.remember(&there, why);
                (0, None)
            }
            Err(e) if e.kind() == io::ErrorKind::NotFound => (0, None),
            Err(e) => return Err(failed(e)),
        };
        let known = self.known.get(&job.job).copied().unwrap_or_default();
        let is_untouched = changed.is_some() && known.changed == changed;
        let mut new = 0;
        if !(is_untouched && there_bytes == own_bytes && known.bytes == own_bytes) {
            // What this process has compared and nobody has touched is not read again.
            let compared = if is_untouched { known.bytes } else { 0 };
            let same = compare(own, own_bytes, &there, there_bytes, compared).map_err(failed)?;
            if same < there_bytes {
                self.known.remove(&job.job);
                if let Some(fault) = sealed_twice(own, folder, job.job, tablet).map_err(failed)? {
                    return Ok(if same == own_bytes {
                        Pushed::Behind(fault)
                    } else {
                        Pushed::Twice(fault)
                    });
                }
                cut(&there, same).map_err(failed)?;
                self.note_mended(&there, there_bytes, own_bytes);
            }
            if same < known.bytes && same == there_bytes {
                self.note_cut(&there, known.bytes - same);
            }
            self.known.entry(job.job).or_default().bytes = same;
            let to = job_path(folder, job.job);
            append(own, same, own_bytes, &there, &to).map_err(failed)?;
            new = own_bytes - same;
            let known = self.known.entry(job.job).or_default();
            known.bytes = own_bytes;
            // What was written just now can be changed once more within the same moment.
            known.changed = changed.filter(|_| same == there_bytes && new == 0);
        }
        self.seal(job.job, tablet, own, own_bytes, folder)?;
        Ok(Pushed::All(new))
    }

    /// Seals what was brought there, unless that seal is there.
    fn seal(
        &mut self,
        job: Uuid,
        tablet: &Tablet,
        own: &Path,
        own_bytes: u64,
        folder: &Path,
    ) -> Result<(), ShopFault> {
        let path = EndSeal::path(folder, job, tablet.id());
        let known = self.known.entry(job).or_default();
        let found = path.symlink_metadata().ok();
        if found.as_ref().is_some_and(|known| !known.is_file()) {
            // If it cannot be cleared away, writing says so.
            clear(&path);
        }
        let changed = found.as_ref().and_then(LastChange::settled);
        let is_untouched = changed.is_some() && known.seal_changed == changed;
        if own_bytes == 0 || (known.sealed == own_bytes && is_untouched) {
            return Ok(());
        }
        let link = link_at(own, own_bytes).map_err(ShopFault::at(own))?;
        let Some(link) = link else {
            return Ok(());
        };
        let seal = EndSeal::over(job, tablet.id(), own_bytes, link, tablet.key());
        let there = EndSeal::read(folder, job, tablet.id());
        let is_there = there.ok().flatten().as_ref() == Some(&seal);
        if !is_there {
            small_file::write(&path, &seal.to_bytes(), Readers::Usual)?;
        }
        known.sealed = own_bytes;
        known.seal_changed = changed.filter(|_| is_there);
        Ok(())
    }

    fn note_mended(&mut self, there: &Path, there_bytes: u64, own_bytes: u64) {
        let why = match there_bytes.checked_sub(own_bytes) {
            Some(surplus) if surplus > 0 => FileWhy::Surplus(surplus),
            _ => FileWhy::PutRight,
        };
        self.remember(there, why);
    }

    /// Own lines were fetched from the shop folder, for they were not here any more.
    pub fn note_fetched(&mut self, there: &Path, bytes: u64) {
        self.remember(there, FileWhy::Fetched(bytes));
    }

    fn note_cut(&mut self, there: &Path, missing: u64) {
        self.remember(there, FileWhy::BroughtGone(missing));
    }

    fn remember(&mut self, there: &Path, why: FileWhy) {
        let fault = SharedFault::new(there, why);
        if self.mended.len() < MENDED_MAX && !self.mended.contains(&fault) {
            self.mended.push(fault);
        }
    }
}

/// Removes what stands in the place of a file and is none: a link, a pipe, an empty folder.
/// Gives whether it is gone.
fn clear(path: &Path) -> bool {
    fs::remove_file(path)
        .or_else(|_| fs::remove_dir(path))
        .is_ok()
}

/// What is wrong if the file there is sealed with this tablet's own key up to a line that its
/// journal does not have.
fn sealed_twice(
    own: &Path,
    folder: &Path,
    job: Uuid,
    tablet: &Tablet,
) -> io::Result<Option<SharedFault>> {
    let sealed = sealed_there(folder, job, tablet)?;
    if sealed.is_start() || link_at(own, sealed.bytes)? == Some(sealed.link) {
        return Ok(None);
    }
    let path = journal_path(folder, job, tablet.id());
    Ok(Some(SharedFault::new(&path, FileWhy::InUseTwice)))
}

/// Length of the lines that are whole.
fn whole_lines(file: &mut File, bytes: u64) -> io::Result<u64> {
    let mut end = bytes;
    let mut chunk = vec![0; CHUNK_BYTES];
    while end > 0 {
        let start = end.saturating_sub(CHUNK_BYTES as u64);
        let part = &mut chunk[..(end - start) as usize];
        file.seek(SeekFrom::Start(start))?;
        file.read_exact(part)?;
        if let Some(at) = part.iter().rposition(|b| *b == b'\n') {
            return Ok(start + at as u64 + 1);
        }
        end = start;
    }
    Ok(0)
}

/// Up to which byte the copy is the own journal. What was compared before is not read.
fn compare(
    own: &Path,
    own_bytes: u64,
    there: &Path,
    there_bytes: u64,
    from: u64,
) -> io::Result<u64> {
    let until = own_bytes.min(there_bytes);
    if until <= from {
        return Ok(until);
    }
    let mut own = BufReader::with_capacity(CHUNK_BYTES, open_at(own, from)?);
    let mut copy = BufReader::with_capacity(CHUNK_BYTES, open_at(there, from)?);
    let mut at = from;
    let (mut a, mut b) = (vec![0; CHUNK_BYTES], vec![0; CHUNK_BYTES]);
    while at < until {
        let length = ((until - at) as usize).min(CHUNK_BYTES);
        own.read_exact(&mut a[..length])?;
        copy.read_exact(&mut b[..length])?;
        let differs = a[..length]
            .iter()
            .zip(&b[..length])
            .position(|(a, b)| a != b);
        if let Some(differs) = differs {
            return Ok(at + differs as u64);
        }
        at += length as u64;
    }
    Ok(until)
}

/// Cuts the own journal's copy back to what this tablet wrote.
fn cut(there: &Path, bytes: u64) -> io::Result<()> {
    if !there.symlink_metadata()?.is_file() {
        return Err(io::Error::other("it is no plain file"));
    }
    let file = OpenOptions::new().write(true).open(there)?;
    file.set_len(bytes)
}

fn append(own: &Path, from: u64, to: u64, there: &Path, folder: &Path) -> io::Result<()> {
    if from >= to {
        return Ok(());
    }
    make_plain_folder(folder)?;
    let mut copy = open_to_append(there)?;
    let mut missing = open_at(own, from)?.take(to - from);
    let mut chunk = vec![0; CHUNK_BYTES];
    loop {
        let got = missing.read(&mut chunk)?;
        if got == 0 {
            break;
        }
        copy.write_all(&chunk[..got])?;
    }
    match copy.sync_data() {
        // Some network file systems know no sync.
        Err(e) if e.kind() == io::ErrorKind::InvalidInput => {}
        other => other?,
    }
    let found = fs::metadata(there)?.len();
    if found != to {
        let why = format!("it has {found} bytes after writing up to byte {to}");
        return Err(io::Error::other(why));
    }
    Ok(())
}

fn open_at(path: &Path, from: u64) -> io::Result<File> {
    let mut file = open_plain(path)?;
    file.seek(SeekFrom::Start(from))?;
    Ok(file)
}
