//! Photographs of a job: taken in from the folder of the tablet's own camera program, kept
//! by content, and read within bounds whoever made them.
//!
//! ```text
//! jobs/<job>/pictures/<sha256>.jpg         copies for the record and the shop
//! jobs/<job>/pictures/taken/<sha256>.jpg   the files as they were taken, or .png
//! ```
//! A copy has no more than [`COPY_SIDE`] pixels a side, and of what a camera writes into its
//! files (where it was, which device, when, by whom) nothing but the pixels. The files as
//! taken stay on the tablet; only copies go to the shop folder and into the record.

mod camera;
mod decode;
mod kept;

pub use camera::{NEWEST_MAX, Taken, newest};
pub use decode::{
    BadPicture, COPY_SIDE, PIXELS_MAX, Pixels, SCANS_MAX, SIDE_MAX, copy_of, media_of, shrunk,
};
pub use kept::{
    Found, KeepError, find_copy, find_named, find_taken, is_picture_path, keep, pictures_in,
    read_chosen, read_copy, read_picture, taken_path, write_copy,
};
