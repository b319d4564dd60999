//! What was found on valves and cylinders, with the figures that follow from it.

use serde::Serialize;
use uom::si::f64::Length;
use uom::si::length::millimeter;

use super::By;
use super::timeline::Timeline;
use crate::bench::guide_clearance;
use crate::engine::{Layout, ValveName};
use crate::job::{Event, Finding, FindingKind};

/// Kinds of findings, without their figures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FindingName {
    /// Scored stem.
    ScoredStem,
    /// Worn guide.
    WornGuide,
    /// Broken spring.
    BrokenSpring,
    /// Short spring.
    ShortSpring,
    /// Damaged lock groove.
    DamagedGroove,
    /// The valve fell into its cylinder.
    ValveFell,
    /// The old seal came off torn.
    SealTorn,
    /// Anything else, in words.
    Other,
}

/// One finding as a person reads it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FindingLine {
    /// Cylinder it concerns.
    pub cylinder: u8,
    /// Valve it concerns, if one.
    pub valve: Option<ValveName>,
    /// What was found.
    pub kind: FindingName,
    /// Worn guide: total rock at the stem's tip, millimetres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rock_mm: Option<f64>,
    /// Worn guide: clearance that follows from the rock, millimetres; left out where the
    /// layout does not know the guide's lengths.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clearance_mm: Option<f64>,
    /// Short spring: length as measured, millimetres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub length_mm: Option<f64>,
    /// Torn seal: pieces that were missing when it came off.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub missing_pieces: Option<u32>,
    /// More words of the technician.
    pub text: String,
    /// Who found it, and when.
    #[serde(flatten)]
    pub by: By,
}

/// Every finding that stands, in the order noted.
pub(super) fn findings_of(timeline: &Timeline, layout: &Layout) -> Vec<FindingLine> {
    let noted = timeline.standing.iter().filter_map(|e| match &e.event {
        Event::FindingNoted(finding) => Some(line_of(finding, layout, By::of(e))),
        _ => None,
    });
    noted.collect()
}

fn line_of(finding: &Finding, layout: &Layout, by: By) -> FindingLine {
    let mut line = FindingLine {
        cylinder: finding.cylinder,
        valve: finding.valve,
        kind: FindingName::Other,
        rock_mm: None,
        clearance_mm: None,
        length_mm: None,
        missing_pieces: None,
        text: finding.text.clone(),
        by,
    };
    line.kind = match finding.kind {
        FindingKind::ScoredStem => FindingName::ScoredStem,
        FindingKind::BrokenSpring => FindingName::BrokenSpring,
        FindingKind::DamagedGroove => FindingName::DamagedGroove,
        FindingKind::ValveFell => FindingName::ValveFell,
        FindingKind::Other => FindingName::Other,
        FindingKind::WornGuide { rock_mm } => {
            line.rock_mm = Some(rock_mm);
            line.clearance_mm = clearance_mm(layout, rock_mm);
            FindingName::WornGuide
        }
        FindingKind::ShortSpring { length_mm } => {
            line.length_mm = Some(length_mm);
            FindingName::ShortSpring
        }
        FindingKind::SealTorn { missing } => {
            line.missing_pieces = Some(missing);
            FindingName::SealTorn
        }
    };
    line
}

/// Clearance in a guide in millimetres from the rock at the stem's tip, with the layout's
/// lengths; `None` where it has none or a figure is out of range.
pub fn clearance_mm(layout: &Layout, rock_mm: f64) -> Option<f64> {
    let guide = layout.guide?;
    let length = Length::new::<millimeter>;
    let clearance = guide_clearance(
        length(rock_mm),
        length(guide.length_mm),
        length(guide.tip_above_mm),
    );
    clearance.ok().map(|c| c.get::<millimeter>())
}
