//! The invariants, asked of a state.

use super::{Invariant, JobState};
use crate::engine::Layout;
use crate::parts::{Item, Place};

impl JobState {
    /// The invariant that the state breaks, if any. A sound fold never shows one.
    pub fn broken_invariant(&self) -> Option<Invariant> {
        let layout = self.layout.as_ref()?;
        if !self.ledger.is_conserved() {
            return Some(Invariant::Conserved);
        }
        if self.forgets_a_loss() {
            return Some(Invariant::Told);
        }
        if self.wrench_on && self.cylinders.iter().any(|c| c.air_bar.is_some()) {
            return Some(Invariant::WrenchOff);
        }
        let per_cylinder = layout.valves_per_cylinder();
        for (index, cylinder) in layout.cylinders().enumerate() {
            let state = &self.cylinders[index];
            let valves = &self.valves[index * per_cylinder..(index + 1) * per_cylinder];
            let pressed = valves.iter().any(|v| v.is_unlocked() || v.is_spring_held());
            // Air that fell away is told as it is, and stops all that it may stop.
            let is_held = state.is_held() || state.air_lost;
            // Air without a hose holds nothing.
            let real = state.air_bar.is_none() || state.hose_in;
            if (pressed && !is_held) || !real {
                return Some(Invariant::Held);
            }
            let fixed = pressed || state.is_held();
            let here = self.turned_to.is_some_and(|c| c.cylinder == cylinder);
            if fixed && !here {
                return Some(Invariant::Still);
            }
        }
        let covered_wrongly = (0..self.banks.len())
            .any(|bank| !self.banks[bank].cover_off && !self.may_be_covered(layout, bank));
        covered_wrongly.then_some(Invariant::Gate)
    }

    /// Whether the ledger has fewer or more of an item adrift than the reports that stand.
    fn forgets_a_loss(&self) -> bool {
        let told = |item: &Item| {
            let of_it = self.drops_adrift().filter(|d| d.item == *item);
            of_it.map(|d| d.count).sum::<u32>()
        };
        let known = self.ledger.accounts().map(|(item, _)| item);
        known
            .chain(self.drops.iter().map(|d| d.item.clone()))
            .any(|item| told(&item) != self.ledger.at(&item, Place::Adrift))
    }

