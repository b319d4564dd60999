//! Hands that tap at random: half of the time the step that is due, otherwise anything.
//! At the end they finish the job by the way out that each refusal names.

use std::collections::BTreeSet;

use trayzero_core::engine::{Layout, Side, ValveName};
use trayzero_core::job::{
    CountLine, CrankAt, Event, Finding, FindingKind, HoldKind, JobPhase, NextStep, Reading,
    Refusal, SearchPlace, Stage, ValveState,
};
use trayzero_core::parts::{Item, Place};
use uuid::Uuid;

use crate::bay::{Bay, FIRST, FOREMAN, SECOND, signed, true_lines};
use crate::engines::{one_cylinder, shipped_engine, two_banks, two_cylinders};

/// Random numbers that a seed repeats (`SplitMix64`).
#[derive(Clone, Debug)]
pub struct Dice(u64);

impl Dice {
    /// Dice with a seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The next number of 64 bits.
    #[allow(clippy::should_implement_trait)] // endless, so no iterator
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `n`.
    pub fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }

    /// True once in `n` times.
    pub fn once_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }

    /// One of a list.
    ///
    /// # Panics
    /// If the list is empty.
    pub fn one_of<T: Clone>(&mut self, list: &[T]) -> T {
        list[self.below(list.len())].clone()
    }
}

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
        let layout = match dice.below(8) {
            0 | 1 => one_cylinder(),
            2 | 3 => two_cylinders(),
            4 | 5 => two_banks(),
            6 => shipped_engine("inline-4-8v"),
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
                self.propose(Event::Withdrawn { event });
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

const ITEMS: [Item; 14] = [
    Item::Lock,
    Item::Lock,
    Item::Lock,
    Item::Retainer,
    Item::Spring,
    Item::Follower,
    Item::OldSeal,
    Item::NewSeal,
    Item::SealPiece,
    Item::Plug,
    Item::Cover,
    Item::VentedCover,
    Item::Stopper,
    Item::Hose,
];

/// Anything at all, drawn for one state.
impl Hands {
    fn anything(&self, dice: &mut Dice) -> Event {
        match dice.below(10) {
            0 | 1 => self.any_taking_back(dice),
            2 | 3 => self.any_part_event(dice),
            4 => self.any_drop_event(dice),
            5 => self.any_stage(dice),
            6 => self.any_end_or_note(dice),
            _ => self.any_engine_event(dice),
        }
    }

    fn layout(&self) -> Layout {
        self.bay.job.layout().cloned().unwrap_or_else(one_cylinder)
    }

    /// A cylinder of the engine, now and then none of it.
    fn any_cylinder(&self, dice: &mut Dice) -> u8 {
        if dice.once_in(40) {
            return dice.next() as u8;
        }
        let cylinders: Vec<u8> = self.layout().cylinders().collect();
        match self.bay.job.crank() {
            Some(at) if dice.once_in(2) => at.cylinder,
            _ => dice.one_of(&cylinders),
        }
    }

    fn any_bank(&self, dice: &mut Dice) -> u8 {
        if dice.once_in(40) {
            return dice.next() as u8;
        }
        dice.below(self.bay.job.bank_count()) as u8
    }

    fn any_valve(&self, dice: &mut Dice) -> ValveName {
        let side = dice.one_of(&[Side::Intake, Side::Exhaust]);
        let place = if dice.once_in(40) { 9 } else { 1 };
        ValveName::new(self.any_cylinder(dice), side, place)
    }

    fn any_item(dice: &mut Dice) -> Item {
        if dice.once_in(12) {
            return "cover gasket".parse().unwrap_or(Item::Rag);
        }
        dice.one_of(&ITEMS)
    }

    fn any_taking_back(&self, dice: &mut Dice) -> Event {
        let entries = &self.bay.entries;
        let back = if dice.once_in(2) {
            dice.below(4)
        } else {
            dice.below(entries.len())
        };
        let place = entries.len().saturating_sub(1 + back);
        let event = entries.get(place).map(|e| e.id).unwrap_or_default();
        Event::Withdrawn { event }
    }

    fn any_part_event(&self, dice: &mut Dice) -> Event {
        let item = Self::any_item(dice);
        let count = 1 + dice.below(2) as u32;
        let bank = self.any_bank(dice);
        match dice.below(9) {
            0 => Event::KitCounted { item, count },
            1 => Event::StockIssued { item, count },
            2 => Event::StockReturned { item, count },
            3 => Event::TakenFromStock { item, count },
            4 => Event::PutAway {
                item,
                count,
                to: dice.one_of(&Place::ALL),
            },
            5 => Event::PutAboard { item, bank, count },
            6 => Event::TakenOff { item, bank, count },
            7 => Event::PartUsed { item, count },
            _ => Event::PartReplaced {
                valve: self.any_valve(dice),
                item,
                count,
            },
        }
    }

    fn any_drop_event(&self, dice: &mut Dice) -> Event {
        let drops: Vec<Uuid> = self.bay.job.drops().iter().map(|d| d.id).collect();
        let from = dice.one_of(&Place::ALL);
        if drops.is_empty() || dice.once_in(2) {
            let bank = dice.once_in(2).then(|| self.any_bank(dice));
            return Event::PartDropped {
                item: Self::any_item(dice),
                count: 1 + dice.below(2) as u32,
                from,
                bank,
                valve: None,
            };
        }
        let dropped = dice.one_of(&drops);
        if dice.once_in(3) {
            return Event::SearchSigned {
                dropped,
                first: signed(FIRST, dice.next()),
                second: signed(dice.one_of(&[FIRST, SECOND, SECOND]), dice.next()),
                places: SearchPlace::LIST[dice.below(2)..].to_vec(),
            };
        }
        Event::PartFound {
            dropped,
            found_at: SearchPlace::Sump,
            to: from,
        }
    }

    fn any_stage(&self, dice: &mut Dice) -> Event {
        let valve = self.any_valve(dice);
        let next = self.bay.job.valve(valve).and_then(ValveState::next_stage);
        let stage = match next {
            Some(next) if !dice.once_in(4) => next,
            _ => dice.one_of(&Stage::ALL),
        };
        let strays = match stage {
            Stage::LocksOut => dice.below(3) as u8,
            _ => u8::from(dice.once_in(30)),
        };
        let nicked = u8::from(stage == Stage::SealFitted && dice.once_in(3));
        Event::StageSeen {
            valve,
            stage,
            strays,
            nicked,
        }
    }

    fn any_engine_event(&self, dice: &mut Dice) -> Event {
        let cylinder = self.any_cylinder(dice);
        let hold = dice.one_of(&[HoldKind::Cord, HoldKind::Piston]);
        match dice.below(14) {
            0 => Event::CoverOff {
                bank: self.any_bank(dice),
            },
            1 => Event::PlugOut { cylinder },
            2 => Event::PlugIn { cylinder },
            3 => Event::VentedCoverIn { cylinder },
            4 => Event::VentedCoverOut { cylinder },
            5 => Event::HoseIn { cylinder },
            6 => Event::HoseOut { cylinder },
            7 => Event::WrenchOn {},
            8 => Event::WrenchOff {},
            9 => Event::AirOn { cylinder, bar: 4.0 },
            10 => Event::AirOff { cylinder, bar: 4.0 },
            11 => Event::HoldDeclared { cylinder, hold },
            12 => Event::HoldReleased { cylinder, hold },
            _ => {
                let offset_deg = self.layout().offsets_deg(cylinder)[0];
                let to = CrankAt {
                    cylinder,
                    offset_deg,
                };
                Event::CrankTurned {
                    from: self.bay.job.crank(),
                    to,
                    turn_deg: self.bay.job.turn_to(to),
                }
            }
        }
    }

    fn any_end_or_note(&self, dice: &mut Dice) -> Event {
        let by = signed(dice.one_of(&[FIRST, SECOND]), dice.next());
        let cylinder = self.any_cylinder(dice);
        match dice.below(11) {
            0 => Event::Paused { why: String::new() },
            1 | 2 => Event::Resumed {},
            3 => Event::BlindCount {
                by,
                lines: self.any_count(dice),
            },
            4 => Event::BankClosed {
                bank: self.any_bank(dice),
                by,
            },
            5 => Event::JobClosed { by },
            6 => Event::JobStopped {
                by,
                why: String::new(),
            },
            7 => Event::LeakRead {
                cylinder,
                when: Reading::Before,
                supply_bar: 6.0,
                cylinder_bar: 6.0 - dice.below(3) as f64,
                heard: Vec::new(),
            },
            8 => Event::FindingNoted(Box::new(Finding {
                cylinder,
                valve: None,
                kind: FindingKind::SealTorn {
                    missing: dice.below(3) as u32,
                },
                text: String::new(),
            })),
            9 => Event::CylinderPutOff { cylinder },
            _ => Event::CylinderWanted { cylinder },
        }
    }

    fn any_count(&self, dice: &mut Dice) -> Vec<CountLine> {
        let mut lines = true_lines(&self.bay.job);
        if dice.once_in(3)
            && let Some(line) = lines.first_mut()
        {
            line.count += 1;
        }
        lines
    }
}
