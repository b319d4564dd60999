//! The working order and the time to go against outside references: exhaustive search,
//! OR-Tools, printed learning tables, numpy and scipy, and simulated jobs.

#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod by_hand;
mod command_line;
mod drawn;
mod exhaustive;
mod learning_tables;
mod numpy_scipy;
mod or_tools;
mod random;
mod shops;
mod simulated;
mod walked;
mod whole_end;
mod yardstick;
