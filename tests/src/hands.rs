//! Hands that tap at random: half of the time the step that is due, otherwise anything.
//! At the end they finish the job by the way out that each refusal names.

mod anything;

use std::collections::BTreeSet;

use trayzero_core::job::{Event, JobPhase, NextStep, Refusal};
use trayzero_core::parts::{Item, Place};

use crate::bay::{Bay, FOREMAN};
pub use crate::dice::Dice;
use crate::engines::{
    bucket_cylinder, one_cylinder, shipped_engine, two_banks, two_cylinders, with_offsets,
};

/// What random work came to.
#[derive(Clone, Debug, Default)]
#[allow(missing_docs)]
pub struct Tally {
    pub jobs: u64,
    pub taken: u64,
    pub taken_back: u64,
    pub refused: u64,
    pub drops: u64,
    pub closed: u64,
    pub codes: BTreeSet<&'static str>,
}

impl Tally {
    /// Adds another tally up.
    pub fn add(&mut self, other: &Tally) {
        self.jobs += other.jobs;
        self.taken += other.taken;
        self.taken_back += other.taken_back;
        self.refused += other.refused;
        self.drops += other.drops;
        self.closed += other.closed;
        self.codes.extend(&other.codes);
    }
}

/// Hands at one bay.
#[derive(Debug)]
pub struct Hands {
    /// The bay.
    pub bay: Bay,
    /// What came of it so far.
    pub tally: Tally,
    dice: Dice,
}

impl Hands {
    /// Hands at a new job; the seed chooses the engine.
    pub fn new(seed: u64) -> Self {
        let mut dice = Dice::new(seed);
        let layout = match dice.below(10) {
            0 | 1 => one_cylinder(),
            2 | 3 => two_cylinders(),
            4 | 5 => two_banks(),
            6 => bucket_cylinder(),
            7 => with_offsets("inline-4-16v-bucket", 1, true),
            8 => shipped_engine("inline-4-8v"),
            _ => shipped_engine("v6-90-odd-fire-12v"),
        };
        let tally = Tally {
            jobs: 1,
            ..Tally::default()
        };
        Self {
            bay: Bay::open(layout),
            tally,
            dice,
        }
    }

    /// So many random taps, then the job is finished.
    ///
    /// # Panics
    /// If the job cannot be finished by the ways out that its refusals name.
    pub fn work(&mut self, taps: usize) {
        for _ in 0..taps {
            let mut dice = Dice::new(self.dice.next());
            self.step(&mut dice);
        }
        self.finish();
        self.tally.closed += 1;
    }

    /// One tap: the step that is due, or anything at all.
    pub fn step(&mut self, dice: &mut Dice) {
        if dice.once_in(2) {
            let step = self.bay.job.next_step(None);
            for event in self.bay.events_for(&step) {
                if self.propose(event).is_some() {
                    return;
                }
            }
            return;
        }
        let event = self.anything(dice);
        self.propose(event);
    }

    /// Proposes an event and tallies the answer; gives a refusal.
    fn propose(&mut self, event: Event) -> Option<Refusal> {
        let back = matches!(event, Event::Withdrawn { .. });
        let drops = self.bay.job.drops().len();
        match self.bay.propose(event) {
            Ok(_) => {
                self.tally.taken += 1;
                self.tally.taken_back += u64::from(back);
                self.tally.drops += u64::from(self.bay.job.drops().len() > drops);
                None
            }
            Err(refusal) => {
                self.tally.refused += 1;
                self.tally.codes.insert(refusal.code());
                Some(refusal)
            }
        }
    }

