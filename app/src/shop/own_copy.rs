//! An old copy of this tablet's own data folder was put back: the shop folder holds newer
//! lines of its own, sealed with its own key. They are fetched, so that it goes on where it
//! was and does not stay behind.

use std::fs::{self, OpenOptions};
use std::io::{self, Read, Write};
use std::path::Path;

use trayzero_core::journal::{
    Cover, EndSeal, Limits, Mark, Members, Reader, Writer, journal_path, link_at, open_plain,
    read_plain,
};
use uuid::Uuid;

use crate::data::store::Tablet;

/// How far this tablet's key has sealed its own journal in the shop folder.
pub(super) fn sealed_there(folder: &Path, job: Uuid, tablet: &Tablet) -> io::Result<Mark> {
    let there = journal_path(folder, job, tablet.id());
    let members = Members::own_only(tablet.id(), &tablet.public_key());
    let seal = EndSeal::read(folder, job, tablet.id()).ok().flatten();
    let limits = Limits::FOREIGN;
    let input = open_plain(&there)?.take(limits.file_bytes);
    let reader = Reader::new(input, &there, job, tablet.id(), limits, Mark::START);
    let cover = Cover::new(job, tablet.id(), &members, seal.as_ref());
    Ok(cover.read(reader, |_, _| {}).mark)
}

/// Fetches the lines that the own journal lacks. Gives how many bytes were fetched; none
/// where the journal has a line that is not there, for then two copies have written.
/// Nobody may have the job open.
pub(super) fn fetch(root: &Path, folder: &Path, job: Uuid, tablet: &Tablet) -> io::Result<u64> {
    let sealed = sealed_there(folder, job, tablet)?;
    if sealed.is_start() {
        return Ok(0);
    }
    let there = journal_path(folder, job, tablet.id());
    // While this writer lives nobody else writes.
    let opened = Writer::open(root, job, tablet.id()).map_err(io::Error::other)?;
    let own = *opened.writer.mark();
    if own.bytes >= sealed.bytes || link_at(&there, own.bytes)? != Some(own.link) {
        return Ok(0);
    }
    let wanted = sealed.bytes - own.bytes;
    let lines = read_plain(&there, own.bytes, wanted)?;
    if lines.len() as u64 != wanted {
        return Err(io::Error::other("it got shorter while it was read"));
    }
    let path = journal_path(root, job, tablet.id());
    let mut file = OpenOptions::new().append(true).open(&path)?;
    if fs::metadata(&path)?.len() != own.bytes {
        return Err(io::Error::other("somebody else writes to it"));
    }
    file.write_all(&lines)?;
    file.sync_data()?;
    drop(opened);
    Ok(wanted)
}
