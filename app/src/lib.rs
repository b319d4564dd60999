//! Tray Zero: the window and the command line on top of the rules of the bay.

pub mod cli;
pub mod layouts;
pub mod picture;
pub mod store;
pub mod technician;
pub mod theme;
pub mod widgets;
pub mod words;
