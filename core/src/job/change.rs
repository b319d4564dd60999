//! The smallest changes of the state, each with the one that takes it back.

use uuid::Uuid;

use super::{CrankAt, DropStatus, HoldKind};
use crate::parts::{Item, Place};

/// One change of the state.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Change {
    /// Items move. `from` and `to` of `None` are the outside: counted in.
    Move {
        item: Item,
        from: Place,
        to: Place,
        count: u32,
    },
    CountIn {
        item: Item,
        place: Place,
        count: u32,
    },
    CountOut {
        item: Item,
        place: Place,
        count: u32,
    },
    Issue {
        item: Item,
        count: u32,
    },
    GiveBack {
        item: Item,
        count: u32,
    },
    Stage {
        valve: usize,
        from: u8,
        to: u8,
    },
    PlugOut {
        cylinder: usize,
        to: bool,
    },
    VentedCover {
        cylinder: usize,
        to: bool,
    },
    Hose {
        cylinder: usize,
        to: bool,
    },
    Air {
        cylinder: usize,
        from: Option<f64>,
        to: Option<f64>,
    },
    /// The air was told to have fallen away by itself. The air that comes back with the
    /// telling ends that.
    AirLost {
        cylinder: usize,
    },
    HoldBy {
        cylinder: usize,
        from: Option<HoldKind>,
        to: Option<HoldKind>,
    },
    Wrench {
        to: bool,
    },
    Crank {
        from: Option<CrankAt>,
        to: Option<CrankAt>,
    },
    CoverOff {
        bank: usize,
        to: bool,
    },
    Aboard {
        bank: usize,
        item: Item,
        add: bool,
        count: u32,
    },
    DropOpened {
        dropped: Uuid,
    },
    DropTakenBack {
        dropped: Uuid,
    },
    SwapOpened {
        swapped: Uuid,
    },
    SwapTakenBack {
        swapped: Uuid,
    },
    SwapMended {
        swapped: Uuid,
        to: bool,
    },
    Dropped {
        dropped: Uuid,
        from: DropStatus,
        to: DropStatus,
    },
}

/// The part of the state that a change writes, used to tell whether two events touch
/// the same thing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Cell {
    Items(Item),
    Valve(usize),
    PlugHole(usize),
    Air(usize),
    HoldBy(usize),
    Wrench,
    Crank,
    Cover(usize),
    Aboard(usize, Item),
    Drop(Uuid),
    Swap(Uuid),
}

/// The changes of one event, in order.
pub(super) type Postings = Vec<Change>;

impl Change {
    /// The change that takes this one back.
    pub(super) fn inverted(self) -> Self {
        match self {
            Change::Move {
                item,
                from,
                to,
                count,
            } => Change::Move {
                item,
                from: to,
                to: from,
                count,
            },
            Change::CountIn { item, place, count } => Change::CountOut { item, place, count },
            Change::CountOut { item, place, count } => Change::CountIn { item, place, count },
            Change::Issue { item, count } => Change::GiveBack { item, count },
            Change::GiveBack { item, count } => Change::Issue { item, count },
            Change::Stage { valve, from, to } => Change::Stage {
                valve,
                from: to,
                to: from,
            },
            Change::PlugOut { cylinder, to } => Change::PlugOut { cylinder, to: !to },
            Change::VentedCover { cylinder, to } => Change::VentedCover { cylinder, to: !to },
            Change::Hose { cylinder, to } => Change::Hose { cylinder, to: !to },
            Change::Air { cylinder, from, to } => Change::Air {
                cylinder,
                from: to,
                to: from,
            },
            Change::AirLost { cylinder } => Change::AirLost { cylinder },
            Change::HoldBy { cylinder, from, to } => Change::HoldBy {
                cylinder,
                from: to,
                to: from,
            },
            Change::Wrench { to } => Change::Wrench { to: !to },
            Change::Crank { from, to } => Change::Crank { from: to, to: from },
            Change::CoverOff { bank, to } => Change::CoverOff { bank, to: !to },
            Change::Aboard {
                bank,
                item,
                add,
                count,
            } => Change::Aboard {
                bank,
                item,
                add: !add,
                count,
            },
            Change::DropOpened { dropped } => Change::DropTakenBack { dropped },
            Change::DropTakenBack { dropped } => Change::DropOpened { dropped },
            Change::SwapOpened { swapped } => Change::SwapTakenBack { swapped },
            Change::SwapTakenBack { swapped } => Change::SwapOpened { swapped },
            Change::SwapMended { swapped, to } => Change::SwapMended { swapped, to: !to },
            Change::Dropped { dropped, from, to } => Change::Dropped {
                dropped,
                from: to,
                to: from,
            },
        }
    }

    /// What the change writes.
    pub(super) fn cell(&self) -> Cell {
        match self {
            Change::Move { item, .. }
            | Change::CountIn { item, .. }
            | Change::CountOut { item, .. }
            | Change::Issue { item, .. }
            | Change::GiveBack { item, .. } => Cell::Items(item.clone()),
            Change::Stage { valve, .. } => Cell::Valve(*valve),
            Change::PlugOut { cylinder, .. }
            | Change::VentedCover { cylinder, .. }
            | Change::Hose { cylinder, .. } => Cell::PlugHole(*cylinder),
            Change::Air { cylinder, .. } | Change::AirLost { cylinder, .. } => Cell::Air(*cylinder),
            Change::HoldBy { cylinder, .. } => Cell::HoldBy(*cylinder),
            Change::Wrench { .. } => Cell::Wrench,
            Change::Crank { .. } => Cell::Crank,
            Change::CoverOff { bank, .. } => Cell::Cover(*bank),
            Change::Aboard { bank, item, .. } => Cell::Aboard(*bank, item.clone()),
            Change::DropOpened { dropped }
            | Change::DropTakenBack { dropped }
            | Change::Dropped { dropped, .. } => Cell::Drop(*dropped),
            Change::SwapOpened { swapped }
            | Change::SwapTakenBack { swapped }
            | Change::SwapMended { swapped, .. } => Cell::Swap(*swapped),
        }
    }
}
