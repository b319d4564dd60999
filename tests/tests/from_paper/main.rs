//! What was done on paper while the tablet was dead, entered later.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

mod at_the_desk;
mod cheated;
mod pen;
mod walked;
mod written;
