//! What the tests have counted, for the one table at the end of `tests/run`.

#![allow(clippy::print_stdout)]

use std::fs::OpenOptions;
use std::io::Write;

/// The variable that names the file for the figures. Without it they are only printed.
const FILE: &str = "TRAYZERO_FIGURES";

/// Tells a figure. Figures of one name are added up in the table.
///
/// # Panics
/// If the file for the figures cannot be written: a table without them would be no proof.
pub fn say(name: &str, value: u64) {
    println!("{name}: {value}");
    let Some(file) = std::env::var_os(FILE) else {
        return;
    };
    let line = format!("{name}\t{value}\n");
    let written = OpenOptions::new()
        .append(true)
        .create(true)
        .open(&file)
        .and_then(|mut file| file.write_all(line.as_bytes()));
    assert!(written.is_ok(), "{}: {written:?}", file.display());
}
