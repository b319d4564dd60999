//! The record of a job: loaded from its journals, printed as PDF with its proof in it, and
//! checked, drawn and looked into from that file alone.

pub mod drawn;
pub mod load;
pub mod opened;
pub mod pdf;
pub mod pdf_file;
pub mod proof;
pub mod sources;
pub mod verify;
