//! How far every journal of a job went, signed by whoever closes it.

use std::io;

use ed25519_dalek::SigningKey;
use trayzero_core::job::{Event, Person};
use trayzero_core::journal::{find_job, link_at};
use trayzero_core::shop_log::{Ends, SignedEnds};
use uuid::Uuid;

use super::Crew;
use crate::data::store::small_file::{self, Readers};
use crate::data::store::{Stamp, Tablet};

/// Whether an event ends a job.
pub fn ends_job(event: &Event) -> bool {
    matches!(event, Event::JobClosed { .. } | Event::JobStopped { .. })
}

impl Crew {
    /// The keys of the people whose codes were just entered for this event. [`Crew::sign`]
    /// uses them up.
    pub fn keys_for(&self, event: &Event) -> Vec<(Person, SigningKey)> {
        let signs = event.signatures();
        signs
            .filter_map(|sign| self.unlocked.get(&sign.entering).cloned())
            .collect()
    }
}

/// Signs the ends of all journals that lie in a data folder, in the names of these people.
/// Without anybody who has a key nothing is written.
///
/// # Errors
/// What the disk says, or that a journal does not end with a line.
pub fn sign_ends(
    root: &std::path::Path,
    tablet: &Tablet,
    job: Uuid,
    people: &[(Person, SigningKey)],
    now: Stamp,
) -> io::Result<()> {
    let folder = find_job(root, job).map_err(io::Error::other)?;
    let journals = folder.map(|folder| folder.journals).unwrap_or_default();
    if people.is_empty() || journals.is_empty() {
        return Ok(());
    }
    let mut ends = Ends::new();
    for journal in journals {
        let link = link_at(&journal.path, journal.bytes)?;
        let link = link.ok_or_else(|| io::Error::other("a journal does not end with a line"))?;
        ends.insert(journal.tablet, (journal.bytes, link.to_string()));
    }
    let signed = SignedEnds::sign(job, tablet.id(), now.at_ms, ends, people);
    let path = SignedEnds::path(root, job, tablet.id());
    small_file::write(&path, &signed.to_bytes(), Readers::Usual).map_err(|e| e.cause)
}
