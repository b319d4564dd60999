//! Pictures as a camera would leave them, from `tests/fixtures/pictures`.

/// Red, green, blue and white, row by row: 320 x 240 pixels.
pub const QUADRANTS: &[u8] = include_bytes!("../fixtures/pictures/quadrants.jpg");
/// The same, coarse first and finer from scan to scan.
pub const PROGRESSIVE: &[u8] = include_bytes!("../fixtures/pictures/progressive.jpg");
/// The same with 4200 x 1000 pixels.
pub const WIDE: &[u8] = include_bytes!("../fixtures/pictures/wide.jpg");
/// The same in greys.
pub const GREY: &[u8] = include_bytes!("../fixtures/pictures/grey.jpg");
/// The same in printers' colours.
pub const CMYK: &[u8] = include_bytes!("../fixtures/pictures/cmyk.jpg");
/// The same as a PNG with a palette.
pub const QUADRANTS_PNG: &[u8] = include_bytes!("../fixtures/pictures/quadrants.png");
/// 24 x 16 pixels.
pub const TINY: &[u8] = include_bytes!("../fixtures/pictures/tiny.jpg");
/// The same as a PNG.
pub const TINY_PNG: &[u8] = include_bytes!("../fixtures/pictures/tiny.png");

/// The maker and the place that [`as_taken`] writes into a file.
pub const DEVICE: &[u8] = b"Invented Cameras 9000";
/// The north or south of a place as Exif writes it, before its degrees.
pub const PLACE: &[u8] = b"N\0\0\0";

/// A JPEG as a camera writes it that was held upright: maker, orientation and place in an
/// Exif segment, and a comment.
///
/// Exif 2.3 (JEITA CP-3451C), from memory: a TIFF in an APP1 segment, tags 0x010F (maker),
/// 0x0112 (orientation; 6: the first row is the right side), 0x8825 (place).
pub fn as_taken(jpeg: &[u8], orientation: u16) -> Vec<u8> {
    let mut tiff = b"II*\0\x08\0\0\0".to_vec();
    let after_tags = 8 + 2 + 3 * 12 + 4;
    let place_at = after_tags + DEVICE.len() + 1;
    let entry = |tag: u16, kind: u16, count: u32, value: u32| {
        let mut entry = tag.to_le_bytes().to_vec();
        entry.extend(kind.to_le_bytes());
        entry.extend(count.to_le_bytes());
        entry.extend(value.to_le_bytes());
        entry
    };
    tiff.extend(3_u16.to_le_bytes());
    tiff.extend(entry(0x010F, 2, DEVICE.len() as u32 + 1, after_tags as u32));
    tiff.extend(entry(0x0112, 3, 1, u32::from(orientation)));
    tiff.extend(entry(0x8825, 4, 1, place_at as u32));
    tiff.extend(0_u32.to_le_bytes());
    tiff.extend(DEVICE);
    tiff.push(0);
    tiff.extend(1_u16.to_le_bytes());
    tiff.extend(entry(0x0001, 2, 2, u32::from(b'N')));
    tiff.extend(0_u32.to_le_bytes());
    let mut taken = jpeg[..2].to_vec();
    taken.extend(segment(0xE1, &[b"Exif\0\0", &tiff[..]].concat()));
    taken.extend(segment(0xFE, b"taken at a secret place"));
    taken.extend(&jpeg[2..]);
    taken
}

/// A JPEG segment: its marker, its length, what is in it.
pub fn segment(marker: u8, content: &[u8]) -> Vec<u8> {
    let length = u16::try_from(content.len() + 2).unwrap_or(u16::MAX);
    let mut segment = vec![0xFF, marker];
    segment.extend(length.to_be_bytes());
    segment.extend(content);
    segment
}

/// The segments of a JPEG before its coded pixels, each its marker and content.
///
/// # Panics
/// If the file is none.
pub fn segments(jpeg: &[u8]) -> Vec<(u8, Vec<u8>)> {
    assert_eq!(jpeg[..2], [0xFF, 0xD8], "it begins like a JPEG");
    let mut at = 2;
    let mut found = Vec::new();
    loop {
        assert_eq!(jpeg[at], 0xFF, "a marker at {at}");
        let marker = jpeg[at + 1];
        let length = usize::from(u16::from_be_bytes([jpeg[at + 2], jpeg[at + 3]]));
        found.push((marker, jpeg[at + 4..at + 2 + length].to_vec()));
        at += 2 + length;
        if marker == 0xDA {
            assert_eq!(jpeg[jpeg.len() - 2..], [0xFF, 0xD9], "it ends like a JPEG");
            return found;
        }
    }
}

/// Width and height in pixels as a JPEG's frame header has them.
///
/// # Panics
/// If there is none.
pub fn size(jpeg: &[u8]) -> (u32, u32) {
    let all = segments(jpeg);
    let frame = all.iter().find(|(marker, _)| matches!(marker, 0xC0..=0xC2));
    let Some((_, frame)) = frame else {
        panic!("no frame header");
    };
    let number = |at: usize| u32::from(u16::from_be_bytes([frame[at], frame[at + 1]]));
    (number(3), number(1))
}
