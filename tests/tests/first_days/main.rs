//! The first days of a tablet, in the app's screens without a window: the first-use
//! cards, and a backup made and brought back by the settings.
#![allow(clippy::unwrap_used, missing_docs)]

mod backup;
mod cards;
mod tablet;
