//! Who belongs to a shop: tablets admitted and lost, people with keys of their own, and
//! everything that somebody with the shop folder alone would try.
#![allow(clippy::print_stdout, clippy::unwrap_used, missing_docs)]

mod before;
mod flooded;
mod folder;
mod forged;
mod layouts;
mod outside;
mod outsider;
mod pen;
mod seen;
mod shop;
