//! The record: its data, its JSON against the schema, its PDF read back, its command.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod cli;
mod data;
mod json;
mod pdf;
mod play;
