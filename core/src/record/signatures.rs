//! Who signed what with a code.

use serde::Serialize;
use uuid::Uuid;

use super::timeline::Timeline;
use super::{By, bank_name};
use crate::engine::Layout;
use crate::job::{Event, SignOff};

/// What a signature stands under.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SignedFor {
    /// The bay was taken over.
    TakenOver,
    /// A cylinder past the limit was looked at.
    ForemanAgreed,
    /// A blind count.
    BlindCount,
    /// The cover of a bank went on.
    BankClosed,
    /// A search, as the first of two.
    SearchFirst,
    /// The same, as the second.
    SearchSecond,
    /// A conflict was looked at.
    ConflictResolved,
    /// The same, as the second of two.
    ConflictSecond,
    /// Something was taken back.
    TakenBack,
    /// The job was finished.
    JobClosed,
    /// The job ended unfinished.
    JobStopped,
}

/// One signature that stands.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SignatureLine {
    /// What it stands under.
    #[serde(rename = "for")]
    pub signed_for: SignedFor,
    /// The bank closed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bank: Option<String>,
    /// The cylinder agreed to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cylinder: Option<u8>,
    /// Identity of the one entering of the code.
    pub entering: Uuid,
    /// Who signed, and when.
    #[serde(flatten)]
    pub by: By,
}

pub(super) fn signature_lines(timeline: &Timeline, layout: &Layout) -> Vec<SignatureLine> {
    let mut lines = Vec::new();
    for entry in &timeline.standing {
        for (signed_for, sign) in signed(&entry.event) {
            lines.push(SignatureLine {
                signed_for,
                bank: match &entry.event {
                    Event::BankClosed { bank, .. } => Some(bank_name(layout, usize::from(*bank))),
                    _ => None,
                },
                cylinder: match &entry.event {
                    Event::ForemanAgreed { cylinder, .. } => Some(*cylinder),
                    _ => None,
                },
                entering: sign.entering,
                by: By::signed(entry, &sign.person),
            });
        }
    }
    lines
}

fn signed(event: &Event) -> Vec<(SignedFor, &SignOff)> {
    match event {
        Event::TakenOver { by } => vec![(SignedFor::TakenOver, by)],
        Event::ForemanAgreed { by, .. } => vec![(SignedFor::ForemanAgreed, by)],
        Event::BlindCount { by, .. } => vec![(SignedFor::BlindCount, by)],
        Event::BankClosed { by, .. } => vec![(SignedFor::BankClosed, by)],
        Event::SearchSigned { first, second, .. } => vec![
            (SignedFor::SearchFirst, first),
            (SignedFor::SearchSecond, second),
        ],
        Event::ConflictResolved { by, second, .. } => {
            let second = second.iter().map(|s| (SignedFor::ConflictSecond, s));
            std::iter::once((SignedFor::ConflictResolved, by))
                .chain(second)
                .collect()
        }
        Event::Withdrawn { by, .. } => by.iter().map(|s| (SignedFor::TakenBack, s)).collect(),
        Event::JobClosed { by } => vec![(SignedFor::JobClosed, by)],
        Event::JobStopped { by, .. } => vec![(SignedFor::JobStopped, by)],
        _ => Vec::new(),
    }
}
