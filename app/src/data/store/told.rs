//! What is told of a fault, in the language of whoever reads it.

use std::fmt::{Debug, Display};
use std::sync::Arc;

/// An error that says itself in English, and in German: that stands with the words.
pub trait InGerman: Display + Debug + Send + Sync {
    /// What is wrong, naming the file.
    fn in_german(&self) -> String;
}

/// An error of any kind, kept until it is known in which language it is read.
pub type AnyFault = Arc<dyn InGerman>;
