//! The journal on real files: torn, flipped, newer, fought over, on disks that are full,
//! read-only, failing or gone; and the merging of several tablets.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

mod disks;
mod failing;
mod flips;
mod folders;
mod formats;
mod kept;
mod kills;
mod merging;
mod seals;
mod summaries;
mod support;
mod tears;
