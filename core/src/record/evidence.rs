//! The evidence at take-in, laid side by side: what speaks for and against the seals,
//! the rings, and anything else. Each line has its reason. It is never a diagnosis: no
//! line weighs more than another, nothing is summed up, and the technician decides.
//!
//! The reasons are common practice in the trade; they have no source.

use serde::Serialize;

use super::take_in::oil_use;
use crate::bench::LeakClass;
use crate::job::{HeardAt, JobState, LeakReading, Reading, Smoke};

/// Where the oil may go.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Suspect {
    /// Past the valve stem seals.
    Seals,
    /// Past the piston rings.
    Rings,
    /// Anywhere else: a valve, a gasket, out of the engine.
    Elsewhere,
}

/// Which way a line speaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Speaks {
    /// It makes the suspect likelier.
    For,
    /// It makes the suspect less likely.
    Against,
}

/// What was seen or read.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "what", rename_all = "snake_case")]
pub enum Reason {
    /// Smoke after idling: oil gathers on the stems while little is burnt.
    SmokeAfterIdling,
    /// Smoke on overrun: the shut throttle draws oil down the guides.
    SmokeOnOverrun,
    /// Smoke at cold start: oil has run down the stems overnight.
    SmokeColdStart,
    /// Smoke under load: pressure past the rings grows with load.
    SmokeUnderLoad,
    /// No smoke was seen at any time.
    NoSmoke,
    /// Oil is used, as the top-ups show.
    OilUsed {
        /// Litres per 1,000 km.
        litres_per_1000_km: f64,
    },
    /// Oil is used but no smoke is seen: it may leave the engine unburnt.
    OilUsedWithoutSmoke {
        /// Litres per 1,000 km.
        litres_per_1000_km: f64,
    },
    /// The top-ups do not show that oil is used at all.
    NoOilUseShown {
        /// Litres per 1,000 km.
        litres_per_1000_km: f64,
    },
    /// Every cylinder holds its air.
    AllHoldAir {
        /// The largest loss, percent.
        worst_loss_percent: f64,
    },
    /// Cylinders that lose more than a good one does, and the air is heard there.
    HeardAt {
        /// Where the air is heard.
        heard: HeardAt,
        /// The cylinders.
        cylinders: Vec<u8>,
    },
    /// Cylinders that lose so much that the leak is to be found first.
    PastLimit {
        /// The cylinders.
        cylinders: Vec<u8>,
    },
    /// Cylinders lose more than a good one does and nobody noted where the air is heard.
    NotHeard {
        /// The cylinders.
        cylinders: Vec<u8>,
    },
}

/// One line of evidence.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EvidenceLine {
    /// What it is about.
    pub about: Suspect,
    /// Which way it speaks.
    pub speaks: Speaks,
    /// What was seen or read.
    pub reason: Reason,
}

/// The evidence at take-in: seals first, then rings, then anything else; within each
/// what speaks for it before what speaks against it.
pub fn evidence(state: &JobState) -> Vec<EvidenceLine> {
    let mut lines = Vec::new();
    smoke(state, &mut lines);
    oil(state, &mut lines);
    leak_down(state, &mut lines);
    lines.sort_by_key(|l| (l.about, l.speaks));
    lines
}

fn say(lines: &mut Vec<EvidenceLine>, about: Suspect, speaks: Speaks, reason: Reason) {
    lines.push(EvidenceLine {
        about,
        speaks,
        reason,
    });
}

fn smoke(state: &JobState, lines: &mut Vec<EvidenceLine>) {
    use {Speaks as S, Suspect as Of};
    let seen = state.take_in_note().map(|n| &n.smoke[..]);
    for smoke in seen.unwrap_or_default() {
        match smoke {
            Smoke::AfterIdling => say(lines, Of::Seals, S::For, Reason::SmokeAfterIdling),
            Smoke::OnOverrun => say(lines, Of::Seals, S::For, Reason::SmokeOnOverrun),
            Smoke::ColdStart => say(lines, Of::Seals, S::For, Reason::SmokeColdStart),
            Smoke::UnderLoad => {
                say(lines, Of::Seals, S::Against, Reason::SmokeUnderLoad);
                say(lines, Of::Rings, S::For, Reason::SmokeUnderLoad);
            }
            Smoke::Never => {
                say(lines, Of::Seals, S::Against, Reason::NoSmoke);
                say(lines, Of::Rings, S::Against, Reason::NoSmoke);
            }
        }
    }
}

