//! Which other tablets have lines in an open job, and how the clocks stand.

use trayzero_core::job::Event;
use trayzero_core::journal::JournalRead;
use uuid::Uuid;

use super::{OpenJob, Stamp};

impl OpenJob {
    /// Other tablets with lines in this job, and the one that it was handed to; with the wall
    /// clock in milliseconds of the last that each has told.
    pub fn others(&self) -> Vec<(Uuid, Option<i64>)> {
        let told = |read: &JournalRead| {
            let mut from_the_end = read.entries.iter().rev();
            let last = from_the_end.find(|entry| !matches!(entry.event, Event::Sealed(_)));
            last.map(|entry| entry.at_ms)
        };
        let with_lines = self
            .journals
            .iter()
            .filter(|(_, read)| !read.entries.is_empty());
        let mut others: Vec<_> = with_lines
            .map(|(tablet, read)| (*tablet, told(read)))
            .collect();
        if let Some(holder) = self.state().holder()
            && others.iter().all(|(tablet, _)| *tablet != holder)
        {
            others.push((holder, None));
        }
        others.retain(|(tablet, _)| *tablet != self.tablet.id());
        others
    }

    /// By how many milliseconds this tablet's clock stands behind its own taps. Their order
    /// may run ahead for another tablet's clock: then nothing is said of this one's.
    pub fn ahead_ms(&self, now: Stamp) -> u64 {
        let is_ahead = self.clock.ahead_ms(now.at_ms) > 0;
        let own = self.journals.get(&self.tablet.id()).filter(|_| is_ahead);
        let taps = own.into_iter().flat_map(|read| &read.entries);
        let last_ms = taps.map(|e| e.at_ms).max().unwrap_or_default();
        u64::try_from(last_ms - now.at_ms).unwrap_or_default()
    }
}
