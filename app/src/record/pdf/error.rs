//! Why a PDF cannot be made.

use thiserror::Error;

/// Why a record cannot be made into a PDF.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum PdfError {
    /// One of the program's own fonts cannot be read.
    #[error("the program's font \"{name}\" cannot be read")]
    Font {
        /// Its name.
        name: &'static str,
    },
    /// The file cannot be written.
    #[error("the PDF cannot be made: {why}")]
    Write {
        /// The reason.
        why: String,
    },
}
