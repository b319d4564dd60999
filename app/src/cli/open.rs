//! `trayzero open`: a record in the window.

use std::path::PathBuf;

use super::{CliError, Reply, WindowArgs, shop_key};
use crate::data::store::{TABLET_FILE, usual_folder};
use crate::window::{RecordToOpen, open};

/// Arguments of `trayzero open`.
#[derive(Debug, clap::Args)]
pub struct OpenArgs {
    /// The record, a PDF.
    #[arg(value_name = "RECORD.pdf")]
    pub file: PathBuf,
    /// The shop's first key, 64 hex digits: only a record of that shop holds.
    #[arg(long, value_name = "KEY", value_parser = shop_key)]
    pub shop_key: Option<String>,
    /// How the window opens.
    #[command(flatten)]
    pub window: WindowArgs,
}

/// Opens the window on the record and stays until it is closed. Where the machine is no tablet
/// of a shop it does not become one: what the window needs lies in a folder that goes with it.
///
/// # Errors
/// [`CliError::Unread`] where there is no such file, and what stood in the window's way.
pub fn run(args: &OpenArgs) -> Result<Reply, CliError> {
    let failed = |why: String| CliError::Unread {
        path: args.file.clone(),
        why,
    };
    // The window shows where it lies, wherever the program was started.
    let path = args
        .file
        .canonicalize()
        .map_err(|e| failed(e.to_string()))?;
    let record = RecordToOpen {
        path,
        shop_key: args.shop_key.clone(),
    };
    let is_full = args.window.full_screen;
    let data = match &args.window.data {
        Some(folder) => Some(folder.clone()),
        None if args.window.demo => None,
        None => usual_folder().ok().filter(|f| f.join(TABLET_FILE).exists()),
    };
    let opened = if let Some(data) = data {
        open(&data, is_full, Some(record))
    } else {
        let scratch = tempfile::tempdir().map_err(|e| CliError::Window(e.to_string()))?;
        open(scratch.path(), is_full, Some(record))
    };
    opened.map_err(CliError::Window)?;
    Ok(Reply::done())
}
