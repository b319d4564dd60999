//! Who is a member, as the shop log of a data folder says, for whoever reads journals.

use std::path::Path;

use trayzero_core::journal::{Limits, Mark, Reader, list_jobs, open_plain};
use trayzero_core::shop_log::{JournalPlace, PLACES_MAX, TabletCard};
use uuid::Uuid;

use super::pins::Pins;
use crate::data::store::Tablet;

/// The tablets that the version before had met, to be taken over.
pub fn pinned(root: &Path, tablet: &Tablet) -> Vec<TabletCard> {
    Pins::read(root, tablet).cards()
}

/// How far the copies of a tablet's journals reach here, the latest jobs first.
pub fn standing_journals(root: &Path, tablet: Uuid) -> Vec<JournalPlace> {
    let Ok(listing) = list_jobs(root) else {
        return Vec::new();
    };
    let jobs = listing.jobs.iter().rev();
    let places = jobs.filter_map(|job| {
        let file = job.journals.iter().find(|file| file.tablet == tablet)?;
        let text = open_plain(&file.path).ok()?;
        let (limits, start) = (Limits::FOREIGN, Mark::START);
        let reader = Reader::new(text, &file.path, job.job, tablet, limits, start);
        let mark = reader.for_each(|_, _, _| {}).mark;
        Some(JournalPlace {
            job: job.job,
            bytes: mark.bytes,
            link: mark.link.to_string(),
        })
    });
    places.take(PLACES_MAX).collect()
}
