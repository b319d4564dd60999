//! The record: its data, its JSON against the schema, its PDF read back, its command.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod cli;
mod data;
mod drawn;
#[path = "../editor/hand.rs"]
#[allow(dead_code)] // The editor's tests need more of it.
mod hand;
mod json;
mod on_screen;
mod pdf;
mod pictures;
mod play;
mod sheet;
