//! The house itself: how long its files and functions are, which way its arrows point,
//! what lies at its top, and whether its papers name what is really there. The source is
//! read as tokens by the compiler's own lexer.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

mod arrows;
mod circles;
mod lengths;
mod names;
mod papers;
mod source;
mod tree;
