//! Several tablets on one shop folder: what comes together, and what a folder that
//! fails or holds rubbish can never do.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

mod boards;
mod converge;
mod faulty;
mod parts;
mod processes;
