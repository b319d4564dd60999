//! How each valve was held up while its locks were out.

use std::collections::BTreeMap;

use serde::Serialize;

use super::timeline::Timeline;
use crate::engine::ValveName;
use crate::job::{Event, HoldKind, Stage};

/// What held a valve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(tag = "by", rename_all = "snake_case")]
pub enum HeldBy {
    /// Air in the cylinder, at a gauge pressure in bar.
    Air {
        /// The pressure.
        bar: f64,
    },
    /// Something in the cylinder.
    Hold {
        /// What it was.
        hold: HoldKind,
    },
}

/// What holds the valves of a cylinder now, and which of them are unlocked.
#[derive(Default)]
struct CylinderNow {
    air_bar: Option<f64>,
    hold: Option<HoldKind>,
    unlocked: Vec<ValveName>,
}

/// By valve, in the order in which one thing took over from another.
pub(super) fn held_by(timeline: &Timeline) -> BTreeMap<ValveName, Vec<HeldBy>> {
    let mut cylinders: BTreeMap<u8, CylinderNow> = BTreeMap::new();
    let mut held: BTreeMap<ValveName, Vec<HeldBy>> = BTreeMap::new();
    for entry in &timeline.standing {
        let Some(cylinder) = cylinder_of(&entry.event) else {
            continue;
        };
        let known = cylinders.entry(cylinder).or_default();
        match &entry.event {
            Event::AirOn { bar, .. } | Event::AirReadAnew { bar, .. } => known.air_bar = Some(*bar),
            Event::AirOff { .. } | Event::AirLost { .. } => known.air_bar = None,
            Event::HoldDeclared { hold, .. } => known.hold = Some(*hold),
            Event::HoldReleased { .. } => known.hold = None,
            Event::StageSeen { valve, stage, .. } => match stage {
                Stage::LocksOut => known.unlocked.push(*valve),
                Stage::LocksIn => known.unlocked.retain(|open| open != valve),
                _ => {}
            },
            _ => {}
        }
        let air = known.air_bar.map(|bar| HeldBy::Air { bar });
        let hold = known.hold.map(|hold| HeldBy::Hold { hold });
        for valve in &known.unlocked {
            let by = held.entry(*valve).or_default();
            for now in air.into_iter().chain(hold) {
                if !by.contains(&now) {
                    by.push(now);
                }
            }
        }
    }
    held
}

/// The cylinder whose holding an event is about.
fn cylinder_of(event: &Event) -> Option<u8> {
    match event {
        Event::AirOn { cylinder, .. }
        | Event::AirReadAnew { cylinder, .. }
        | Event::AirOff { cylinder, .. }
        | Event::AirLost { cylinder, .. }
        | Event::HoldDeclared { cylinder, .. }
        | Event::HoldReleased { cylinder, .. } => Some(*cylinder),
        Event::StageSeen { valve, .. } => Some(valve.cylinder),
        _ => None,
    }
}
