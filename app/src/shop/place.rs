//! Where the tablets of a shop meet: a folder that all of them reach, or a bucket.
//!
//! Either is read and written as a folder with the shape of `folder.rs`, so that whose lines
//! count is judged in one way alone. A bucket's folder is a copy beside this tablet's data,
//! brought up to what the bucket has before each round and sent there after it.

use std::collections::BTreeSet;
use std::fmt::Debug;
use std::path::Path;
use std::time::Duration;

use trayzero_core::journal::Members;
use uuid::Uuid;

use super::{FileFault, SharedFault, ShopFault};

/// Where the tablets of a shop meet.
pub(super) trait MeetingPlace: Debug + Send {
    /// The folder that is read and written.
    fn folder(&self) -> &Path;

    /// Brings into the folder what is new where they meet. Of tablets that are no members no
    /// more is taken than a bound.
    ///
    /// # Errors
    /// Why the place does not serve.
    fn fetch(&mut self, members: &Members) -> Result<(), ShopFault> {
        let _ = members;
        Ok(())
    }

    /// Jobs with new lines since the last asking; `None` where the folder has to be looked
    /// through for them.
    fn take_changed(&mut self) -> Option<BTreeSet<Uuid>> {
        None
    }

    /// Whether anything but journals was brought since the last asking, such as what says who
    /// is a member.
    fn take_is_shop_changed(&mut self) -> bool {
        false
    }

    /// Brings photographs into the folder, by job and file name, where they lie there.
    fn fetch_pictures(&mut self, wanted: &[(Uuid, String)]) {
        let _ = wanted;
    }

    /// Sends what is new in the folder: of the journals those of this tablet, for these jobs.
    ///
    /// # Errors
    /// Why the place does not serve.
    fn send(&mut self, jobs: &[Uuid], is_over: &dyn Fn(Uuid) -> bool) -> Result<(), ShopFault> {
        let _ = (jobs, is_over);
        Ok(())
    }

    /// Bytes of these jobs that are in the folder and not yet where the tablets meet.
    fn behind_bytes(&self, jobs: &[Uuid]) -> u64 {
        let _ = jobs;
        0
    }

    /// What does not hold where they meet and never came into the folder.
    fn faults(&self) -> Vec<SharedFault> {
        Vec::new()
    }

    /// What lies where they meet and is none of ours.
    fn left_alone(&self) -> Vec<FileFault> {
        Vec::new()
    }

    /// How long to wait before the next look, where a folder would be looked at after `usual`.
    fn pause(&self, usual: Duration) -> Duration {
        usual
    }
}
