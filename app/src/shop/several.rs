//! Several shops looked at beside each other. Two of them may have a job or a tablet with the
//! same identity, so every card says which shop it is of.

use std::path::PathBuf;
use std::sync::Arc;

/// Which of several shops a job is of. Shops are in the order in which they were named.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct OfShop {
    /// Its place among them, from 0.
    pub at: usize,
    /// Its name.
    pub name: Arc<str>,
}

/// A shop to be looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShopToRead {
    /// Which it is; `None` where it is the only one.
    pub of: Option<OfShop>,
    /// Its folder, or its bucket as `s3://bucket/prefix`.
    pub place: PathBuf,
    /// The shop's first key, 64 hex digits, where it is known.
    pub shop_key: Option<String>,
}