    /// Finishes the job: the step that is due, and where it is refused, the way out.
    ///
    /// # Panics
    /// If that does not come to an end.
    pub fn finish(&mut self) {
        for _ in 0..6_000 {
            if self.bay.job.phase() == JobPhase::Closed {
                return;
            }
            if self.bay.job.phase() == JobPhase::Stopped {
                let stopped =
                    |e: &&trayzero_core::job::Entry| matches!(e.event, Event::JobStopped { .. });
                let last = self.bay.entries.iter().rev().find(stopped).map(|e| e.id);
                let event = last.unwrap_or_default();
                let by = vec![self.bay.scribe.sign(FOREMAN)];
                self.propose(Event::Withdrawn { event, by });
            }
            let step = self.bay.job.next_step(None);
            for event in self.bay.events_for(&step) {
                if !self.insist(&event, 4) {
                    break;
                }
            }
        }
        let step = self.bay.job.next_step(None);
        let answers: Vec<_> = self
            .bay
            .events_for(&step)
            .into_iter()
            .map(|e| self.propose(e))
            .collect();
        panic!("the job does not end: {step:?} is answered {answers:?}");
    }

    /// Proposes an event, and where it is refused does what the way out says; whether
    /// it was taken at once. A way out may itself be refused, with its own way out.
    fn insist(&mut self, event: &Event, depth: u8) -> bool {
        let Some(refusal) = self.propose(event.clone()) else {
            return true;
        };
        if depth > 0 {
            for step in self.way_out(event, &refusal) {
                self.insist(&step, depth - 1);
            }
        }
        false
    }

    #[expect(clippy::too_many_lines, reason = "a table: one arm a refusal")]
    fn way_out(&mut self, event: &Event, refusal: &Refusal) -> Vec<Event> {
        match refusal {
            Refusal::Short { shortfall } => {
                let (item, count) = (shortfall.item.clone(), shortfall.wanted);
                let issued = Event::StockIssued {
                    item: item.clone(),
                    count,
                };
                let taken = Event::TakenFromStock {
                    item: item.clone(),
                    count,
                };
                match shortfall.place {
                    Place::Kit => vec![Event::KitCounted { item, count }],
                    Place::Stock => vec![issued],
                    _ => vec![issued, taken],
                }
            }
            Refusal::GateLoose { item, count } => vec![Event::PutAway {
                item: item.clone(),
                count: *count,
                to: Place::Scrap,
            }],
            Refusal::HoleOpen { cylinder } => vec![Event::VentedCoverIn {
                cylinder: *cylinder,
            }],
            Refusal::StopperMissing {
                bank,
                wanted,
                aboard,
            } => vec![Event::PutAboard {
                item: Item::Stopper,
                bank: *bank,
                count: wanted - aboard,
            }],
            Refusal::PlugStillIn { cylinder } => vec![Event::PlugOut {
                cylinder: *cylinder,
            }],
            Refusal::PlugHoleTaken { cylinder, by } => vec![match by {
                Item::Hose => Event::HoseOut {
                    cylinder: *cylinder,
                },
                _ => Event::VentedCoverOut {
                    cylinder: *cylinder,
                },
            }],
            Refusal::ForemanMustSee { cylinder, .. } => vec![Event::ForemanAgreed {
                cylinder: *cylinder,
                by: self.bay.scribe.sign(FOREMAN),
            }],
            Refusal::CoverStillOn { bank } => vec![Event::CoverOff { bank: *bank }],
            Refusal::WrenchStillOn => vec![Event::WrenchOff {}],
            Refusal::WrenchNotOn => vec![Event::WrenchOn {}],
            Refusal::HoldStillIn { cylinder, hold } => vec![Event::HoldReleased {
                cylinder: *cylinder,
                hold: *hold,
            }],
            Refusal::AirStillOn { cylinder } | Refusal::HoseInUse { cylinder } => {
                vec![Event::AirOff {
                    cylinder: *cylinder,
                    bar: 4.0,
                }]
            }
            Refusal::NothingHolds { valve } => self.bay.events_for(&NextStep::AirOn {
                cylinder: valve.cylinder,
            }),
            Refusal::HoseNotIn { cylinder } => self.bay.events_for(&NextStep::HoseIn {
                cylinder: *cylinder,
            }),
            Refusal::GateKitOut { .. } | Refusal::GateNotCounted { .. } => Vec::new(),
            other => panic!("no way out of {other:?} is known, for {event:?}"),
        }
    }
}
