//! Things noted that move nothing: readings, findings, steps, notes.

use uuid::Uuid;

use super::{Event, Person};

/// A noted event with who and when. A withdrawn one is taken out.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct Fact {
    pub id: Uuid,
    pub at_ms: i64,
    pub offset_min: i16,
    pub who: Person,
    pub event: Event,
}
