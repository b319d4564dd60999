//! One identity in use twice: a copied data folder, or an old copy that was put back.
//!
//! Both copies sign with one key, so no signature tells them apart. The one that finds the
//! other's lines where its own should be leaves a note beside them, `<tablet>.twin`: its own
//! end, sealed for this purpose alone, so that no seal of a journal passes for it. Whoever
//! holds other lines of that tablet sees by it that there are two.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use trayzero_core::journal::{Link, Members, journal_path, link_at};
use uuid::Uuid;

use super::{FileWhy, SharedFault, ShopFault};
use crate::data::store::{Tablet, sealed};

const PURPOSE: &str = "trayzero twin 1";

/// Where the journal of whoever leaves the note ends.
#[derive(Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct CopyNote {
    job: Uuid,
    tablet: Uuid,
    bytes: u64,
    /// 64 hex digits.
    link: String,
}

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
    let Some(link) = link_at(own, own_bytes).map_err(ShopFault::at(own))? else {
        return Ok(());
    };
    let note = CopyNote {
        job,
        tablet: tablet.id(),
        bytes: own_bytes,
        link: link.to_string(),
    };
    let path = path(folder, job, tablet.id());
    Ok(sealed::keep(&path, PURPOSE, &note, tablet)?)
}

/// What is wrong, if a note in the folder is sealed by this tablet and its lines are not
/// those that are known here.
pub(super) fn speaks_of_another(
    folder: &Path,
    job: Uuid,
    tablet: Uuid,
    members: &Members,
    known: &Path,
) -> Option<SharedFault> {
    let path = path(folder, job, tablet);
    let read = sealed::read::<CopyNote>(&path, PURPOSE).ok()??;
    let note = read.payload;
    let link = Link::from_hex(&note.link)?;
    let is_of_it = note.job == job && note.tablet == tablet;
    let is_known = link_at(known, note.bytes).ok()? == Some(link);
    let is_theirs = is_of_it && members.covers(tablet, &read.key) && !is_known;
    is_theirs.then(|| SharedFault::new(&path, FileWhy::InUseTwice))
}