    /// Whether a bank may stand with its cover on: closed through the gate with every
    /// valve verified and no hold in a cylinder, or never touched; nothing under the
    /// cover either way. Plug holes lie outside: the last leak-down is read through them.
    fn may_be_covered(&self, layout: &Layout, bank: usize) -> bool {
        let clear = self.banks[bank].aboard.is_empty();
        let mut cylinders = layout.banks[bank].cylinders.iter().copied();
        clear
            && if self.is_bank_closed(bank) {
                self.bank_verified(bank) && self.hold_in_bank(bank).is_none()
            } else {
                cylinders.all(|c| self.valves_of(c).all(|(_, v)| v.stages_seen == 0))
            }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::job::{CrankAt, Drop, DropStatus, Entry, Event, HoldKind, Opening, Person};
    use crate::parts::Place::{Adrift, Home};
    use uuid::Uuid;

    /// Opens a job on an engine of several cylinders, changes the state behind the back of
    /// all rules, and asks.
    fn broken(change: impl FnOnce(&mut JobState)) -> Option<Invariant> {
        let one = &crate::engine::shipped()[0];
        let opening = Opening {
            layout: Layout::from_json(one.key, one.json.as_bytes()).unwrap(),
            vehicle: String::new(),
            order_number: None,
            bay: String::new(),
            technician: Person::new("Ilse Brandt"),
        };
        let mut state = JobState::new();
        let opened = state.apply(&Entry {
            id: Uuid::from_u128(1),
            tablet: Uuid::from_u128(2),
            at_ms: 0,
            offset_min: 0,
            clock: (0, 0),
            after: None,
            paper: None,
            who: Person::new("Ilse Brandt"),
            event: Event::JobOpened(Box::new(opening)),
        });
        opened.unwrap();
        change(&mut state);
        state.broken_invariant()
    }

    /// The crank at the second cylinder of the layout, with its cover off.
    fn at_the_second(state: &mut JobState) -> usize {
        let layout = state.layout.clone().unwrap();
        state.turned_to = Some(CrankAt {
            cylinder: layout.cylinders().nth(1).unwrap(),
            offset_deg: 0.0,
        });
        state.banks[0].cover_off = true;
        layout.valves_per_cylinder()
    }

    fn lose(state: &mut JobState, gone: u32, told: u32) {
        state
            .ledger
            .move_items(&Item::Lock, Home, Adrift, gone)
            .unwrap();
        state.drops.extend((told > 0).then(|| Drop {
            id: Uuid::from_u128(3),
            item: Item::Lock,
            count: told,
            from: Home,
            valve: None,
            at_ms: 0,
            who: Person::new("Ilse Brandt"),
            status: DropStatus::Adrift,
        }));
    }

    #[test]
    fn each_invariant_sees_what_breaks_it_and_nothing_else() {
        assert_eq!(broken(|_| ()), None);
        assert_eq!(broken(|s| lose(s, 1, 0)), Some(Invariant::Told));
        assert_eq!(broken(|s| lose(s, 1, 2)), Some(Invariant::Told));
        assert_eq!(broken(|s| lose(s, 2, 2)), None);
        let rag = |s: &mut JobState| {
            lose(s, 2, 2);
            s.ledger.count_in(&Item::Rag, Adrift, 1);
        };
        assert_eq!(broken(rag), Some(Invariant::Told));

        let air = |s: &mut JobState| {
            at_the_second(s);
            s.cylinders[1].hose_in = true;
            s.cylinders[1].air_bar = Some(4.0);
        };
        assert_eq!(broken(air), None);
        let is = |more: fn(&mut JobState)| {
            broken(|s| {
                air(s);
                more(s);
            })
        };
        assert_eq!(is(|s| s.wrench_on = true), Some(Invariant::WrenchOff));
        assert_eq!(
            is(|s| s.cylinders[1].hose_in = false),
            Some(Invariant::Held)
        );
        assert_eq!(is(|s| s.turned_to = None), Some(Invariant::Still));

        // The second cylinder's last valve is pressed, then unlocked.
        let pressed = |stages_seen: u8, more: fn(&mut JobState)| {
            broken(|s| {
                let valves = at_the_second(s);
                s.valves[2 * valves - 1].stages_seen = stages_seen;
                more(s);
            })
        };
        for stages_seen in [2, 3] {
            assert_eq!(pressed(stages_seen, |_| ()), Some(Invariant::Held));
            let held = |s: &mut JobState| s.cylinders[1].hold = Some(HoldKind::Piston);
            assert_eq!(pressed(stages_seen, held), None);
            assert_eq!(
                pressed(stages_seen, |s| s.cylinders[1].air_lost = true),
                None
            );
            let turned = |s: &mut JobState| {
                s.cylinders[1].air_lost = true;
                s.turned_to = None;
            };
            assert_eq!(pressed(stages_seen, turned), Some(Invariant::Still));
        }
        assert_eq!(pressed(1, |_| ()), None);
    }

    #[test]
    fn a_bank_is_covered_untouched_or_through_its_gate() {
        let covered = |stages_seen: u8, closed: bool, more: fn(&mut JobState)| {
            broken(|s| {
                at_the_second(s);
                s.valves
                    .iter_mut()
                    .for_each(|v| v.stages_seen = stages_seen);
                s.banks[0].cover_off = false;
                s.banks[0].closed_in = closed.then_some(Uuid::from_u128(4));
                more(s);
            })
        };
        assert_eq!(covered(0, false, |_| ()), None);
        assert_eq!(covered(6, true, |_| ()), None);
        let hold = |s: &mut JobState| s.cylinders[1].hold = Some(HoldKind::Piston);
        let rag = |s: &mut JobState| s.banks[0].aboard = [(Item::Rag, 1)].into();
        for wrongly in [
            covered(6, false, |_| ()),
            covered(1, true, |_| ()),
            covered(6, true, hold),
            covered(0, false, rag),
        ] {
            assert_eq!(wrongly, Some(Invariant::Gate));
        }
        assert_eq!(covered(1, false, |s| s.banks[0].cover_off = true), None);
    }
}
