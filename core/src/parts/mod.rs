//! The parts ledger: what is counted, where it may be, and the double entry that
//! keeps both sides equal.

mod ledger;
mod place;

pub use crate::engine::{ITEM_NAME_MAX, Item, ItemError};
pub use ledger::{Account, Ledger, Shortfall};
pub use place::Place;
