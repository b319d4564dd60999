//! Engine layouts: what a shop writes down about an engine before it works on it.
//!
//! A layout names the banks, the firing order, the valves, the dimensions the
//! bench arithmetic needs and the kit to count. [`Layout`] is a checked value:
//! [`Layout::from_json`] gives one or the full list of its faults.

mod fault;
mod item;
mod layout;
mod names;
mod node;
mod phase;
mod read;
mod rule;
mod rules;
mod shipped;
mod table;
mod walk;

pub use fault::LayoutFault;
pub use item::{ITEM_NAME_MAX, Item, ItemError};
pub use layout::{
    AdaptorRule, Bank, Follower, Guide, Handling, KitLine, Layout, OrderLine, Remark,
    STANDARD_ADAPTOR, SpringData, Tops, WorkingPosition,
};
pub use names::{Side, ValveName, ValveNameError};
pub use phase::wrap_720;
pub use read::LAYOUT_BYTES_MAX;
pub use rule::LayoutRule;
pub use shipped::{ShippedLayout, shipped};
