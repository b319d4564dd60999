//! Why a code or a change of the crew is not taken.

use thiserror::Error;
use trayzero_core::shop_log::WhyRefused;

use super::CrewFault;
use crate::data::store::FileError;
use crate::data::store::sealed::SealedError;

/// Why a code was not taken, or the crew not changed. No message holds a code.
#[derive(Debug, Error)]
pub enum CodeError {
    /// Nobody of that name is in the crew.
    #[error("nobody called \"{0}\" is in the crew")]
    NoSuchPerson(String),
    /// The person has no code yet.
    #[error("{0} has no code yet; the foreman has to be there when one is set")]
    NoCode(String),
    /// The code is wrong; the next try has to wait.
    #[error("the code is wrong; the next try is possible in {wait_s} s")]
    Wrong {
        /// Seconds until the next try.
        wait_s: u64,
    },
    /// It is too soon after a wrong code.
    #[error("too soon after a wrong code; the next try is possible in {wait_s} s")]
    Wait {
        /// Seconds until the next try.
        wait_s: u64,
    },
    /// The person is no foreman.
    #[error("{0} is no foreman")]
    NoForeman(String),
    /// The crew needs a foreman with a code.
    #[error("{0} is the last foreman with a code; make another one first")]
    LastForeman(String),
    /// The name is taken or cannot be one.
    #[error("\"{0}\" cannot be a new name: 1 to 40 printable characters, not in use yet")]
    BadName(String),
    /// The crew has a foreman already.
    #[error("the crew has a foreman already, who has to agree")]
    NotTheFirst,
    /// The crew is full.
    #[error("the crew has {0} people; no more are kept")]
    Full(usize),
    /// The code is too short or too easily guessed.
    #[error(
        "a code has six digits, or is a word of 6 to 64 characters; neither all the same nor counted up or down"
    )]
    TooSimple,
    /// The person's locked key has not come to this tablet yet.
    #[error("the key of {0} has not come to this tablet yet; it comes with the shop folder")]
    NotHere(String),
    /// The crew of the version before has to be taken over first.
    #[error("a foreman has to take the crew of the version before over first")]
    TakeOverFirst,
    /// The shop log does not take the change.
    #[error("{0}")]
    Refused(WhyRefused),
    /// The crew's files do not hold; nobody can sign.
    #[error("{0}")]
    Faulty(CrewFault),
    /// The code could not be kept or tried.
    #[error("the code could not be tried: {0}")]
    Unhashed(String),
    /// It could not be kept on the disk.
    #[error(transparent)]
    Disk(#[from] CrewFault),
}

impl From<SealedError> for CodeError {
    fn from(error: SealedError) -> Self {
        Self::Disk(error.into())
    }
}

impl From<FileError> for CodeError {
    fn from(error: FileError) -> Self {
        Self::Disk(error.into())
    }
}
