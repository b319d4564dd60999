//! The folder that a command reads, where a bucket may stand for one.

use std::path::{Path, PathBuf};

use super::CliError;
use crate::shop::visited;

/// The folder itself, or the copy here of a bucket, brought up to date.
///
/// # Errors
/// [`CliError::Place`] where the bucket does not serve.
pub(super) fn brought(place: &Path, shop_key: Option<&str>) -> Result<PathBuf, CliError> {
    if !place.starts_with("s3:") {
        return Ok(place.to_owned());
    }
    visited(place, shop_key).map_err(CliError::Place)
}
