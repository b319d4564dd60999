//! Reading a layout from JSON, with all its faults in one go.

use std::fmt;

use super::Layout;

/// The largest layout file that is read, in bytes.
pub const LAYOUT_BYTES_MAX: usize = 1 << 20;

/// One fault of a layout: where, what, and the rule it breaks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The file, as the caller named it.
    pub file: String,
    /// The field, as a path such as `banks[1].cylinders[0]`.
    pub field: String,
    /// The value that stands there, shortened; empty when it is missing.
    pub value: String,
    /// The rule, in a sentence.
    pub rule: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.file, self.field)?;
        if !self.value.is_empty() {
            write!(f, " = {}", self.value)?;
        }
        write!(f, ": {}", self.rule)
    }
}

impl Layout {
    /// Reads and checks a layout. `file` is only named in faults.
    ///
    /// # Errors
    /// Every fault of the text, not only the first.
    pub fn from_json(file: &str, bytes: &[u8]) -> Result<Self, Vec<Fault>> {
        let layout: Self = serde_json::from_slice(bytes).map_err(|e| {
            vec![Fault {
                file: file.to_owned(),
                field: "file".to_owned(),
                value: String::new(),
                rule: e.to_string(),
            }]
        })?;
        Ok(layout)
    }
}
