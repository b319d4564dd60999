//! What fell and what was found by the paper, and what is left once every box stands.

use uuid::Uuid;

use super::{Walker, refuse};
use crate::job::{Event, PaperBox, PaperRefusal, PaperWhy, Refusal, found_places};
use crate::parts::Item;

impl<F: FnMut() -> Uuid> Walker<'_, F> {
    pub(super) fn take_finds(&mut self) -> Result<(), PaperRefusal> {
        for (dropped, found_at) in &self.sheet.finds {
            let at = PaperBox::Find(*dropped);
            let drop = self.state.drop_of(*dropped);
            let Some(to) = drop.and_then(|d| found_places(&d.item).first()) else {
                let dropped = *dropped;
                return refuse(at, PaperWhy::Refused(Refusal::NoSuchDrop { dropped }));
            };
            let found = Event::PartFound {
                dropped: *dropped,
                found_at: *found_at,
                to: *to,
            };
            self.must(at, found)?;
        }
        Ok(())
    }

    /// Takes what fell as soon as it lay loose; at the end also what is of no valve.
    pub(super) fn take_drops(&mut self, is_end: bool) -> Result<(), PaperRefusal> {
        let waiting = std::mem::take(&mut self.drops);
        for (at, drop) in waiting {
            let stage = drop.valve.and_then(|v| self.state.valve(v)?.stage());
            let is_loose = match drop.loose_from() {
                Some(from) => stage.is_some_and(|stage| stage >= from),
                None => false,
            };
            if !is_loose && !is_end {
                self.drops.push((at, drop));
                continue;
            }
            let from = drop.from();
            let fell = Event::PartDropped {
                item: drop.item.clone(),
                count: drop.count,
                from,
                bank: None,
                valve: drop.valve,
            };
            let dropped = self.must(PaperBox::Drop(at), fell)?;
            if let (Some(found_at), Some(to)) = (drop.found_at, found_places(&drop.item).first()) {
                let found = Event::PartFound {
                    dropped,
                    found_at,
                    to: *to,
                };
                self.must(PaperBox::Drop(at), found)?;
            }
        }
        Ok(())
    }

    /// Takes what is left once every box stands; nothing that is written is lost silently.
    pub(super) fn take_rest(&mut self) -> Result<(), PaperRefusal> {
        self.take_drops(true)?;
        let issued = self.state.ledger().account(&Item::NewSeal).issued;
        if self.seals.is_some_and(|written| written != issued) {
            return refuse(PaperBox::Seals, PaperWhy::NotNeeded);
        }
        let written = self.sheet.air_bar.keys().chain(self.sheet.holds.keys());
        let mut written = written.filter(|c| !self.used.contains(c));
        match written.find(|c| !self.state.cylinder_verified(**c) && !self.is_held_so(**c)) {
            Some(cylinder) => refuse(PaperBox::Holds(*cylinder), PaperWhy::NotNeeded),
            None => Ok(()),
        }
    }

    /// Whether a cylinder was held before by what is written.
    fn is_held_so(&self, cylinder: u8) -> bool {
        let known = self.state.cylinder(cylinder);
        let written = (
            self.sheet.air_bar.get(&cylinder).copied(),
            self.sheet.holds.get(&cylinder).copied(),
        );
        known.is_some_and(|c| (c.air_bar, c.hold) == written)
    }
}
