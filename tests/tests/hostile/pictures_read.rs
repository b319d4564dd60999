//! What is read as a picture and what is not: formats, claims, cuts, changed bytes.

use trayzero::data::pictures::{
    BadPicture, PIXELS_MAX, Pixels, SCANS_MAX, SIDE_MAX, copy_of, shrunk,
};
use trayzero_tests::figures::say;
use trayzero_tests::fuzz::{PICTURE, seeds::seeds};
use trayzero_tests::photos;

pub fn colour(picture: &Pixels, x: u32, y: u32) -> [u8; 3] {
    let at = 3 * (y * picture.width + x) as usize;
    picture.rgb[at..at + 3].try_into().unwrap()
}

pub fn is_like(found: [u8; 3], wanted: [u8; 3]) -> bool {
    found.iter().zip(wanted).all(|(a, b)| a.abs_diff(b) < 16)
}

#[test]
fn what_cameras_and_programs_write_is_read_alike() {
    let plain = shrunk(photos::QUADRANTS, 320).unwrap();
    assert_eq!((plain.width, plain.height), (320, 240));
    for (name, bytes) in [
        ("progressive", photos::PROGRESSIVE),
        ("palette", photos::QUADRANTS_PNG),
    ] {
        let read = shrunk(bytes, 320).unwrap();
        assert_eq!((read.width, read.height), (320, 240), "{name}");
        for (x, y) in [(20, 20), (300, 20), (20, 220), (300, 220)] {
            let (found, wanted) = (colour(&read, x, y), colour(&plain, x, y));
            assert!(is_like(found, wanted), "{name}: {found:?} {wanted:?}");
        }
    }
    for bytes in [photos::GREY, photos::CMYK] {
        assert!(copy_of(bytes).is_ok());
    }
}

/// A JPEG whose frame header claims another size.
fn claiming(width: u16, height: u16) -> Vec<u8> {
    let mut bytes = photos::QUADRANTS.to_vec();
    let at = bytes
        .windows(2)
        .position(|pair| pair == [0xFF, 0xC0])
        .unwrap()
        + 5;
    bytes[at..at + 2].copy_from_slice(&height.to_be_bytes());
    bytes[at + 2..at + 4].copy_from_slice(&width.to_be_bytes());
    bytes
}

/// A PNG whose header claims another size, with its check value put right.
fn png_claiming(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = photos::TINY_PNG.to_vec();
    bytes[16..20].copy_from_slice(&width.to_be_bytes());
    bytes[20..24].copy_from_slice(&height.to_be_bytes());
    // CRC-32 as the PNG specification's annex has it, bit by bit.
    let mut crc = u32::MAX;
    for byte in &bytes[12..29] {
        crc ^= u32::from(*byte);
        for _ in 0..8 {
            crc = if crc & 1 == 1 {
                0xEDB8_8320 ^ (crc >> 1)
            } else {
                crc >> 1
            };
        }
    }
    bytes[29..33].copy_from_slice(&(!crc).to_be_bytes());
    bytes
}

/// A JPEG that goes over its pixels again and again.
fn scanned(times: usize) -> Vec<u8> {
    let bytes = photos::PROGRESSIVE;
    let start = bytes
        .windows(2)
        .rposition(|pair| pair == [0xFF, 0xDA])
        .unwrap();
    let (head, scan) = bytes[..bytes.len() - 2].split_at(start);
    [head, &scan.repeat(times), &[0xFF, 0xD9]].concat()
}

/// What a file holds, and what is said of it.
pub type Row = (&'static str, Vec<u8>, fn(&BadPicture) -> bool);

pub fn rows() -> Vec<Row> {
    let unknown: fn(&BadPicture) -> bool = |why| *why == BadPicture::Unknown;
    let broken: fn(&BadPicture) -> bool = |why| matches!(why, BadPicture::Broken(_));
    let large: fn(&BadPicture) -> bool = |why| matches!(why, BadPicture::TooLarge { .. });
    let half = photos::QUADRANTS.len() / 2;
    vec![
        ("nothing", Vec::new(), unknown),
        ("words", b"no picture at all".to_vec(), unknown),
        ("a program", b"\x7FELF\x02\x01\x01".to_vec(), unknown),
        ("a GIF", b"GIF89a\x01\0\x01\0".to_vec(), unknown),
        ("a HEIF", b"\0\0\0\x18ftypheic\0\0\0\0".to_vec(), |why| {
            *why == BadPicture::Heif
        }),
        (
            "a JPEG half written",
            photos::QUADRANTS[..half].to_vec(),
            broken,
        ),
        (
            "a PNG half written",
            photos::TINY_PNG[..photos::TINY_PNG.len() / 2].to_vec(),
            broken,
        ),
        ("a JPEG's first bytes", vec![0xFF, 0xD8, 0xFF], broken),
        (
            "a JPEG as large as they go",
            claiming(65_535, 65_535),
            large,
        ),
        ("a JPEG as wide as they go", claiming(65_535, 1), large),
        (
            "a PNG of two million pixels a side",
            png_claiming(2_000_000, 2_000_000),
            large,
        ),
        (
            "a PNG that is all of one row",
            png_claiming(u32::MAX >> 1, 1),
            large,
        ),
        (
            "a JPEG without end of scans",
            scanned(SCANS_MAX + 1),
            broken,
        ),
        ("a JPEG without a row", claiming(320, 0), |_| true),
    ]
}

/// At the edges of what is read.
#[test]
fn sizes_up_to_the_bounds_are_read_and_no_further() {
    let side = SIDE_MAX as u16;
    let is_large = |bytes: &[u8]| matches!(shrunk(bytes, 64), Err(BadPicture::TooLarge { .. }));
    assert!(is_large(&claiming(side + 1, 1)) && !is_large(&claiming(side, 1)));
    let rows = (PIXELS_MAX / u64::from(SIDE_MAX)) as u16;
    assert!(is_large(&claiming(side, rows + 1)) && !is_large(&claiming(side, rows)));
    let kept = scanned(SCANS_MAX - 12);
    assert!(!matches!(shrunk(&kept, 64), Err(BadPicture::Broken(why)) if why.contains("times")));
}

/// A file that a camera is still writing: cut at every byte it is refused, for a part of it
/// must not pass for all.
#[test]
fn a_picture_cut_at_any_byte_is_refused() {
    let taken = photos::as_taken(photos::TINY, 1);
    let mut cut = 0;
    for bytes in [&taken[..], photos::TINY_PNG] {
        for end in 0..bytes.len() - 1 {
            assert!(shrunk(&bytes[..end], 64).is_err(), "cut at {end}");
            cut += 1;
        }
        assert!(shrunk(bytes, 64).is_ok());
    }
    say("pictures refused", cut);
}

/// The short form of the fuzzer: every seed, and each with its bytes changed one by one.
#[test]
fn a_picture_changed_at_any_byte_is_read_or_refused_within_its_time() {
    let (target, check) = PICTURE;
    let mut inputs = 0;
    for (name, bytes) in seeds(target) {
        println!("{target}: {name}");
        check(&bytes);
        inputs += 1;
        let step = if bytes.len() < 1_200 { 2 } else { 17 };
        for at in (0..bytes.len()).step_by(step) {
            for value in [0xFF, bytes[at] ^ 0x01, bytes[at] ^ 0x80] {
                let mut changed = bytes.clone();
                changed[at] = value;
                // What claims to be large is looked at no further than its claim.
                if shrunk(&changed, 16).is_err() {
                    inputs += 1;
                    continue;
                }
                check(&changed);
                inputs += 1;
            }
        }
    }
    say("fuzz inputs replayed", inputs);
}