fn oil(state: &JobState, lines: &mut Vec<EvidenceLine>) {
    use {Speaks as S, Suspect as Of};
    let Some(rate) = oil_use(state).rate.map(|r| r.litres_per_1000_km) else {
        return;
    };
    let litres_per_1000_km = rate.value;
    // Where the interval reaches down to nothing, the top-ups do not show any use.
    let shown = rate.value > 0.0 && rate.interval.is_none_or(|(low, _)| low > 0.0);
    if !shown {
        for about in [Of::Seals, Of::Rings] {
            let reason = Reason::NoOilUseShown { litres_per_1000_km };
            say(lines, about, S::Against, reason);
        }
        return;
    }
    let no_smoke = state
        .take_in_note()
        .is_some_and(|n| n.smoke == [Smoke::Never]);
    if no_smoke {
        let reason = Reason::OilUsedWithoutSmoke { litres_per_1000_km };
        say(lines, Of::Elsewhere, S::For, reason);
    } else {
        for about in [Of::Seals, Of::Rings] {
            say(lines, about, S::For, Reason::OilUsed { litres_per_1000_km });
        }
    }
}

fn leak_down(state: &JobState, lines: &mut Vec<EvidenceLine>) {
    use {Speaks as S, Suspect as Of};
    let Some(layout) = state.layout() else {
        return;
    };
    let read: Vec<_> = layout
        .cylinders()
        .filter_map(|c| state.leak(c, Reading::Before))
        .collect();
    let class = |loss_percent: f64| LeakClass::of(loss_percent / 100.0);
    let worst_loss_percent = read
        .iter()
        .map(LeakReading::loss_percent)
        .fold(0.0, f64::max);
    let all_read = read.len() == layout.cylinder_count();
    if all_read && class(worst_loss_percent) == LeakClass::Good {
        let reason = Reason::AllHoldAir { worst_loss_percent };
        say(lines, Of::Seals, S::For, reason.clone());
        say(lines, Of::Rings, S::Against, reason);
    }
    let leaky = || {
        read.iter()
            .filter(|r| class(r.loss_percent()) > LeakClass::Good)
    };
    for heard in HEARD {
        let at = leaky().filter(|r| r.heard.contains(&heard));
        let cylinders: Vec<u8> = at.map(|r| r.cylinder).collect();
        if !cylinders.is_empty() {
            let about = match heard {
                HeardAt::OilFiller => Of::Rings,
                _ => Of::Elsewhere,
            };
            say(lines, about, S::For, Reason::HeardAt { heard, cylinders });
        }
    }
    let unheard = leaky().filter(|r| r.heard.is_empty());
    let cylinders: Vec<u8> = unheard.map(|r| r.cylinder).collect();
    if !cylinders.is_empty() {
        let reason = Reason::NotHeard { cylinders };
        for about in [Of::Rings, Of::Elsewhere] {
            say(lines, about, S::For, reason.clone());
        }
    }
    let past = leaky().filter(|r| class(r.loss_percent()) == LeakClass::FindTheLeak);
    let cylinders: Vec<u8> = past.map(|r| r.cylinder).collect();
    if !cylinders.is_empty() {
        say(
            lines,
            Of::Seals,
            S::Against,
            Reason::PastLimit { cylinders },
        );
    }
}

/// Where air may be heard, in the order of the lines.
const HEARD: [HeardAt; 5] = [
    HeardAt::OilFiller,
    HeardAt::Intake,
    HeardAt::Exhaust,
    HeardAt::Coolant,
    HeardAt::NextPlugHole,
];
