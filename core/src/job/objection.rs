//! What is asked of a new tap on top of the rules. Journals of before were not asked it,
//! and they keep reading: so it stands beside [`JobState::apply`] and not in it.

use super::{Event, FindingKind, JobState, Refusal};

impl JobState {
    /// Why a new event should not be written although the rules would take it: it says
    /// nothing where words are all that it is, or it leaves a cylinder in a way that nobody
    /// should walk away from.
    pub fn objection(&self, event: &Event) -> Option<Refusal> {
        match event {
            Event::Noted { text } | Event::JobStopped { why: text, .. } => wordless(text),
            Event::Paused { why } => wordless(why).or_else(|| self.not_to_be_left()),
            Event::FindingNoted(finding) if finding.kind == FindingKind::Other => {
                wordless(&finding.text)
            }
            Event::CylinderPutOff { cylinder } => self.under_way(*cylinder),
            _ => None,
        }
    }

    /// Nobody goes home from a pressed spring, from air, or from a valve that only air holds.
    fn not_to_be_left(&self) -> Option<Refusal> {
        for (valve, known) in self.valves() {
            let held_without_air = self
                .cylinder(valve.cylinder)
                .is_some_and(|c| c.hold.is_some());
            if known.is_unlocked() && !held_without_air {
                return Some(Refusal::ValveUnlocked { valve });
            }
            if known.is_spring_held() {
                return Some(Refusal::SpringHeldNow { valve });
            }
        }
        let (cylinder, _) = self.air_on()?;
        Some(Refusal::AirStillOn { cylinder })
    }

    /// A cylinder that is put off has nothing open and nothing holding it.
    fn under_way(&self, cylinder: u8) -> Option<Refusal> {
        for (valve, known) in self.valves_of(cylinder) {
            if known.is_unlocked() {
                return Some(Refusal::ValveUnlocked { valve });
            }
            if known.is_spring_held() {
                return Some(Refusal::SpringHeldNow { valve });
            }
        }
        let known = self.cylinder(cylinder)?;
        if known.air_bar.is_some() {
            return Some(Refusal::AirStillOn { cylinder });
        }
        known
            .hold
            .map(|hold| Refusal::HoldStillIn { cylinder, hold })
    }
}

fn wordless(text: &str) -> Option<Refusal> {
    text.trim().is_empty().then_some(Refusal::SaysNothing)
}
