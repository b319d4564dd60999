//! A fault of a layout: what stands where, and the rule it breaks.

use std::fmt;

use super::rule::LayoutRule;

/// The field that a fault of the whole file names.
pub(super) const WHOLE_FILE: &str = "file";

/// One fault of a layout: where, what, and the rule it breaks.
#[derive(Clone, Debug, PartialEq)]
pub struct LayoutFault {
    /// The file, as the caller named it.
    pub file: String,
    /// The field, as a path such as `banks[1].cylinders[0]`; `file` for the whole of it.
    pub field: String,
    /// The value that stands there, shortened; empty when it is missing.
    pub value: String,
    /// The rule that it breaks.
    pub rule: LayoutRule,
}

impl fmt::Display for LayoutFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.file, self.field)?;
        if !self.value.is_empty() {
            write!(f, " = {}", self.value)?;
        }
        write!(f, ": {}", self.rule)
    }
}
