//! Every event that is worth proposing in a state, allowed or not.

use trayzero_core::engine::{Layout, ValveName};
use trayzero_core::job::{
    CrankAt, DropStatus, Event, JobPhase, JobState, Person, SearchPlace, SignOff, Stage,
};
use trayzero_core::parts::{Item, Place};
use uuid::Uuid;

use super::Bounds;
use crate::bay::{opening, true_lines};
use crate::entries::id_of;

/// The two who count and sign.
const CREW: [&str; 2] = ["Ada", "Ben"];

/// Proposes events for one state. `depth` is how many events led there; identities of
/// signatures are drawn from it.
pub(super) struct Proposer<'a> {
    pub bounds: &'a Bounds,
    pub job: &'a JobState,
    pub depth: u64,
    pub events: Vec<Event>,
}

impl Proposer<'_> {
    pub(super) fn sign(&self, person: usize) -> SignOff {
        SignOff {
            person: Person::new(CREW[person]),
            entering: id_of(1 << 40 | self.depth << 4 | person as u64),
            proof: None,
        }
    }

    /// Every proposal but the taking back of earlier events.
    pub(super) fn propose(mut self) -> Vec<Event> {
        if self.job.phase() == JobPhase::Unopened {
            self.events.push(opening(self.bounds.layout.clone()));
            self.events.push(Event::WrenchOn {});
            return self.events;
        }
        self.engine();
        self.stages();
        self.parts();
        self.swaps();
        self.drops();
        self.ends();
        self.events
    }

    fn engine(&mut self) {
        let layout = &self.bounds.layout;
        let events = &mut self.events;
        events.extend([Event::WrenchOn {}, Event::WrenchOff {}]);
        for bank in 0..layout.banks.len() as u8 {
            events.push(Event::CoverOff { bank });
        }
        for cylinder in layout.cylinders() {
            if self.bounds.plugs_any_time || verified_bank_of(self.job, layout, cylinder) {
                events.extend([Event::PlugOut { cylinder }, Event::PlugIn { cylinder }]);
            }
            events.extend([
                Event::VentedCoverIn { cylinder },
                Event::VentedCoverOut { cylinder },
                Event::HoseIn { cylinder },
                Event::HoseOut { cylinder },
                Event::AirOn { cylinder, bar: 4.0 },
                Event::AirOff { cylinder, bar: 4.0 },
            ]);
            if self.bounds.air_lost {
                let was_bar = 4.0;
                events.push(Event::AirLost { cylinder, was_bar });
            }
            for hold in self.bounds.holds.iter().copied() {
                events.push(Event::HoldDeclared { cylinder, hold });
                events.push(Event::HoldReleased { cylinder, hold });
            }
            let to = CrankAt {
                cylinder,
                offset_deg: 0.0,
            };
            // Also to where it stands already: a turn is a turn.
            events.push(Event::CrankTurned {
                from: self.job.crank(),
                to,
                turn_deg: self.job.turn_to(to),
            });
        }
    }

    fn stages(&mut self) {
        for valve in self.bounds.layout.valves() {
            for stage in Stage::ALL {
                self.stage(valve, stage, 0, 0);
            }
            if self.may_lose_a_lock() && self.may_drop() {
                self.stage(valve, Stage::LocksOut, 1, 0);
            }
            let seals_spoiled = self.at(&Item::NewSeal, Place::Scrap);
            if seals_spoiled < self.bounds.seals_spoiled_max {
                self.stage(valve, Stage::SealFitted, 0, 1);
            }
        }
    }

    fn stage(&mut self, valve: ValveName, stage: Stage, locks_dropped: u8, seals_spoiled: u8) {
        self.events.push(Event::StageSeen {
            valve,
            stage,
            locks_dropped,
            seals_spoiled,
        });
    }

    fn parts(&mut self) {
        let ledger = self.job.ledger();
        for line in self.bounds.layout.kit_list() {
            if ledger.account(&line.item).counted_in == 0 {
                self.events.push(Event::KitCounted {
                    item: line.item.clone(),
                    count: line.count,
                });
            }
            if line.item == Item::Stopper {
                for bank in 0..self.job.bank_count() as u8 {
                    let item = || Item::Stopper;
                    self.events.push(Event::PutAboard {
                        item: item(),
                        bank,
                        count: 1,
                    });
                    self.events.push(Event::TakenOff {
                        item: item(),
                        bank,
                        count: 1,
                    });
                }
            }
        }
        if ledger.account(&Item::NewSeal).issued == 0 {
            self.events.push(Event::StockIssued {
                item: Item::NewSeal,
                count: self.bounds.layout.valve_count() as u32 + self.bounds.seals_spoiled_max,
            });
        }
        if self.bounds.spare_locks && self.bounds.locks_lost_max > 0 {
            self.locks();
        }
    }

    fn locks(&mut self) {
        let item = || Item::Lock;
        if self.job.ledger().account(&Item::Lock).issued < self.bounds.locks_lost_max {
            self.events.push(Event::StockIssued {
                item: item(),
                count: 1,
            });
        }
        self.events.push(Event::StockReturned {
            item: item(),
            count: 1,
        });
        self.events.push(Event::TakenFromStock {
            item: item(),
            count: 1,
        });
        self.events.push(Event::PutAway {
            item: item(),
            count: 1,
            to: Place::Stock,
        });
        if self.may_lose_a_lock() {
            self.events.push(Event::PutAway {
                item: item(),
                count: 1,
                to: Place::Scrap,
            });
            for valve in self.bounds.layout.valves() {
                self.events.push(Event::PartReplaced {
                    valve,
                    item: item(),
                    count: 1,
                });
            }
        }
    }

    fn swaps(&mut self) {
        for swap in self.job.open_swaps() {
            self.events.push(Event::SwapMended { swapped: swap.id });
        }
        let valves: Vec<ValveName> = self.bounds.layout.valves().collect();
        if let (true, [valve, own, ..], None) =
            (self.bounds.swaps, &valves[..], self.job.open_swaps().next())
        {
            self.events.push(Event::PartsSwapped {
                item: Item::Shim,
                valve: *valve,
                own: *own,
            });
        }
    }

    fn drops(&mut self) {
        if self.may_lose_a_lock() && self.may_drop() {
            self.events.push(Event::PartDropped {
                item: Item::Lock,
                count: 1,
                from: Place::Tray,
                bank: None,
                valve: None,
            });
        }
        let drops: Vec<(Uuid, DropStatus)> =
            self.job.drops().iter().map(|d| (d.id, d.status)).collect();
        for (dropped, status) in drops {
            for to in [Place::Tray, Place::Scrap] {
                self.events.push(Event::PartFound {
                    dropped,
                    found_at: SearchPlace::BenchAndFloor,
                    to,
                });
            }
            if status == DropStatus::Adrift {
                self.events.push(Event::SearchSigned {
                    dropped,
                    first: self.sign(0),
                    second: self.sign(1),
                    places: SearchPlace::LIST.to_vec(),
                });
            }
        }
    }

    fn ends(&mut self) {
        if self.bounds.pauses {
            self.events.push(Event::Paused { why: String::new() });
            self.events.push(Event::Resumed {});
        }
        if self.bounds.stops {
            self.events.push(Event::JobStopped {
                by: self.sign(0),
                why: String::new(),
            });
        }
        for bank in 0..self.job.bank_count() as u8 {
            self.events.push(Event::BankClosed {
                bank,
                by: self.sign(0),
            });
        }
        self.events.push(Event::JobClosed { by: self.sign(0) });
        // Counts are proposed where they may decide: at a bank that is lifted and either
        // verified or, with early counts, with its plugs in.
        let banks = 0..self.job.bank_count();
        if banks
            .into_iter()
            .any(|bank| self.may_be_near_its_gate(bank))
        {
            self.counts();
        }
    }

    fn may_be_near_its_gate(&self, bank: usize) -> bool {
        let lifted = self.job.bank(bank).is_some_and(|b| b.cover_off);
        let cylinders = &self.bounds.layout.banks[bank].cylinders;
        let mut known = cylinders.iter().filter_map(|c| self.job.cylinder(*c));
        let early = self.bounds.early_counts && known.all(|c| !c.plug_out);
        lifted && (early || self.job.bank_verified(bank))
    }

    fn counts(&mut self) {
        for person in [0, 1] {
            let lines = true_lines(self.job);
            if self.bounds.wrong_counts {
                let mut wrong = lines.clone();
                if let Some(line) = wrong.first_mut() {
                    line.count += 1;
                }
                let by = self.sign(person);
                self.events.push(Event::BlindCount { by, lines: wrong });
            }
            let by = self.sign(person);
            self.events.push(Event::BlindCount { by, lines });
        }
    }

    fn at(&self, item: &Item, place: Place) -> u32 {
        self.job.ledger().at(item, place)
    }

    fn may_drop(&self) -> bool {
        self.job.drops().len() < self.bounds.drops_max
    }

    fn may_lose_a_lock(&self) -> bool {
        let lost: u32 = [Place::Adrift, Place::Unfound, Place::Scrap]
            .iter()
            .map(|p| self.at(&Item::Lock, *p))
            .sum();
        lost < self.bounds.locks_lost_max
    }
}

/// Whether every valve in the bank of a cylinder is verified.
fn verified_bank_of(job: &JobState, layout: &Layout, cylinder: u8) -> bool {
    layout
        .bank_of(cylinder)
        .is_some_and(|b| job.bank_verified(b))
}
