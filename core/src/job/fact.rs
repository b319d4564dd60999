//! Things noted that move nothing: readings, findings, steps, notes.

use uuid::Uuid;

use super::{Event, Person};

/// A noted event with who and when. A withdrawn one is taken out.
#[derive(Clone, Debug, PartialEq)]
pub struct Fact {
    /// Identity of the event.
    pub id: Uuid,
    /// Wall clock of the tablet that wrote it, milliseconds since 1970 UTC.
    pub at_ms: i64,
    /// Offset of that clock from UTC in minutes.
    pub offset_min: i16,
    /// It was done on paper and entered later.
    pub is_from_paper: bool,
    /// The technician of the bay at the time; whoever entered it, where it comes from paper.
    pub who: Person,
    /// What happened.
    pub event: Event,
}
