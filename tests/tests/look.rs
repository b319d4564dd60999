//! The visual language: contrast, shapes, colours under colour blindness, fonts, words,
//! targets, and pictures of every building block (in `target/pictures`).
#![allow(clippy::unwrap_used, clippy::print_stdout)]

#[path = "look/colour_blind.rs"]
mod colour_blind;
#[path = "look/contrast.rs"]
mod contrast;
#[path = "look/day.rs"]
mod day;
#[path = "look/faults.rs"]
mod faults;
#[path = "look/fonts.rs"]
mod fonts;
#[path = "look/guard.rs"]
mod guard;
#[path = "look/motion.rs"]
mod motion;
#[path = "look/picture.rs"]
mod picture;
#[path = "look/pictures.rs"]
mod pictures;
#[path = "look/shapes.rs"]
mod shapes;
#[path = "look/system_theme.rs"]
mod system_theme;
#[path = "look/targets.rs"]
mod targets;
#[path = "look/units.rs"]
mod units;
#[path = "look/walk/mod.rs"]
mod walk;
#[path = "look/wall.rs"]
mod wall;
#[path = "look/words.rs"]
mod words;
