//! A bucket as the place where a shop's tablets meet: objects on a server that somebody else
//! runs, reached from everywhere.
//!
//! A copy of the bucket in the shape of a shop folder lies below `bucket` in the data folder.
//! [`BucketPlace`] brings it up to what the bucket has, the exchange works with it as with any
//! folder, and what has changed in it is put there. So every check of a foreign file holds for
//! foreign objects, and work goes on while the bucket is out of reach.
//!
//! Requests cost money and are counted by the work: a look is one request for a thousand
//! tablets, and one for each that has tapped; a tap is two; what is over is not looked at.

mod address;
mod client;
mod copy;
mod fault;
mod head;
mod heads;
mod journals;
mod own;
mod photographs;
mod small;

pub use address::{BucketAddress, Surroundings};
pub(super) use copy::{BucketPlace, copy_of};
pub use fault::BucketFault;
