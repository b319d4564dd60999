//! Double entry: no item moves without a place it leaves and a place it reaches.

use std::collections::BTreeMap;

use super::{Item, Place};

/// The balances of one kind of item.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Account {
    places: [u32; Place::ALL.len()],
    /// How many were counted in: fitted at the start, or in the kit.
    pub counted_in: u32,
    /// How many were issued from the store, less what went back to it.
    pub issued: u32,
}

impl Account {
    /// How many are at a place.
    pub fn at(&self, place: Place) -> u32 {
        self.places[place as usize]
    }

    /// How many there are over all places.
    pub fn total(&self) -> u32 {
        self.places.iter().sum()
    }

    /// Whether the places add up to what came in (invariant *conserved*).
    pub fn is_conserved(&self) -> bool {
        self.total() == self.counted_in + self.issued
    }
}

/// A move that the ledger cannot make, because the place holds too few.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shortfall {
    /// The item asked for.
    pub item: Item,
    /// The place it should have left.
    pub place: Place,
    /// How many were asked for.
    pub wanted: u32,
    /// How many are there.
    pub there: u32,
}

/// The balances of every kind of item in one job.
/// # Examples
/// Double entry: what leaves one place reaches another, and never more than is there.
/// ```
/// use trayzero_core::parts::{Item, Ledger, Place};
///
/// let mut ledger = Ledger::default();
/// ledger.count_in(&Item::Lock, Place::Home, 4);
/// ledger.move_items(&Item::Lock, Place::Home, Place::Tray, 2).unwrap();
/// assert_eq!(ledger.at(&Item::Lock, Place::Tray), 2);
/// assert_eq!(ledger.account(&Item::Lock).total(), 4);
///
/// let short = ledger.move_items(&Item::Lock, Place::Tray, Place::Home, 3).unwrap_err();
/// assert_eq!((short.wanted, short.there), (3, 2));
/// assert!(ledger.is_conserved());
/// ```
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Ledger {
    fixed: [Account; Item::FIXED.len()],
    named: BTreeMap<Item, Account>,
}

impl Ledger {
    /// Balances of one kind; all zero for a kind that never came in.
    pub fn account(&self, item: &Item) -> Account {
        match item.fixed_index() {
            Some(i) => self.fixed[i],
            None => self.named.get(item).copied().unwrap_or_default(),
        }
    }

    /// How many of a kind are at a place.
    pub fn at(&self, item: &Item, place: Place) -> u32 {
        self.account(item).at(place)
    }

    /// Every kind that ever came in, with its balances.
    pub fn accounts(&self) -> impl Iterator<Item = (Item, Account)> + '_ {
        let fixed = Item::FIXED
            .iter()
            .zip(self.fixed.iter())
            .filter(|(_, a)| a.total() > 0)
            .map(|(i, a)| (i.clone(), *a));
        fixed.chain(self.named.iter().map(|(i, a)| (i.clone(), *a)))
    }

    /// How many items of all kinds are at a place.
    pub fn sum_at(&self, place: Place) -> u32 {
        self.fixed
            .iter()
            .chain(self.named.values())
            .fold(0, |sum, a| sum.saturating_add(a.at(place)))
    }

    /// Whether every kind is conserved.
    pub fn is_conserved(&self) -> bool {
        self.fixed
            .iter()
            .chain(self.named.values())
            .all(Account::is_conserved)
    }

    fn entry(&mut self, item: &Item) -> &mut Account {
        match item.fixed_index() {
            Some(i) => &mut self.fixed[i],
            None => self.named.entry(item.clone()).or_default(),
        }
    }

    /// Brings items in that are counted, such as kit or parts fitted at the start.
    pub fn count_in(&mut self, item: &Item, place: Place, count: u32) {
        let account = self.entry(item);
        account.counted_in += count;
        account.places[place as usize] += count;
    }

    /// Brings items in from the store.
    pub fn issue(&mut self, item: &Item, place: Place, count: u32) {
        let account = self.entry(item);
        account.issued += count;
        account.places[place as usize] += count;
    }

    /// Takes back a counting-in.
    ///
    /// # Errors
    /// [`Shortfall`] if the place no longer holds as many; nothing changes then.
    pub fn count_out(&mut self, item: &Item, place: Place, count: u32) -> Result<(), Shortfall> {
        self.leave(item, place, count)?;
        self.entry(item).counted_in -= count;
        Ok(())
    }

    /// Gives items back to the store.
    ///
    /// # Errors
    /// [`Shortfall`] if the place does not hold as many; nothing changes then.
    pub fn give_back(&mut self, item: &Item, place: Place, count: u32) -> Result<(), Shortfall> {
        // Used parts that were put to stock are not the store's.
        let there = self.at(item, place).min(self.account(item).issued);
        ensure_there(item, place, count, there)?;
        self.leave(item, place, count)?;
        self.entry(item).issued -= count;
        Ok(())
    }

    /// Moves items from one place to another.
    ///
    /// # Errors
    /// [`Shortfall`] if the first place does not hold as many; nothing changes then.
    pub fn move_items(
        &mut self,
        item: &Item,
        from: Place,
        to: Place,
        count: u32,
    ) -> Result<(), Shortfall> {
        self.leave(item, from, count)?;
        self.entry(item).places[to as usize] += count;
        debug_assert!(self.account(item).is_conserved(), "conserved: {item}");
        Ok(())
    }

    fn leave(&mut self, item: &Item, place: Place, count: u32) -> Result<(), Shortfall> {
        ensure_there(item, place, count, self.at(item, place))?;
        self.entry(item).places[place as usize] -= count;
        Ok(())
    }
}

fn ensure_there(item: &Item, place: Place, wanted: u32, there: u32) -> Result<(), Shortfall> {
    if there < wanted {
        return Err(Shortfall {
            item: item.clone(),
            place,
            wanted,
            there,
        });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_out_of_nowhere_is_seen() {
        for item in [Item::Lock, Item::Other("Mirror".into())] {
            let mut ledger = Ledger::default();
            assert_eq!(ledger.accounts().count(), 0);
            ledger.count_in(&item, Place::Kit, 2);
            ledger.issue(&item, Place::Stock, 1);
            assert!(ledger.is_conserved());
            ledger.entry(&item).places[Place::Tray as usize] += 1;
            assert!(!ledger.is_conserved());
        }
    }
}
