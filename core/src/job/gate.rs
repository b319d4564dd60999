//! The close-up gate: drops, blind counts and what keeps a cover off.

use std::collections::BTreeMap;

use uuid::Uuid;

use super::{CountTaken, Entry, Event, JobState, Refusal, Swap};
use crate::parts::{Item, Place};

/// What has to be counted anew after two counts that did not come to the same.
#[derive(Clone, Debug, PartialEq)]
pub struct CountAgain<'a> {
    /// The items whose figures differed, or agreed with each other and not with the ledger.
    pub items: Vec<(Item, Place)>,
    /// The counts of before of those who have not counted again yet.
    pub counts: Vec<&'a CountTaken>,
}

/// Places where items are laid out to be counted.
pub(super) const LAID_OUT: [Place; 5] = [
    Place::Tray,
    Place::Kit,
    Place::Scrap,
    Place::Stock,
    Place::Aside,
];

impl JobState {
    /// What is to be counted at the gate, in order, without any figure: the kit, what
    /// may lie in the tray and the scrap box, stock that is left, covers and plugs.
    pub fn count_list(&self) -> Vec<(Item, Place)> {
        let mut list = Vec::new();
        for place in LAID_OUT {
            for (item, account) in self.ledger.accounts() {
                let wanted = match place {
                    Place::Tray => item.goes_through_the_tray(),
                    Place::Kit => item.is_kit() && account.counted_in > 0,
                    Place::Scrap => item == Item::OldSeal,
                    Place::Stock => account.issued > 0,
                    Place::Aside => matches!(item, Item::Cover | Item::Plug),
                    _ => false,
                };
                if wanted || account.at(place) > 0 {
                    list.push((item, place));
                }
            }
        }
        list
    }

    /// The counts of the round under way that are still good, first one first. At most
    /// two; once two stand, the next one opens a new round.
    pub fn round_counts(&self) -> Vec<&CountTaken> {
        let good: Vec<&CountTaken> = self
            .round
            .iter()
            .filter_map(|id| self.counts.iter().find(|c| c.id == *id))
            .filter(|c| c.moves_then == self.moves)
            .collect();
        good
    }

