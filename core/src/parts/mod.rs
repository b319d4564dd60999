//! The parts ledger: what is counted, where it may be, and the double entry that
//! keeps both sides equal.

mod item;
mod ledger;

pub use item::{ITEM_NAME_MAX, Item, ItemError, Place};
pub use ledger::{Account, Ledger, Shortfall};
