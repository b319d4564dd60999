//! The record of a job: loaded from its journals, printed as PDF with its proof in it, and
//! checked from that file alone.

pub mod load;
pub mod pdf;
pub mod pdf_file;
pub mod proof;
pub mod sources;
pub mod verify;