    /// What two people have to count anew, while nothing has moved since their counts. What
    /// came out the same need not be counted again. `None` where all has to be counted.
    pub fn count_again(&self) -> Option<CountAgain<'_>> {
        let round = self.round_counts();
        let [first, second] = self.counts_before(&round)?;
        let (a, b) = (first.figures(), second.figures());
        let listed = self.count_list();
        let beyond = a
            .keys()
            .chain(b.keys())
            .map(|(item, place)| ((*item).clone(), *place));
        let mut items: Vec<(Item, Place)> = Vec::new();
        for key in listed.into_iter().chain(beyond) {
            let of =
                |figures: &BTreeMap<(&Item, Place), u32>| figures.get(&(&key.0, key.1)).copied();
            let is_same = of(&a) == of(&b);
            let is_right = of(&a) == Some(self.ledger.at(&key.0, key.1));
            let is_settled = is_same && is_right;
            if !is_settled && !items.contains(&key) {
                items.push(key);
            }
        }
        let waits = |c: &&CountTaken| round.len() == 2 || round.iter().all(|r| r.by != c.by);
        let counts = [first, second].into_iter().filter(waits).collect();
        (!items.is_empty()).then_some(CountAgain { items, counts })
    }

    /// The two counts that a round rests on: its own, or those of the round before.
    fn counts_before<'a>(&'a self, round: &[&'a CountTaken]) -> Option<[&'a CountTaken; 2]> {
        if let [first, second] = round {
            return Some([first, second]);
        }
        let [only] = round else { return None };
        let good = |c: &&CountTaken| c.moves_then == self.moves && c.id != only.id;
        let mut before = self.counts.iter().rev().filter(good);
        let second = before.next()?;
        let first = before.next().filter(|c| c.by != second.by)?;
        Some([first, second])
    }

    /// Whether two good counts stand and agree with each other and with the ledger.
    pub fn counts_agree(&self) -> bool {
        self.count_holds().is_empty()
    }

    /// Whether somebody has counted and the gate still waits for a count that agrees: until
    /// then nobody is to see what is expected. A cover that went on has ended it.
    pub fn is_count_open(&self) -> bool {
        if self.round_counts().is_empty() || self.counts_agree() {
            return false;
        }
        let told = self.timeline().filter_map(|past| match past.event {
            Event::BlindCount { .. } => Some(true),
            Event::BankClosed { .. } => Some(false),
            _ => None,
        });
        told.last() == Some(true)
    }

    pub(super) fn take_count(&mut self, entry: &Entry) {
        let Event::BlindCount { by, lines } = &entry.event else {
            return;
        };
        let good: Vec<Uuid> = self.round_counts().iter().map(|c| c.id).collect();
        self.round = if good.len() >= 2 { Vec::new() } else { good };
        self.round.push(entry.id);
        self.counts.push(CountTaken {
            id: entry.id,
            at_ms: entry.at_ms,
            by: by.person.clone(),
            lines: lines.clone(),
            moves_then: self.moves,
        });
    }

    /// Everything that keeps the cover of a bank off; empty when the gate is open.
    pub fn gate(&self, bank: usize) -> Vec<Refusal> {
        let mut holds = Vec::new();
        if !self.banks.get(bank).is_some_and(|b| b.cover_off) {
            holds.push(Refusal::CoverStillOn { bank: bank as u8 });
        }
        holds.extend(self.conflict_hold());
        holds.extend(self.unconfirmed_hold());
        holds.extend(self.valve_hold(bank));
        holds.extend(
            self.items_at(Place::Adrift)
                .map(|(item, count)| Refusal::GateAdrift { item, count }),
        );
        holds.extend(self.open_swaps().map(Swap::refusal));
        holds.extend(
            self.items_at(Place::Tray)
                .map(|(item, count)| Refusal::GateLoose { item, count }),
        );
        holds.extend(
            self.aboard_bank(bank)
                .map(|(item, count)| Refusal::GateAboard {
                    bank: bank as u8,
                    item,
                    count,
                }),
        );
        if self.wrench_on {
            holds.push(Refusal::GateWrench);
        }
        holds.extend(self.hold_in_bank(bank));
        holds.extend(self.plug_hold(bank));
        holds.extend(self.count_holds());
        holds
    }

    /// Everything that keeps the job from being closed; empty when it may be.
    pub fn job_gate(&self) -> Vec<Refusal> {
        let mut holds = Vec::new();
        holds.extend(self.conflict_hold());
        holds.extend(self.unconfirmed_hold());
        for bank in 0..self.banks.len() {
            if self.is_bank_closed(bank) {
                holds.extend(self.plug_hold(bank));
            } else {
                holds.push(Refusal::GateBankOpen { bank: bank as u8 });
            }
        }
        holds.extend(self.open_swaps().map(Swap::refusal));
        for place in [Place::Adrift, Place::Tray] {
            holds.extend(self.items_at(place).map(|(item, count)| match place {
                Place::Adrift => Refusal::GateAdrift { item, count },
                _ => Refusal::GateLoose { item, count },
            }));
        }
        holds.extend(
            self.items_at(Place::Aboard)
                .map(|(item, count)| Refusal::GateKitOut { item, count }),
        );
        holds
    }

    fn conflict_hold(&self) -> Option<Refusal> {
        let conflicts = self.open_conflicts().count();
        (conflicts > 0).then_some(Refusal::GateConflict { conflicts })
    }

    fn valve_hold(&self, bank: usize) -> Option<Refusal> {
        let cylinders = &self.layout()?.banks.get(bank)?.cylinders;
        let mut open = cylinders
            .iter()
            .flat_map(|c| self.valves_of(*c))
            .filter(|(_, v)| !v.is_verified())
            .map(|(name, _)| name);
        let first = open.next()?;
        Some(Refusal::GateValves {
            bank: bank as u8,
            unverified: 1 + open.count(),
            first,
        })
    }

    /// A mechanical hold that is still in one of the bank's cylinders.
    pub(super) fn hold_in_bank(&self, bank: usize) -> Option<Refusal> {
        let cylinders = &self.layout()?.banks.get(bank)?.cylinders;
        cylinders.iter().find_map(|cylinder| {
            let hold = self.cylinder(*cylinder)?.hold?;
            Some(Refusal::HoldStillIn {
                cylinder: *cylinder,
                hold,
            })
        })
    }

    fn plug_hold(&self, bank: usize) -> Option<Refusal> {
        let cylinders = &self.layout()?.banks.get(bank)?.cylinders;
        let cylinder = cylinders
            .iter()
            .copied()
            .find(|c| self.cylinder(*c).is_some_and(|k| k.plug_out))?;
        Some(Refusal::GatePlugsOut {
            bank: bank as u8,
            cylinder,
        })
    }

    fn items_at(&self, place: Place) -> impl Iterator<Item = (Item, u32)> + '_ {
        self.ledger
            .accounts()
            .map(move |(item, account)| (item, account.at(place)))
            .filter(|(_, count)| *count > 0)
    }

    /// What the blind counts leave open.
    fn count_holds(&self) -> Vec<Refusal> {
        let counts = self.round_counts();
        let [first, second] = counts[..] else {
            return vec![Refusal::GateNotCounted {
                counts: counts.len(),
            }];
        };
        let (first, second) = (first.figures(), second.figures());
        let list = self.count_list();
        let listed = || list.iter().map(|(item, place)| (item, *place));
        // What a person saw beyond the list counts too: it should not be there.
        let seen = || first.keys().chain(second.keys()).copied();
        let differs = listed()
            .chain(seen())
            .find(|key| first.get(key) != second.get(key));
        if let Some((item, place)) = differs {
            return vec![Refusal::GateCountsDiffer {
                item: item.clone(),
                place,
            }];
        }
        let off = listed()
            .chain(seen())
            .find(|key| first.get(key) != Some(&self.ledger.at(key.0, key.1)));
        off.map(|(item, place)| Refusal::GateCountOff {
            item: item.clone(),
            place,
        })
        .into_iter()
        .collect()
    }
}
