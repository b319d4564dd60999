//! Entries as a tablet would write them, with a clock and identities that repeat.

use std::path::Path;

use trayzero_core::job::{Entry, Event, Person, SignOff};
use trayzero_core::journal::{Limits, Mark, Reader, SealReport};
use uuid::{Builder, Uuid};

/// 2026-03-02 07:00 UTC, in milliseconds: a Monday morning.
pub const MORNING_MS: i64 = 1_772_434_800_000;

/// How long one tap takes on the scribe's clock, milliseconds.
pub const TAP_MS: i64 = 20_000;

/// An identity (UUID version 7) that depends on its number alone.
pub fn id_of(number: u64) -> Uuid {
    let mut rest = [0_u8; 10];
    rest[2..].copy_from_slice(&number.to_be_bytes());
    Builder::from_unix_timestamp_millis(number, &rest).into_uuid()
}

/// Writes events down as one tablet's entries.
#[derive(Clone, Debug)]
pub struct Scribe {
    tablet: Uuid,
    technician: Person,
    written: u64,
    /// Wall clock in milliseconds since 1970 UTC; each entry moves it on.
    pub at_ms: i64,
    /// The batch from paper that the next entries belong to.
    pub paper: Option<Uuid>,
    /// The identity that the next entry is given.
    pub next: Option<Uuid>,
}

impl Scribe {
    /// A scribe for one tablet. Two scribes with different numbers never write the
    /// same identity.
    pub fn new(tablet: u16, technician: &str) -> Self {
        Self {
            tablet: id_of(1 << 46 | u64::from(tablet)),
            technician: Person::new(technician),
            written: u64::from(tablet) << 30,
            at_ms: MORNING_MS,
            paper: None,
            next: None,
        }
    }

    /// The next entry, one tap later.
    pub fn entry(&mut self, event: Event) -> Entry {
        self.at_ms += TAP_MS;
        Entry {
            id: self.next_id(),
            tablet: self.tablet,
            at_ms: self.at_ms,
            offset_min: 60,
            clock: (self.at_ms as u64, 0),
            after: None,
            paper: self.paper,
            who: self.technician.clone(),
            event,
        }
    }

    /// From here on another tablet's scribe, which gives its next entry the identity of the
    /// last one.
    pub fn become_another(&mut self) {
        self.tablet = id_of(1 << 46 | 7);
        self.written -= 1;
    }

    /// One entering of a person's code.
    pub fn sign(&mut self, person: &str) -> SignOff {
        SignOff {
            person: Person::new(person),
            entering: self.next_id(),
            proof: None,
        }
    }

    fn next_id(&mut self) -> Uuid {
        self.written += 1;
        let given = self.next.take();
        given.unwrap_or_else(|| id_of(self.written))
    }
}

/// What the seals of a journal are worth.
///
/// # Panics
/// If it cannot be opened.
pub fn weighed(journal: &Path, job: Uuid, tablet: Uuid) -> SealReport {
    let mut report = SealReport::default();
    let opened = Reader::open(journal, job, tablet, Limits::OWN, Mark::START);
    let Ok(Ok(reader)) = opened else {
        panic!("{} cannot be read", journal.display());
    };
    reader.for_each(|entry, line, over| report.weigh(&entry, line, over));
    report
}
