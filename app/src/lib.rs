//! Tray Zero: the window and the command line on top of the rules of the bay.

pub mod cli;
pub mod data;
pub mod demo;
pub mod desk;
pub mod office;
pub mod power;
pub mod record;
pub mod shop;
pub mod ui;
pub mod window;
