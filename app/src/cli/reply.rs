//! What a command comes to.

use std::io::Write;

use serde::Serialize;

use super::CliError;

/// What a command comes to, once its answer is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reply {
    /// Whether the answer is yes; no is exit code 1.
    pub yes: bool,
    /// Lines for the person at the terminal, kept apart from the answer.
    pub notes: Vec<String>,
}

impl Reply {
    /// Done, with nothing to add.
    pub fn done() -> Self {
        Self::answer(true)
    }

    /// An answer of yes or no, with nothing to add.
    pub fn answer(yes: bool) -> Self {
        Self {
            yes,
            notes: Vec::new(),
        }
    }

    /// The same with lines to add.
    #[must_use]
    pub fn with_notes(mut self, notes: Vec<String>) -> Self {
        self.notes = notes;
        self
    }
}

/// Writes an answer as one line of JSON.
///
/// # Errors
/// [`CliError::Write`] if the output cannot be written.
pub fn write_json(out: &mut dyn Write, answer: &impl Serialize) -> Result<(), CliError> {
    serde_json::to_writer(&mut *out, answer).map_err(|e| CliError::Write(e.into()))?;
    writeln!(out).map_err(CliError::Write)
}

/// An answer without those of some fields that are null.
pub(super) fn but_null(mut answer: serde_json::Value, fields: &[&str]) -> serde_json::Value {
    if let Some(all) = answer.as_object_mut() {
        all.retain(|name, value| !(value.is_null() && fields.contains(&name.as_str())));
    }
    answer
}
