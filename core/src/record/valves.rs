//! Every valve of the engine: its stages, its working minutes and what was found.

use std::collections::BTreeMap;

use serde::Serialize;

use super::findings::{FindingLine, findings_of};
use super::held::{HeldBy, held_by};
use super::timeline::Timeline;
use super::{By, bank_name};
use crate::engine::{Layout, STANDARD_ADAPTOR, ValveName};
use crate::job::{Event, Stage};
use crate::parts::Item;
use crate::phases::JobClock;

/// One valve as a person reads it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ValveLine {
    /// The valve.
    pub valve: ValveName,
    /// Name of its bank.
    pub bank: String,
    /// The last stage seen; `None` while untouched.
    pub stage: Option<Stage>,
    /// Every stage seen, in order, with who and when.
    pub stages: Vec<StageLine>,
    /// Working minutes on this valve, as the phases have them: rests, the way to its
    /// cylinder and time lost to a drop are left out. `None` while untouched.
    pub working_min: Option<f64>,
    /// What held it while its locks were out, one after the other.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub held_by: Vec<HeldBy>,
    /// Locks that went adrift as they came out.
    #[serde(rename = "strays")]
    pub locks_dropped: u32,
    /// New seals spoiled and thrown away.
    #[serde(rename = "nicked")]
    pub seals_spoiled: u32,
    /// Parts that went to the scrap box for new ones, the old seal aside.
    pub replaced: Vec<Replaced>,
    /// What was found on it.
    pub findings: Vec<FindingLine>,
    /// The tool end it needs, if not the standard one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub adaptor: Option<String>,
    /// The layout's remark on it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub remark: Option<String>,
}

/// One stage as it was seen.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StageLine {
    /// The stage.
    pub stage: Stage,
    /// Who saw it, and when.
    #[serde(flatten)]
    pub by: By,
}

/// Parts replaced on a valve.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Replaced {
    /// What was replaced.
    pub item: Item,
    /// How many.
    pub count: u32,
}

/// What the standing events of a valve add up to.
#[derive(Default)]
struct Notes {
    locks_dropped: u32,
    seals_spoiled: u32,
    replaced: Vec<Replaced>,
}

pub(super) fn valve_lines(
    timeline: &Timeline,
    layout: &Layout,
    clock: &JobClock,
) -> Vec<ValveLine> {
    let minutes: BTreeMap<ValveName, f64> = clock.valve_minutes.iter().copied().collect();
    let mut notes = notes(timeline);
    let findings = findings_of(timeline, layout);
    let mut held = held_by(timeline);
    layout
        .valves()
        .map(|valve| {
            let noted = notes.remove(&valve).unwrap_or_default();
            let mut line = ValveLine {
                valve,
                bank: bank_name(layout, layout.bank_of(valve.cylinder).unwrap_or_default()),
                stage: None,
                stages: Vec::new(),
                working_min: minutes.get(&valve).copied(),
                held_by: held.remove(&valve).unwrap_or_default(),
                locks_dropped: noted.locks_dropped,
                seals_spoiled: noted.seals_spoiled,
                replaced: noted.replaced,
                findings: findings
                    .iter()
                    .filter(|f| f.valve == Some(valve))
                    .cloned()
                    .collect(),
                adaptor: Some(layout.adaptor_of(valve).to_owned())
                    .filter(|a| a != STANDARD_ADAPTOR),
                remark: layout.remark_on(valve).map(str::to_owned),
            };
            add_stages(&mut line, timeline);
            line
        })
        .collect()
}

fn add_stages(line: &mut ValveLine, timeline: &Timeline) {
    let Some(known) = timeline.state.valve(line.valve) else {
        return;
    };
    line.stage = known.stage();
    let seen = Stage::ALL.into_iter().zip(known.stage_events);
    for (stage, event) in seen.take(usize::from(known.stages_seen)) {
        if let Some(entry) = timeline.entry(event) {
            let by = By::of(entry);
            line.stages.push(StageLine { stage, by });
        }
    }
}

fn notes(timeline: &Timeline) -> BTreeMap<ValveName, Notes> {
    let mut notes: BTreeMap<ValveName, Notes> = BTreeMap::new();
    for entry in &timeline.standing {
        match &entry.event {
            Event::StageSeen {
                valve,
                locks_dropped,
                seals_spoiled,
                ..
            } => {
                let noted = notes.entry(*valve).or_default();
                noted.locks_dropped += u32::from(*locks_dropped);
                noted.seals_spoiled += u32::from(*seals_spoiled);
            }
            Event::PartReplaced { valve, item, count } => {
                let replaced = &mut notes.entry(*valve).or_default().replaced;
                match replaced.iter_mut().find(|r| r.item == *item) {
                    Some(known) => known.count += count,
                    None => replaced.push(Replaced {
                        item: item.clone(),
                        count: *count,
                    }),
                }
            }
            _ => {}
        }
    }
    notes
}
