//! What a command line can get wrong.

use std::io;
use std::path::PathBuf;

use thiserror::Error;
use trayzero_core::bench::BenchError;
use trayzero_core::journal::JournalError;
use trayzero_core::plan::OrderFault;

use crate::data::layouts::LayoutFileError;
use crate::demo::DemoError;
use crate::record::load::GatherError;
use crate::record::pdf::PdfError;
use crate::shop::{OtherShop, ShopFault};

/// Bad usage or input. Every message names the file or the option, and the value.
#[derive(Debug, Error)]
pub enum CliError {
    /// An engine layout cannot be read or has faults; all of them, one a line.
    #[error(transparent)]
    Layout(#[from] LayoutFileError),
    /// A figure is out of its range. `place` is the file or the option it came from.
    #[error("{place}: {fault}")]
    Bench {
        /// File or option.
        place: String,
        /// The figure, its value and its range.
        fault: BenchError,
    },
    /// A folder of journals cannot be read.
    #[error(transparent)]
    Journal(#[from] JournalError),
    /// A layout or a question has no working order. `place` is the file or the option.
    #[error("{place}: {fault}")]
    Order {
        /// File or option.
        place: String,
        /// The field, its value and the rule.
        fault: OrderFault,
    },
    /// A folder for something new holds something already.
    #[error(
        "{}: not empty, it holds {holds}; name a new folder or an empty one",
        path.display()
    )]
    FolderInUse {
        /// The folder.
        path: PathBuf,
        /// One of the things in it.
        holds: String,
    },
    /// The folder of a shop, or the bucket in its place, does not serve.
    #[error("{0}")]
    Place(ShopFault),
    /// Several shops are named wrongly. `place` is the file with the field, or the value.
    #[error("{place}: {why}")]
    Shops {
        /// File and field, or the value.
        place: String,
        /// What is wrong with it.
        why: String,
    },
    /// A folder is another shop's than the one that was asked for. This is an answer, no.
    #[error(transparent)]
    OtherShop(#[from] OtherShop),
    /// There is no record of a job.
    #[error(transparent)]
    Gather(#[from] GatherError),
    /// A record cannot be made into a PDF.
    #[error(transparent)]
    Pdf(#[from] PdfError),
    /// A record cannot be read.
    #[error("{}: it cannot be read as a record: {why}", path.display())]
    Unread {
        /// The file.
        path: PathBuf,
        /// Why not.
        why: String,
    },
    /// A file cannot be written.
    #[error("{}: it cannot be written: {fault}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system said.
        fault: io::Error,
    },
    /// The demo shop cannot be made.
    #[error(transparent)]
    Demo(#[from] DemoError),
    /// The answer cannot be written.
    #[error("the answer cannot be written: {0}")]
    Write(io::Error),
    /// The window cannot open.
    #[error("the window cannot open: {0}")]
    Window(String),
}
