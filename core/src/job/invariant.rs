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
        let dropped = self
            .drops
            .iter()
            .any(|d| told(&d.item) != self.ledger.at(&d.item, Place::Adrift));
        dropped || (self.drops.is_empty() && self.adrift() > 0)
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
