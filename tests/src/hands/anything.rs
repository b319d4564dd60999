//! Anything at all, drawn for one state.

use trayzero_core::engine::{Layout, Side, ValveName};
use trayzero_core::job::{
    CountLine, CrankAt, Event, Finding, FindingKind, HoldKind, Reading, SearchPlace, Stage,
    ValveState,
};
use trayzero_core::parts::{Item, Place};
use uuid::Uuid;

use super::Hands;
use crate::bay::{FIRST, SECOND, signed, true_lines};
use crate::dice::Dice;
use crate::engines::one_cylinder;

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

impl Hands {
    pub(super) fn anything(&self, dice: &mut Dice) -> Event {
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
        let needed = self.bay.job.signatures_to_take_back(event);
        let people = [FIRST, SECOND][..needed.min(2)].iter();
        let by = people.map(|person| signed(person, dice.next())).collect();
        Event::Withdrawn { event, by }
    }

    fn any_part_event(&self, dice: &mut Dice) -> Event {
        let item = Self::any_item(dice);
        let count = 1 + dice.below(2) as u32;
        let bank = self.any_bank(dice);
        match dice.below(11) {
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
            8 => Event::PartsSwapped {
                item: dice.one_of(&[Item::Follower, Item::Shim, Item::Lock]),
                valve: self.any_valve(dice),
                own: self.any_valve(dice),
            },
            9 => Event::SwapMended {
                swapped: self
                    .bay
                    .job
                    .open_swaps()
                    .last()
                    .map_or(Uuid::nil(), |s| s.id),
            },
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
                valve: dice.once_in(2).then(|| self.any_valve(dice)),
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
        let locks_dropped = match stage {
            Stage::LocksOut => dice.below(3) as u8,
            _ => u8::from(dice.once_in(30)),
        };
        let seals_spoiled = u8::from(stage == Stage::SealFitted && dice.once_in(3));
        Event::StageSeen {
            valve,
            stage,
            locks_dropped,
            seals_spoiled,
        }
    }

    fn any_engine_event(&self, dice: &mut Dice) -> Event {
        let cylinder = self.any_cylinder(dice);
        let hold = dice.one_of(&[HoldKind::Cord, HoldKind::Piston]);
        let was_bar = self.bay.job.air_on().map_or(4.0, |(_, bar)| bar);
        match dice.below(16) {
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
            10 => Event::AirOff {
                cylinder,
                bar: was_bar,
            },
            11 => Event::HoldDeclared { cylinder, hold },
            12 => Event::HoldReleased { cylinder, hold },
            13 => Event::AirLost { cylinder, was_bar },
            14 => Event::AirReadAnew {
                cylinder,
                was_bar,
                bar: dice.one_of(&[3.5, 4.0, 9.0]),
            },
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
