//! Why a bucket does not serve.

use thiserror::Error;

/// Why a bucket does not serve. What stands in keys, signatures and addresses that are
/// signed is in none of it.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum BucketFault {
    /// What was written is no bucket with a prefix.
    #[error("this is no bucket with a prefix, as in s3://bucket/prefix")]
    BadAddress,
    /// Nobody has said which server keeps it.
    #[error("no server is named for buckets: set AWS_ENDPOINT_URL or endpoint_url in the profile")]
    NoEndpoint,
    /// There are no keys to sign with.
    #[error("no keys for the bucket are set on this system")]
    NoKeys,
    /// The server does not answer.
    #[error("its server does not answer")]
    NotReached,
    /// The server lets nobody with these keys do this.
    #[error("its server says no to the keys of this system")]
    Refused,
    /// The clocks are too far apart for a signature.
    #[error("its server takes no signature: this tablet's clock is off by {ahead_min} minutes")]
    ClockOff {
        /// By how many minutes this tablet's clock is ahead; less than 0 behind.
        ahead_min: i64,
    },
    /// There is no such bucket.
    #[error("there is no such bucket on its server")]
    NoBucket,
    /// There is no such object.
    #[error("an object is not there")]
    NotThere,
    /// No room is left.
    #[error("it has no room left")]
    Full,
    /// The server says that it cannot now: it is busy, broken, or too much of it is away.
    #[error("its server answers that it cannot now")]
    NotNow,
    /// An answer broke off, or is not what was asked for.
    #[error("its server's answers break off")]
    Half,
    /// Any other answer that says no.
    #[error("its server answers {0}")]
    Answered(u16),
}
