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

impl PdfError {
    /// The reason alone: what another program says, or the name of the font.
    pub fn why(self) -> String {
        match self {
            Self::Font { name } => name.to_owned(),
            Self::Write { why } => why,
        }
    }
}
