//! The shop log by itself: who may do what to a shop, in whatever order the lines come.

#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod forged;
mod order;
mod people;
mod support;
