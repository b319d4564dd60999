//! What two tablets said that cannot both be true, and what was taken back.

use serde::{Serialize, Serializer};
use uuid::Uuid;

use super::By;
use super::event_summary::EventSummary;
use super::timeline::Timeline;
use crate::engine::Layout;
use crate::job::{Event, Person, Refusal, Sight};

/// A conflict, open or resolved.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ConflictLine {
    /// The event that cannot stand.
    #[serde(rename = "deed")]
    pub summary: EventSummary,
    /// Who did it, and when.
    #[serde(flatten)]
    pub by: By,
    /// The tablet that wrote it.
    pub tablet: Uuid,
    /// Why it cannot stand: the code and the reason in English.
    pub because: Because,
    /// The standing event on the other side, where one can be named.
    pub against: Option<Against>,
    /// Who resolved it and what was true; `None` while open.
    pub resolved: Option<Resolved>,
}

/// The reason of a refusal.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Because {
    /// The refusal; in files its code.
    #[serde(rename = "code", serialize_with = "as_code")]
    pub refusal: Refusal,
    /// The same as a sentence in English.
    pub why: String,
}

fn as_code<S: Serializer>(refusal: &Refusal, s: S) -> Result<S::Ok, S::Error> {
    s.serialize_str(refusal.code())
}

/// The other side of a conflict.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Against {
    /// What stands.
    #[serde(rename = "deed")]
    pub summary: EventSummary,
    /// Who did it, and when.
    #[serde(flatten)]
    pub by: By,
    /// The tablet that wrote it.
    pub tablet: Uuid,
}

/// How a conflict was resolved.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Resolved {
    /// Who looked and signed, and when.
    #[serde(flatten)]
    pub by: By,
    /// The second person, where it took two.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub second: Option<Person>,
    /// What they saw.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub seen: Vec<Sight>,
    /// What they noted.
    pub note: String,
}

/// An event that was taken back.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WithdrawnLine {
    /// What it was.
    #[serde(rename = "deed")]
    pub summary: EventSummary,
    /// Who did it, and when.
    #[serde(flatten)]
    pub by: By,
    /// Who took it back, and when.
    pub taken_back: By,
}

pub(super) fn conflict_lines(
    timeline: &Timeline,
    layout: &Layout,
    why: impl Fn(&Refusal) -> String,
) -> Vec<ConflictLine> {
    let conflicts = timeline.state.conflicts().iter();
    let line = |c: &crate::job::Conflict| ConflictLine {
        summary: EventSummary::of(layout, &c.entry.event),
        by: By::of(&c.entry),
        tablet: c.entry.tablet,
        because: Because {
            refusal: c.refusal.clone(),
            why: why(&c.refusal),
        },
        against: c
            .against
            .and_then(|id| timeline.entry(id))
            .map(|e| Against {
                summary: EventSummary::of(layout, &e.event),
                by: By::of(e),
                tablet: e.tablet,
            }),
        resolved: c.resolved_in.and_then(|id| resolved(timeline, id)),
    };
    conflicts.map(line).collect()
}

fn resolved(timeline: &Timeline, id: Uuid) -> Option<Resolved> {
    let entry = timeline.entry(id)?;
    match &entry.event {
        Event::ConflictResolved {
            by,
            note,
            seen,
            second,
            ..
        } => Some(Resolved {
            by: By::signed(entry, &by.person),
            second: second.as_ref().map(|s| s.person.clone()),
            seen: seen.clone(),
            note: note.clone(),
        }),
        _ => None,
    }
}

pub(super) fn withdrawn_lines(timeline: &Timeline, layout: &Layout) -> Vec<WithdrawnLine> {
    let line = |(entry, by): &(&crate::job::Entry, &crate::job::Entry)| WithdrawnLine {
        summary: EventSummary::of(layout, &entry.event),
        by: By::of(entry),
        taken_back: By::of(by),
    };
    timeline.withdrawn.iter().map(line).collect()
}
