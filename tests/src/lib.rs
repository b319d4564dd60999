//! What the tests share: entries with a clock that repeats, small engines, a bay in
//! which a job is played, the rules told anew, the auditor, hands that tap at random,
//! the walk of all states, what takes hostile files, and
//! folders that hang or have no room.

pub mod auditor;
pub mod bay;
pub mod demo_script;
pub mod dice;
pub mod engines;
pub mod entries;
pub mod figures;
pub mod fuzz;
pub mod hands;
pub mod mute;
pub mod object_server;
pub mod pdf_pen;
pub mod photos;
pub mod rules;
pub mod sat;
pub mod small_disk;
pub mod told;
pub mod walk;
pub mod why_refused;
pub mod yard;
