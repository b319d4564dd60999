//! One identity in use twice: a copied data folder, or an old copy that was put back.
//!
//! Both copies sign with one key, so no signature tells them apart. The one that finds the
//! other's lines where its own should be leaves a note beside them, `<tablet>.twin`: its own
//! end, sealed. Whoever holds other lines of that tablet sees by it that there are two.

use std::io;
use std::path::{Path, PathBuf};

use trayzero_core::journal::{EndSeal, Members, journal_path, link_at};
use uuid::Uuid;

use super::{FileFault, ShopFault};
use crate::data::store::Tablet;
use crate::data::store::small_file::{self, Readers};

/// What a person is told on both tablets.
pub(super) const WHY: &str = "sealed with one and the same key in two places: this identity is in \
     use twice, for a data folder was copied or an old one put back; one of both has to become a \
     new tablet";

fn path(folder: &Path, job: Uuid, tablet: Uuid) -> PathBuf {
    journal_path(folder, job, tablet).with_extension("twin")
}

/// Leaves a note that this tablet's own journal ends elsewhere.
pub(super) fn leave(
    folder: &Path,
    job: Uuid,
    tablet: &Tablet,
    own: &Path,
    own_bytes: u64,
) -> Result<(), ShopFault> {
    let failed = |e: io::Error| ShopFault::of(own, &e);
    let Some(link) = link_at(own, own_bytes).map_err(failed)? else {
        return Ok(());
    };
    let note = EndSeal::over(job, tablet.id(), own_bytes, link, tablet.key()).to_bytes();
    let path = path(folder, job, tablet.id());
    if small_file::read(&path).ok().flatten().as_ref() == Some(&note) {
        return Ok(());
    }
    small_file::write(&path, &note, Readers::Usual).map_err(|e| ShopFault::of(&e.path, &e.cause))
}

/// What is wrong, if a note in the folder is sealed by this tablet and its lines are not
/// those that are known here.
pub(super) fn speaks_of_another(
    folder: &Path,
    job: Uuid,
    tablet: Uuid,
    members: &Members,
    known: &Path,
) -> Option<FileFault> {
    let path = path(folder, job, tablet);
    let bytes = small_file::read(&path).ok()??;
    let note: EndSeal = serde_json::from_slice(&bytes).ok()?;
    let link = note.link(job, tablet).ok()?;
    let is_known = link_at(known, note.bytes).ok()? == Some(link);
    let is_theirs = members.covers(tablet, note.key()) && !is_known;
    is_theirs.then(|| FileFault {
        path,
        why: WHY.to_owned(),
    })
}
