//! When something happened, and who did it.

use serde::{Serialize, Serializer, ser};

use crate::job::{Entry, Fact, Person};
use crate::journal::format_rfc3339;

/// A moment of a tablet's wall clock. In JSON it is a text as RFC 3339 writes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stamp {
    /// Milliseconds since 1970 UTC.
    pub at_ms: i64,
    /// Offset of that wall clock from UTC in minutes.
    pub offset_min: i16,
}

impl Stamp {
    /// The moment of an entry.
    pub fn of(entry: &Entry) -> Self {
        Self {
            at_ms: entry.at_ms,
            offset_min: entry.offset_min,
        }
    }
}

impl Serialize for Stamp {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let text = format_rfc3339(self.at_ms, self.offset_min).map_err(ser::Error::custom)?;
        s.serialize_str(&text)
    }
}

/// Who did something, and when.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct By {
    /// When.
    pub at: Stamp,
    /// The technician of the bay at the time, or who signed.
    pub who: Person,
    /// It was done on paper; who and when are those of the entering.
    #[serde(skip_serializing_if = "is_tapped")]
    pub from_paper: bool,
}

#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for a reference
fn is_tapped(from_paper: &bool) -> bool {
    !from_paper
}

impl By {
    /// The technician of an entry and its moment.
    pub fn of(entry: &Entry) -> Self {
        Self {
            at: Stamp::of(entry),
            who: entry.who.clone(),
            from_paper: entry.paper.is_some(),
        }
    }

    /// Somebody who signed in an entry.
    pub fn signed(entry: &Entry, who: &Person) -> Self {
        Self {
            at: Stamp::of(entry),
            who: who.clone(),
            from_paper: entry.paper.is_some(),
        }
    }

    /// Who noted a fact, and when.
    pub fn of_fact(fact: &Fact) -> Self {
        Self {
            at: Stamp {
                at_ms: fact.at_ms,
                offset_min: fact.offset_min,
            },
            who: fact.who.clone(),
            from_paper: fact.is_from_paper,
        }
    }
}
