//! Reading a picture that anybody may have made. What is said of its size in its first
//! bytes is held against bounds before any of its pixels is read.

use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};

use image::codecs::jpeg::JpegEncoder;
use image::metadata::Orientation;
use image::{
    DynamicImage, ExtendedColorType, ImageDecoder, ImageError, ImageFormat, ImageReader, Limits,
};
use thiserror::Error;
use trayzero_core::job::{COPY_BYTES_MAX, MediaType};

/// The most pixels of a picture that is read: more than the cameras of tablets have.
pub const PIXELS_MAX: u64 = 40_000_000;
/// The longest side of a picture that is read, in pixels.
pub const SIDE_MAX: u32 = 16_384;
/// The longest side of a copy, in pixels.
pub const COPY_SIDE: u32 = 2_000;
/// The most times that a JPEG may go over its pixels: each costs the time of a whole picture.
/// Common encoders write 10.
pub const SCANS_MAX: usize = 32;
/// The most memory that a decoder is given, in bytes.
const ALLOC_MAX: u64 = 192 << 20;
/// Qualities of a copy, the best one first, until it is short enough.
const QUALITIES: [u8; 4] = [82, 70, 55, 35];

/// Why a picture is not read.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum BadPicture {
    /// It is none that is known.
    #[error("it is neither a JPEG nor a PNG picture")]
    Unknown,
    /// A camera that writes HEIF.
    #[error("it is a HEIF picture: set the camera program to JPEG")]
    Heif,
    /// The file is too long.
    #[error("it has {bytes} bytes; at most {most} are read")]
    TooLong {
        /// Its length.
        bytes: u64,
        /// What is read.
        most: u64,
    },
    /// The picture is too large.
    #[error("it has {width} x {height} pixels; at most {PIXELS_MAX} are read")]
    TooLarge {
        /// Its width.
        width: u32,
        /// Its height.
        height: u32,
    },
    /// It ends too early, or holds what no such file holds.
    #[error("it cannot be read: {0}")]
    Broken(String),
}

/// Red, green and blue of every pixel, row by row from the top.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Pixels {
    /// Pixels a row.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// Three bytes a pixel.
    pub rgb: Vec<u8>,
}

/// What kind of picture it is, by its first bytes; its name says nothing.
///
/// # Errors
/// [`BadPicture::Heif`] and [`BadPicture::Unknown`].
pub fn media_of(bytes: &[u8]) -> Result<MediaType, BadPicture> {
    if bytes.starts_with(&[0xFF, 0xD8, 0xFF]) {
        return Ok(MediaType::Jpeg);
    }
    if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        return Ok(MediaType::Png);
    }
    let brand = bytes.get(4..12);
    let is_heif = brand.is_some_and(|b| {
        b.starts_with(b"ftyp") && matches!(&b[4..], b"heic" | b"heix" | b"mif1" | b"msf1" | b"hevc")
    });
    Err(if is_heif {
        BadPicture::Heif
    } else {
        BadPicture::Unknown
    })
}

/// The picture upright, with no side longer than `side`.
///
/// # Errors
/// [`BadPicture`].
pub fn shrunk(bytes: &[u8], side: u32) -> Result<Pixels, BadPicture> {
    let rgb = decode(bytes, side)?.into_rgb8();
    Ok(Pixels {
        width: rgb.width(),
        height: rgb.height(),
        rgb: rgb.into_raw(),
    })
}

/// The copy for the record and the shop: a JPEG of the pixels and nothing else, no longer
/// than [`COPY_BYTES_MAX`].
///
/// # Errors
/// [`BadPicture`].
pub fn copy_of(bytes: &[u8]) -> Result<Vec<u8>, BadPicture> {
    let mut picture = DynamicImage::ImageRgb8(decode(bytes, COPY_SIDE)?.into_rgb8());
    loop {
        for quality in QUALITIES {
            let copy = as_jpeg(&picture, quality)?;
            if copy.len() as u64 <= COPY_BYTES_MAX {
                return Ok(copy);
            }
        }
        // Only noise is as long as that; each round has half as many pixels.
        let side = picture.width().max(picture.height()) * 7 / 10;
        picture = picture.thumbnail(side.max(1), side.max(1));
    }
}

fn as_jpeg(picture: &DynamicImage, quality: u8) -> Result<Vec<u8>, BadPicture> {
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, quality)
        .encode(
            picture.as_bytes(),
            picture.width(),
            picture.height(),
            ExtendedColorType::Rgb8,
        )
        .map_err(|e| broken(&e))?;
    Ok(bytes)
}

