//! A record from a file, checked, with all that there is to be looked at in it: for the
//! command line and the window alike. Nothing is written anywhere.

use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use thiserror::Error;
use trayzero_core::job::NextStep;
use trayzero_core::journal::read_plain;

use super::pdf_file::{FILE_BYTES_MAX, NotRead, PdfFile};
use super::verify::{VerifyReport, verify};

/// Why a record cannot be opened.
#[derive(Debug, Error)]
pub enum NotOpened {
    /// The file cannot be read.
    #[error("{0}")]
    File(io::Error),
    /// It cannot be taken apart.
    #[error("{0}")]
    Pdf(NotRead),
    /// Reading it failed in the program itself.
    #[error("the program failed over it")]
    Failed,
}

/// A record from a file.
#[derive(Clone, Debug)]
pub struct OpenedRecord {
    /// The file.
    pub path: PathBuf,
    /// Its bytes as they were checked; what is shown and handed on is these.
    pub bytes: Arc<[u8]>,
    /// What was seen of it.
    pub report: VerifyReport,
    /// How many pages it has.
    pub pages: usize,
    /// The next step of its job.
    pub next: NextStep,
}

impl OpenedRecord {
    /// Reads a file and checks it. `shop_key` is as in [`verify`].
    ///
    /// # Errors
    /// [`NotOpened`].
    pub fn open(path: &Path, shop_key: Option<&str>) -> Result<Self, NotOpened> {
        let bytes = read(path).map_err(NotOpened::File)?;
        let report = verify(&bytes, shop_key).map_err(NotOpened::Pdf)?;
        let pages = PdfFile::open(&bytes).and_then(|file| file.page_count());
        let fold = report.job.as_ref();
        Ok(Self {
            path: path.to_owned(),
            bytes: bytes.into(),
            next: fold.map_or(NextStep::Nothing, |job| job.fold.state().next_step(None)),
            // That they do not hold together was said.
            pages: pages.unwrap_or(0),
            report,
        })
    }
}

/// Reads a file as far as any record goes.
///
/// # Errors
/// What the system says.
pub fn read(path: &Path) -> io::Result<Vec<u8>> {
    read_plain(path, 0, FILE_BYTES_MAX as u64 + 1)
}
