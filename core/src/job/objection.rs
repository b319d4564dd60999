//! What is asked of a new tap on top of the rules. Journals of before were not asked it,
//! and they keep reading: so it stands beside [`JobState::apply`] and not in it.

use super::{CrankAt, Event, FindingKind, HoldKind, JobState, PICTURES_MAX, Refusal};
use crate::parts::Item;

impl JobState {
    /// Why a new event should not be written although the rules would take it: it says
    /// nothing where words are all that it is, or it leaves a cylinder in a way that nobody
    /// should walk away from.
    pub fn objection(&self, event: &Event) -> Option<Refusal> {
        match event {
            Event::Noted { text } | Event::JobStopped { why: text, .. } => wordless(text),
            Event::Paused { why } => wordless(why),
            Event::FindingNoted(finding) if finding.kind == FindingKind::Other => {
                wordless(&finding.text)
            }
            Event::PictureAdded(_) => {
                let most = PICTURES_MAX;
                let is_full = self.pictures().count() >= most;
                is_full.then_some(Refusal::PicturesFull { most })
            }
            Event::EnteredFromPaper(batch) => self.paper_too_early(batch),
            Event::CylinderPutOff { cylinder } => self.under_way(*cylinder),
            Event::AirOn { cylinder, .. } => self.has_run(*cylinder),
            Event::StageSeen { valve, .. } => self.has_run(valve.cylinder),
            Event::HoldDeclared { cylinder, hold } => self
                .has_run(*cylinder)
                .or_else(|| self.cord_cannot_go_in(*cylinder, *hold)),
            Event::LeakRead { cylinder, .. } => self.tester_cannot_go_in(*cylinder),
            _ => None,
        }
    }

    /// A crank that was turned to a cylinder stands there no longer once the engine ran.
    fn has_run(&self, cylinder: u8) -> Option<Refusal> {
        let at = self.crank();
        let has_run = self.turned_to.is_some() && at.is_none();
        has_run.then_some(Refusal::CrankElsewhere { cylinder, at })
    }

    /// A cord goes in through the plug hole, and the hose fills it.
    fn cord_cannot_go_in(&self, cylinder: u8, hold: HoldKind) -> Option<Refusal> {
        let by = Item::Hose;
        let is_taken = hold == HoldKind::Cord && self.cylinder(cylinder)?.hose_in;
        is_taken.then_some(Refusal::PlugHoleTaken { cylinder, by })
    }

    /// What keeps a leak-down tester out of a cylinder: its air would meet a plug, turn the
    /// crank, or blow past a valve that is not shut.
    fn tester_cannot_go_in(&self, cylinder: u8) -> Option<Refusal> {
        let state = self.cylinder(cylinder)?;
        if !state.plug_out {
            return Some(Refusal::PlugStillIn { cylinder });
        }
        if state.hose_in {
            let by = Item::Hose;
            return Some(Refusal::PlugHoleTaken { cylinder, by });
        }
        let at_top = CrankAt {
            cylinder,
            offset_deg: 0.0,
        };
        match self.crank() {
            Some(at) if at == at_top => {}
            Some(at) if at.cylinder == cylinder => return Some(Refusal::NotAtItsTop { at }),
            at => return Some(Refusal::CrankElsewhere { cylinder, at }),
        }
        if self.wrench_on {
            return Some(Refusal::WrenchStillOn);
        }
        self.under_way(cylinder)
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
