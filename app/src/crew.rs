//! The crew. Codes are not checked yet: this is the seam that the sign-off goes through.

use trayzero_core::job::{Person, SignOff};

use crate::store::{Stamp, Store, StoreError};

/// The people of the shop.
pub struct Crew {
    people: Vec<Worker>,
}

/// One of them.
pub struct Worker {
    /// Who.
    pub person: Person,
}

impl Worker {
    /// Whether a foreman.
    pub fn is_foreman(&self) -> bool {
        false
    }

    /// Whether they have a code.
    pub fn has_code(&self) -> bool {
        false
    }
}

/// Why a code does not serve.
#[derive(Debug)]
pub struct CodeError;

impl Crew {
    /// Reads the crew of a data folder.
    ///
    /// # Errors
    /// What the disk says.
    pub fn load(_store: &Store) -> Result<Self, StoreError> {
        Ok(Self { people: Vec::new() })
    }

    /// Everybody.
    pub fn people(&self) -> impl Iterator<Item = &Worker> {
        self.people.iter()
    }

    /// Checks a code.
    ///
    /// # Errors
    /// Always, until codes are kept.
    pub fn enter_code(&mut self, _: &Person, _: &str, _: Stamp) -> Result<SignOff, CodeError> {
        Err(CodeError)
    }
}
