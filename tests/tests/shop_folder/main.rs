//! Several tablets on one shop folder: what comes together, and what a folder that
//! fails or holds rubbish can never do.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

mod attacked;
mod attacked_bucket;
mod boards;
mod bounds;
mod bucket;
mod bucket_cost;
mod clocks;
mod comebacks;
mod converge;
mod faulty;
mod flooded;
mod forged;
#[path = "../editor/hand.rs"]
#[allow(dead_code)] // The editor's tests need more of it.
mod hand;
mod members;
mod notices;
mod parts;
mod pedal;
mod pictures;
mod processes;
mod screens;
mod told_crank;
mod told_screens;
mod twice;
mod two_screens;
