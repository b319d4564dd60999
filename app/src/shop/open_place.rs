//! The place that a person has named, opened.

use std::path::{Path, PathBuf};

use uuid::Uuid;

use super::bucket::{BucketAddress, BucketPlace, Surroundings, copy_of};
use super::place::MeetingPlace;

/// A folder that all of them reach.
#[derive(Debug)]
struct SharedFolder(PathBuf);

impl MeetingPlace for SharedFolder {
    fn folder(&self) -> &Path {
        &self.0
    }
}

/// The place that a person has named: `s3://bucket/prefix`, or else a folder. `data` keeps
/// what a bucket needs here; `tablet` is the one that sends.
pub(super) fn open_place(
    place: &Path,
    data: &Path,
    tablet: Option<Uuid>,
    around: &Surroundings,
) -> Box<dyn MeetingPlace> {
    match BucketAddress::of(place) {
        None => Box::new(SharedFolder(place.to_owned())),
        Some(address) => Box::new(BucketPlace::open(place, address, data, tablet, around)),
    }
}

/// The folder that stands for a place, in which its tablets meet.
pub fn folder_of(place: &Path, data: &Path) -> PathBuf {
    match BucketAddress::of(place) {
        None => place.to_owned(),
        Some(_) => copy_of(place, data),
    }
}
