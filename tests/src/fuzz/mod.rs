//! Hostile files: each target takes any bytes at all and says by a panic what must not be.
//! The same functions stand behind the long runs of the fuzzer and behind the test that
//! replays the inputs it has kept.
//!
//! Links and signatures stand in the way of a fuzzer that changes a byte, so the inputs of
//! the journal and of the shop folder are written without them, and they are put in before
//! the program sees a file ([`text`]).

#![allow(clippy::unwrap_used)]

pub mod journal;
pub mod layout;
pub mod picture;
pub mod record;
pub mod seeds;
pub mod shop;
pub mod text;

/// What takes any bytes.
pub type Target = fn(&[u8]);

/// The target whose inputs are pictures.
pub const PICTURE: (&str, Target) = ("picture", picture::check);

/// Every target, by the name of its folder of inputs.
pub const TARGETS: [(&str, Target); 5] = [
    ("layout", layout::check),
    ("journal", journal::check),
    ("shop", shop::check),
    ("record", record::check),
    PICTURE,
];
