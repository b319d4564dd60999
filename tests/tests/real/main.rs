//! Tablets that meet where programs of others keep a folder or a bucket for them: real servers
//! and real copiers on this machine alone, cut off, killed and started again while people tap.
//! What a machine has not is said to be NOT RUN, with the reason. `tests/real/run` installs it
//! and runs the long form.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

mod copier;
mod mounts;
#[path = "../shop_folder/parts.rs"]
#[allow(dead_code)] // The tests of the shop folder need more of it.
mod parts;
mod programs;
mod servers;
mod shift;
mod syncthing;
