//! A photograph that belongs to a job: its event names the files by their content.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::engine::ValveName;

/// The most pictures of one job that are added.
pub const PICTURES_MAX: usize = 200;

/// The largest picture that is added, in bytes.
pub const PICTURE_BYTES_MAX: u64 = 32 << 20;

/// The largest copy of a picture for the record and the shop, in bytes.
pub const COPY_BYTES_MAX: u64 = 2 << 20;

/// What kind of file a picture is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum MediaType {
    /// As ITU-T T.81 has it.
    #[serde(rename = "image/jpeg")]
    Jpeg,
    /// As the W3C's Portable Network Graphics has it.
    #[serde(rename = "image/png")]
    Png,
}

impl MediaType {
    /// The ending of such a file's name.
    pub fn extension(self) -> &'static str {
        match self {
            MediaType::Jpeg => "jpg",
            MediaType::Png => "png",
        }
    }
}

/// Where a picture belongs. Nothing is held against an event that it names: pictures only
/// add, and no two tablets can disagree about one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
#[allow(missing_docs)] // The names of the fields say what they are.
pub enum PictureOf {
    /// The job as a whole.
    Job {},
    /// The engine as it came.
    TakeIn {},
    /// One valve.
    Valve { valve: ValveName },
    /// What was found, by its event.
    Finding { event: Uuid },
    /// What fell, by its event.
    Drop { event: Uuid },
    /// What is laid out for the count of a bank.
    Count { bank: u8 },
}

/// A photograph as its event tells it. Both hashes are SHA-256 in 64 lower-case hex digits.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Picture {
    /// Hash of the file as it was taken, which stays on the tablet.
    pub sha256: String,
    /// Its length.
    pub bytes: u64,
    /// What kind of file it is.
    pub media: MediaType,
    /// Hash of the copy for the record and the shop: a JPEG without place and device.
    pub copy_sha256: String,
    /// Its length.
    pub copy_bytes: u64,
    /// Where it belongs.
    pub of: PictureOf,
    /// What is to be seen, in words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub remark: String,
}

impl Picture {
    /// The name of the file as it was taken.
    pub fn file_name(&self) -> String {
        format!("{}.{}", self.sha256, self.media.extension())
    }

    /// The name of its copy.
    pub fn copy_name(&self) -> String {
        format!("{}.{}", self.copy_sha256, MediaType::Jpeg.extension())
    }
}
