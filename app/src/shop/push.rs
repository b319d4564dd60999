//! Own journals to the shop folder, by appending what is missing there.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, BufReader, Read, Seek, SeekFrom, Write};
use std::path::Path;

use trayzero_core::journal::{JobFolder, job_path, journal_path, open_plain};
use uuid::Uuid;

use super::folder::{make_plain_folder, open_to_append};
use super::{FileFault, ShopFault};
use crate::data::store::Acknowledged;

const CHUNK_BYTES: usize = 64 << 10;

/// What pushing one journal came to.
#[derive(Debug, PartialEq)]
pub(super) enum Pushed {
    /// All of it is there; so many bytes are new.
    All(u64),
    /// The copy there cannot be one of this journal; it is left alone.
    Differs(FileFault),
}

/// How far own journals are known to be in the shop folder.
#[derive(Debug, Default)]
pub(super) struct Pusher {
    /// Length up to which the copy was compared or written by this process.
    known: BTreeMap<Uuid, u64>,
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
        own_bytes.saturating_sub(self.known.get(&job).copied().unwrap_or(0))
    }

    /// Appends what is missing of one own journal, after comparing what is there.
    pub fn push(
        &mut self,
        job: &JobFolder,
        tablet: Uuid,
        own: &Path,
        own_bytes: u64,
        folder: &Path,
    ) -> Result<Pushed, ShopFault> {
        let there = journal_path(folder, job.job, tablet);
        let failed = |e: io::Error| ShopFault::of(&there, &e);
        let there_bytes = match there.symlink_metadata() {
            Ok(known) if known.is_file() => known.len(),
            Ok(_) => {
                let why = "it is no plain file; this tablet's journal belongs there".to_owned();
                return Ok(Pushed::Differs(FileFault { path: there, why }));
            }
            Err(e) if e.kind() == io::ErrorKind::NotFound => 0,
            Err(e) => return Err(failed(e)),
        };
        let known = self.known.get(&job.job).copied().unwrap_or(0);
        if there_bytes == own_bytes && known == own_bytes {
            return Ok(Pushed::All(0));
        }
        // What this process has compared and nobody has cut is not read again.
        let compared = if there_bytes >= known { known } else { 0 };
        if let Some(why) = compare(own, own_bytes, &there, there_bytes, compared).map_err(failed)? {
            self.known.remove(&job.job);
            return Ok(Pushed::Differs(FileFault { path: there, why }));
        }
        self.known.insert(job.job, there_bytes);
        let written = append(
            own,
            there_bytes,
            own_bytes,
            &there,
            &job_path(folder, job.job),
        );
        written.map_err(failed)?;
        self.known.insert(job.job, own_bytes);
        Ok(Pushed::All(own_bytes - there_bytes))
    }
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

/// Whether the copy is a beginning of the own journal; the answer is what is wrong.
fn compare(
    own: &Path,
    own_bytes: u64,
    there: &Path,
    there_bytes: u64,
    from: u64,
) -> io::Result<Option<String>> {
    let until = own_bytes.min(there_bytes);
    if until > from {
        let mut own = BufReader::with_capacity(CHUNK_BYTES, open_at(own, from)?);
        let mut copy = BufReader::with_capacity(CHUNK_BYTES, open_at(there, from)?);
        let mut at = from;
        let (mut a, mut b) = (vec![0; CHUNK_BYTES], vec![0; CHUNK_BYTES]);
        while at < until {
            let length = ((until - at) as usize).min(CHUNK_BYTES);
            own.read_exact(&mut a[..length])?;
            copy.read_exact(&mut b[..length])?;
            if a[..length] != b[..length] {
                return Ok(Some(
                    "it is not what this tablet wrote; it is left alone and not added to"
                        .to_owned(),
                ));
            }
            at += length as u64;
        }
    }
    let surplus = there_bytes.saturating_sub(own_bytes);
    Ok((surplus > 0)
        .then(|| format!("it has {surplus} bytes more than this tablet wrote; it is left alone")))
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
