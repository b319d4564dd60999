//! The pictures of a job, each with where it belongs.

use std::sync::Arc;

use serde::Serialize;

use super::By;
use crate::engine::ValveName;
use crate::job::{JobState, MediaType, Picture, PictureOf};

/// What was found of a picture's copy when the record was made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PictureFound {
    /// Nobody has looked.
    #[default]
    NotLookedAt,
    /// The very bytes that its event names.
    Whole,
    /// Nothing.
    Missing,
    /// Something else.
    Changed,
}

/// One picture as a person reads it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PictureLine {
    /// Its number in the record, from 1 on.
    pub number: usize,
    /// SHA-256 of the file as it was taken, 64 hex digits.
    pub sha256: String,
    /// Its length.
    pub bytes: u64,
    /// What kind of file it is.
    pub media: MediaType,
    /// SHA-256 of the copy that is in the record.
    pub copy_sha256: String,
    /// Its length.
    pub copy_bytes: u64,
    /// Where it belongs.
    pub of: PictureOf,
    /// The valve that it belongs to, also by what was found on it or fell from it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub valve: Option<ValveName>,
    /// What is to be seen, in words.
    pub remark: String,
    /// What was found of the copy; set by whoever has looked.
    pub found: PictureFound,
    /// The copy itself, where it was found whole; no part of the JSON.
    #[serde(skip)]
    pub copy: Option<Arc<[u8]>>,
    /// Who added it, and when.
    #[serde(flatten)]
    pub by: By,
}

/// Every picture that stands, in the order added.
pub(super) fn picture_lines(state: &JobState) -> Vec<PictureLine> {
    let pictures = state.pictures().enumerate();
    let line = |(at, (fact, picture)): (usize, (_, &Picture))| PictureLine {
        number: at + 1,
        sha256: picture.sha256.clone(),
        bytes: picture.bytes,
        media: picture.media,
        copy_sha256: picture.copy_sha256.clone(),
        copy_bytes: picture.copy_bytes,
        of: picture.of,
        valve: state.valve_of(picture),
        remark: picture.remark.clone(),
        found: PictureFound::NotLookedAt,
        copy: None,
        by: By::of_fact(fact),
    };
    pictures.map(line).collect()
}
