//! The places where items may be.

use serde::{Deserialize, Serialize};

/// Where an item may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// Fitted where it serves.
    Home,
    /// In the tray: loose, and due back home.
    Tray,
    /// Laid aside on the bench: covers and plugs that came off.
    Aside,
    /// In the scrap box.
    Scrap,
    /// Issued from the store and not used yet.
    Stock,
    /// In the tool kit.
    Kit,
    /// Temporarily in or on the engine.
    Aboard,
    /// Dropped and not found.
    Adrift,
    /// Searched for by two people everywhere on the search list, and not found.
    Unfound,
}

impl Place {
    /// Every place, in the order of the ledger's columns.
    pub const ALL: [Place; 9] = [
        Place::Home,
        Place::Tray,
        Place::Aside,
        Place::Scrap,
        Place::Stock,
        Place::Kit,
        Place::Aboard,
        Place::Adrift,
        Place::Unfound,
    ];
}
