//! What the tests share: entries with a clock that repeats, small engines, a bay in
//! which a job is played, the rules told anew, and the auditor.

pub mod auditor;
pub mod bay;
pub mod engines;
pub mod entries;
pub mod rules;
