//! What a command line can get wrong.

use std::io;
use std::path::PathBuf;

use thiserror::Error;
use trayzero_core::bench::BenchError;
use trayzero_core::engine::Fault;

/// Bad usage or input. Every message names the file or the option, and the value.
#[derive(Debug, Error)]
pub enum CliError {
    /// A file cannot be read.
    #[error("{}: cannot be read: {fault}", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        fault: io::Error,
    },
    /// A file is larger than any of its kind.
    #[error("{}: larger than {limit} bytes, which no engine layout is", path.display())]
    TooLarge {
        /// The file.
        path: PathBuf,
        /// Largest size read, in bytes.
        limit: usize,
    },
    /// A layout has faults; all of them, one a line.
    #[error("{}", faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Layout {
        /// The faults, each with its file, field and value.
        faults: Vec<Fault>,
    },
    /// A figure is out of its range. `place` is the file or the option it came from.
    #[error("{place}: {fault}")]
    Bench {
        /// File or option.
        place: String,
        /// The figure, its value and its range.
        fault: BenchError,
    },
    /// The answer cannot be written.
    #[error("the answer cannot be written: {0}")]
    Write(io::Error),
    /// This build has no window.
    #[error("this build has no window; `trayzero --help` lists the commands")]
    NoWindow,
}
