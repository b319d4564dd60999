//! A record that carries its proof, checked from its file alone: by the program, and by qpdf,
//! sha256sum and openssl as the README tells it.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod altered;
mod archive;
mod attached;
mod depot;
#[path = "../editor/hand.rs"]
#[allow(dead_code)] // The editor's tests need more of it.
mod hand;
mod handed_on;
mod pages;
#[path = "../members/shop.rs"]
#[allow(dead_code)] // The members' tests need more of it.
mod shop;
mod shops;
mod window;
mod without_us;
