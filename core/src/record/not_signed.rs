//! Events that are no part of the record, because a signature on them does not count.

use serde::Serialize;
use uuid::Uuid;

use super::By;
use super::event_summary::EventSummary;
use crate::engine::Layout;
use crate::shop_log::{NotSigned, WhyNotSigned};

/// An event that is not confirmed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NotSignedLine {
    /// What it says.
    #[serde(rename = "deed")]
    pub summary: EventSummary,
    /// Who is named as signing it, and when.
    #[serde(flatten)]
    pub by: By,
    /// The tablet that wrote it.
    pub tablet: Uuid,
    /// Why the signature does not count.
    pub why: WhyNotSigned,
    /// The event with its entry, for whoever puts it into words.
    #[serde(skip)]
    pub not_signed: NotSigned,
}

impl NotSignedLine {
    pub(super) fn of(layout: &Layout, not_signed: &NotSigned) -> Self {
        let NotSigned { entry, unproven } = not_signed;
        Self {
            summary: EventSummary::of(layout, &entry.event),
            by: By::signed(entry, &unproven.person),
            tablet: entry.tablet,
            why: unproven.why,
            not_signed: not_signed.clone(),
        }
    }
}
