//! Bytes after the last newline: a line that was never finished.

use std::fmt;
use std::fs::OpenOptions;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use serde::Serialize;

use super::link::to_hex;

/// A line that was being written when the power went or the process ended. It was never
/// acknowledged, so nothing that the screen showed as done is in it.
#[derive(Clone, PartialEq, Eq)]
pub struct Torn {
    /// The journal.
    pub file: PathBuf,
    /// The line it would have been, counted from 1.
    pub line: u64,
    /// Where it begins in the file, in bytes.
    pub offset: u64,
    /// What is there of it.
    pub bytes: Vec<u8>,
}

impl fmt::Display for Torn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}, line {}: {} bytes of a line that was never finished, from byte {}",
            self.file.display(),
            self.line,
            self.bytes.len(),
            self.offset
        )
    }
}

impl fmt::Debug for Torn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// One line of the side file.
#[derive(Serialize)]
struct SetAside<'a> {
    line: u64,
    offset: u64,
    /// All that was there, zeros at the end included.
    bytes: usize,
    /// For people; bytes that are no text are replaced.
    text: &'a str,
    /// For programs; without the zeros at the end.
    hex: &'a str,
}

impl Torn {
    /// The side file of a journal.
    pub fn side_file(journal: &Path) -> PathBuf {
        journal.with_extension("torn")
    }

    /// What is left without the zeros that a file system may have put behind it.
    pub(super) fn without_zeros(bytes: &[u8]) -> &[u8] {
        let end = bytes.iter().rposition(|b| *b != 0).map_or(0, |at| at + 1);
        &bytes[..end]
    }

    /// Adds it to the side file, durably.
    pub(super) fn set_aside(&self) -> io::Result<()> {
        let kept = Self::without_zeros(&self.bytes);
        let line = SetAside {
            line: self.line,
            offset: self.offset,
            bytes: self.bytes.len(),
            text: &String::from_utf8_lossy(kept),
            hex: &to_hex(kept),
        };
        let mut text = serde_json::to_vec(&line)?;
        text.push(b'\n');
        let mut side = OpenOptions::new()
            .append(true)
            .create(true)
            .open(Self::side_file(&self.file))?;
        side.write_all(&text)?;
        side.sync_all()
    }
}
