//! How far the own journals that are open for writing are acknowledged.
//!
//! A line that is written but not synced yet may still be cut back; whoever copies an
//! own journal, to the shop folder or into a backup, stops before it.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

use uuid::Uuid;

/// Length in bytes of the acknowledged lines by job, for jobs open for writing here.
#[derive(Debug, Default)]
pub struct Acknowledged(Mutex<BTreeMap<Uuid, u64>>);

impl Acknowledged {
    pub(super) fn set(&self, job: Uuid, bytes: u64) {
        self.lock().insert(job, bytes);
    }

    pub(super) fn forget(&self, job: Uuid) {
        self.lock().remove(&job);
    }

    /// Acknowledged bytes of a job; `None` if it is not open for writing here, and its
    /// whole lines are all there is.
    pub fn bytes_of(&self, job: Uuid) -> Option<u64> {
        self.lock().get(&job).copied()
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, BTreeMap<Uuid, u64>> {
        // The map is whole after every step, so a thread that ended badly harms nothing.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
