//! Journals put together from their pieces, in a folder that looks like a shop folder.
//!
//! What is here of a journal is not fetched again; where pieces were folded into one since,
//! the part that is here is held against it. What a head names and a bucket lacks, or has in
//! another form, is a fault of that file: the journal stays as it was until its owner has put
//! it right.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use trayzero_core::journal::{EndSeal, Limits, job_path, journal_path};
use uuid::Uuid;

use super::client::Client;
use super::fault::BucketFault;
use super::head::{JournalHead, Piece};
use crate::shop::{FileWhy, SharedFault};

/// The most pieces of a journal that are looked at.
const PIECES_MAX: usize = 10_000;
/// The longest seal and the longest note of a twin, in bytes.
const BESIDE_BYTES_MAX: usize = 4 << 10;

/// Why a journal was not put together.
pub(super) enum NotTaken {
    /// The bucket does not serve.
    Bucket(BucketFault),
    /// This file does not hold, or cannot be written here.
    File(SharedFault),
}

/// A journal of somebody's, as a head tells of it.
#[derive(Clone, Debug)]
pub(super) struct WantedJournal {
    pub tablet: Uuid,
    pub head: JournalHead,
    /// What is here is held against the head too.
    pub is_looked_over: bool,
}

impl WantedJournal {
    /// Puts it together in the folder. Gives whether it is another now.
    pub fn take(&self, client: &Client, folder: &Path) -> Result<bool, NotTaken> {
        let path = journal_path(folder, self.head.job, self.tablet);
        let fault = |why: FileWhy| NotTaken::File(SharedFault::new(&path, why));
        let failed = |e: io::Error| fault(e.into());
        self.check().map_err(fault)?;
        let here = length_of(&path).map_err(failed)?;
        let good = if self.is_looked_over || here > self.head.bytes() {
            self.same_here(&path, here).map_err(failed)?
        } else {
            here
        };
        if good != here {
            cut(&path, good).map_err(failed)?;
        }
        fs::create_dir_all(job_path(folder, self.head.job)).map_err(failed)?;
        self.fetch_from(client, &path, good)?;
        // The lines first: the seal from before still covers the lines from before.
        let seal = EndSeal::path(folder, self.head.job, self.tablet);
        let twin = path.with_extension("twin");
        let mut is_new = good != self.head.bytes() || good != here;
        for (path, text) in [(seal, &self.head.seal), (twin, &self.head.twin)] {
            is_new |= write_beside(&path, text.as_deref()).map_err(failed)?;
        }
        Ok(is_new)
    }

    fn check(&self) -> Result<(), FileWhy> {
        let head = &self.head;
        if head.bytes() > Limits::FOREIGN.file_bytes || head.pieces.len() > PIECES_MAX {
            return Err(FileWhy::TooManyPieces {
                bytes: head.bytes(),
                pieces: head.pieces.len(),
            });
        }
        if !head.pieces.iter().all(Piece::is_sound) {
            return Err(FileWhy::NoHash);
        }
        let is_long = |text: &Option<String>| {
            text.as_ref()
                .is_some_and(|text| text.len() > BESIDE_BYTES_MAX)
        };
        if is_long(&head.seal) || is_long(&head.twin) {
            return Err(FileWhy::LongSeal);
        }
        Ok(())
    }

    /// Up to which byte what is here is what the head names, in whole pieces.
    fn same_here(&self, path: &Path, here: u64) -> io::Result<u64> {
        let mut file = match File::open(path) {
            Ok(file) => file,
            Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(0),
            Err(e) => return Err(e),
        };
        let mut same = 0;
        for piece in &self.head.pieces {
            if same + piece.bytes > here {
                break;
            }
            let mut bytes = vec![0; piece.bytes as usize];
            file.read_exact(&mut bytes)?;
            if !piece.is(&bytes) {
                break;
            }
            same += piece.bytes;
        }
        Ok(same)
    }

    /// Fetches what is beyond `have` bytes.
    fn fetch_from(&self, client: &Client, path: &Path, have: u64) -> Result<(), NotTaken> {
        let fault = |why: FileWhy| NotTaken::File(SharedFault::new(path, why));
        let mut have = have;
        let mut end = 0;
        for piece in &self.head.pieces {
            let start = end;
            end += piece.bytes;
            if end <= have {
                continue;
            }
            let bytes = fetch(client, self.head.job, self.tablet, piece)
                .map_err(NotTaken::Bucket)?
                .ok_or_else(|| fault(FileWhy::NoPiece))?;
            if !ends_with(path, have, &bytes[..(have - start) as usize]) {
                // What is here is told to have changed by whoever reads it on from there.
                cut(path, start).map_err(|e| fault(e.into()))?;
                have = start;
            }
            append(path, have, &bytes[(have - start) as usize..]).map_err(|e| fault(e.into()))?;
            have = end;
        }
        Ok(())
    }
}

/// A piece's bytes; `None` where there is none, or another.
pub(super) fn fetch(
    client: &Client,
    job: Uuid,
    tablet: Uuid,
    piece: &Piece,
) -> Result<Option<Vec<u8>>, BucketFault> {
    let got = client.get(&piece.name(job, tablet), piece.bytes)?;
    Ok(got.map(|got| got.bytes).filter(|bytes| piece.is(bytes)))
}

fn length_of(path: &Path) -> io::Result<u64> {
    match path.symlink_metadata() {
        Ok(known) => Ok(known.len()),
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(0),
        Err(e) => Err(e),
    }
}

fn cut(path: &Path, bytes: u64) -> io::Result<()> {
    OpenOptions::new().write(true).open(path)?.set_len(bytes)
}

/// Whether the first `have` bytes of a file end with these.
fn ends_with(path: &Path, have: u64, end: &[u8]) -> bool {
    if end.is_empty() {
        return true;
    }
    let read = || -> io::Result<Vec<u8>> {
        let mut file = File::open(path)?;
        file.seek(SeekFrom::Start(have - end.len() as u64))?;
        let mut bytes = vec![0; end.len()];
        file.read_exact(&mut bytes)?;
        Ok(bytes)
    };
    read().is_ok_and(|bytes| bytes == end)
}

fn append(path: &Path, have: u64, bytes: &[u8]) -> io::Result<()> {
    let mut file = OpenOptions::new().append(true).create(true).open(path)?;
    if file.metadata()?.len() != have {
        return Err(io::Error::other("somebody else writes to it"));
    }
    file.write_all(bytes)
}

/// Writes a small file of the copy whole, and leaves it where it is that already. It is
/// fetched again where a crash has cut it off, so nothing waits for the disk. Gives whether
/// it is new.
fn write_beside(path: &Path, text: Option<&str>) -> io::Result<bool> {
    let Some(text) = text else { return Ok(false) };
    if fs::read(path).is_ok_and(|known| known == text.as_bytes()) {
        return Ok(false);
    }
    write_copy(path, text.as_bytes())?;
    Ok(true)
}

/// Writes the bytes of such a file.
pub(super) fn write_copy(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut beside = path.as_os_str().to_owned();
    beside.push(".fetched");
    let beside = PathBuf::from(beside);
    fs::write(&beside, bytes)?;
    fs::rename(&beside, path)
}
