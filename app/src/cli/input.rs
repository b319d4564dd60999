//! Reading an engine layout named on the command line.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use trayzero_core::engine::{LAYOUT_BYTES_MAX, Layout};

use super::CliError;

/// Reads and checks a layout file.
///
/// # Errors
/// [`CliError::Unreadable`], [`CliError::TooLarge`], or [`CliError::Layout`] with every
/// fault of the file.
pub fn load_layout(path: &Path) -> Result<Layout, CliError> {
    let unreadable = |fault| CliError::Unreadable {
        path: path.to_owned(),
        fault,
    };
    let file = File::open(path).map_err(unreadable)?;
    // One byte more than allowed is enough to know, however long the file goes on.
    let mut bytes = Vec::new();
    file.take(LAYOUT_BYTES_MAX as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(unreadable)?;
    if bytes.len() > LAYOUT_BYTES_MAX {
        return Err(CliError::TooLarge {
            path: path.to_owned(),
            limit: LAYOUT_BYTES_MAX,
        });
    }
    Layout::from_json(&path.display().to_string(), &bytes)
        .map_err(|faults| CliError::Layout { faults })
}
