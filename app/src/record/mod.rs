//! The record of a job: loaded from its journals, and printed as PDF.

pub mod load;
pub mod pdf;