fn broken(error: &ImageError) -> BadPicture {
    BadPicture::Broken(error.to_string().chars().take(200).collect())
}

fn decode(bytes: &[u8], side: u32) -> Result<DynamicImage, BadPicture> {
    let format = match media_of(bytes)? {
        MediaType::Jpeg => {
            whole_jpeg(bytes)?;
            ImageFormat::Jpeg
        }
        MediaType::Png => {
            whole_png(bytes)?;
            ImageFormat::Png
        }
    };
    // A decoder that does not hold what it promises takes nothing else with it.
    let decoded = catch_unwind(AssertUnwindSafe(|| decode_as(bytes, format, side)));
    decoded.unwrap_or_else(|_| Err(BadPicture::Broken("the decoder gave up".to_owned())))
}

fn decode_as(bytes: &[u8], format: ImageFormat, side: u32) -> Result<DynamicImage, BadPicture> {
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(ALLOC_MAX);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(|e| match e {
        ImageError::Limits(_) => claimed(bytes),
        e => broken(&e),
    })?;
    let (width, height) = decoder.dimensions();
    let is_within = width.max(height) <= SIDE_MAX
        && u64::from(width) * u64::from(height) <= PIXELS_MAX
        && decoder.total_bytes() <= ALLOC_MAX;
    if !is_within || width == 0 || height == 0 {
        return Err(BadPicture::TooLarge { width, height });
    }
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let mut picture = DynamicImage::from_decoder(decoder).map_err(|e| broken(&e))?;
    if width.max(height) > side {
        picture = picture.thumbnail(side, side);
    }
    picture.apply_orientation(orientation);
    Ok(picture)
}

/// What a PNG claims to be that the decoder will not even begin with.
fn claimed(bytes: &[u8]) -> BadPicture {
    let number = |at: usize| {
        let digits = bytes.get(at..at + 4).and_then(|b| b.try_into().ok());
        digits.map_or(0, u32::from_be_bytes)
    };
    BadPicture::TooLarge {
        width: number(16),
        height: number(20),
    }
}

/// Whether a PNG is there to its end, a chunk of its own.
fn whole_png(bytes: &[u8]) -> Result<(), BadPicture> {
    const LAST: &[u8] = b"\0\0\0\0IEND\xae\x42\x60\x82";
    if bytes.ends_with(LAST) {
        return Ok(());
    }
    Err(BadPicture::Broken("it ends too early".to_owned()))
}

/// Whether a JPEG is there to its end, and goes over its pixels no more often than it may. A
/// decoder shows what there is of one that a camera is still writing.
///
/// Markers as ITU-T T.81, annex B, has them.
fn whole_jpeg(bytes: &[u8]) -> Result<(), BadPicture> {
    const START_OF_SCAN: u8 = 0xDA;
    const END: u8 = 0xD9;
    let short = || BadPicture::Broken("it ends too early".to_owned());
    let (mut at, mut scans) = (2, 0);
    loop {
        // Fill bytes may stand before a marker.
        while bytes.get(at..at + 2).is_some_and(|b| b == [0xFF, 0xFF]) {
            at += 1;
        }
        let marker = match bytes.get(at..at + 2) {
            Some([0xFF, marker]) => *marker,
            Some(_) => return Err(BadPicture::Broken("no marker where one is due".to_owned())),
            None => return Err(short()),
        };
        at += 2;
        if marker == END {
            return Ok(());
        }
        if marker == 0x01 || (0xD0..=0xD7).contains(&marker) {
            continue;
        }
        let length = bytes.get(at..at + 2).ok_or_else(short)?;
        at += usize::from(u16::from_be_bytes([length[0], length[1]])).max(2);
        if marker == START_OF_SCAN {
            scans += 1;
            if scans > SCANS_MAX {
                let why = format!("it goes over its pixels more than {SCANS_MAX} times");
                return Err(BadPicture::Broken(why));
            }
            at += to_next_marker(bytes.get(at..).ok_or_else(short)?).ok_or_else(short)?;
        }
    }
}

/// How far it is to the next marker behind coded pixels: there FF 00 stands for FF, and
/// restarts are no end of it.
fn to_next_marker(coded: &[u8]) -> Option<usize> {
    let is_marker = |pair: &[u8]| pair[0] == 0xFF && !matches!(pair[1], 0x00 | 0xD0..=0xD7 | 0xFF);
    coded.windows(2).position(is_marker)
}
