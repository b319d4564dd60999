//! The visual language: contrast, shapes, colours under colour blindness, fonts, words,
//! targets, and pictures of every building block (in `target/pictures`).
#![allow(clippy::unwrap_used)]

#[path = "look/pictures.rs"]
mod pictures;
