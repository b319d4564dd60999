//! Any bytes as a picture.

use std::time::{Duration, Instant};

use trayzero::data::pictures::{COPY_SIDE, copy_of, media_of, shrunk};
use trayzero_core::job::COPY_BYTES_MAX;

use crate::photos::{segments, size};

/// The longest that a picture may take, in a build without optimisation.
const TIME_MAX: Duration = Duration::from_secs(20);

/// Reads bytes as a picture, and holds what must hold for whatever they are: it is small or
/// refused, within a bound of time; its copy is a JPEG with pixels alone.
///
/// # Panics
/// If something does not hold.
pub fn check(bytes: &[u8]) {
    let begun = Instant::now();
    let small = shrunk(bytes, 64);
    if let Ok(small) = &small {
        assert!(media_of(bytes).is_ok(), "a picture of no kind");
        assert!(small.width > 0 && small.width <= 64, "{}", small.width);
        assert!(small.height > 0 && small.height <= 64, "{}", small.height);
        let pixels = small.width as usize * small.height as usize;
        assert_eq!(small.rgb.len(), 3 * pixels);
    }
    match copy_of(bytes) {
        Ok(copy) => {
            assert!(small.is_ok(), "copied and not shown");
            assert!(copy.len() as u64 <= COPY_BYTES_MAX);
            let (width, height) = size(&copy);
            assert!(width.max(height) <= COPY_SIDE);
            for (marker, content) in segments(&copy) {
                let is_known = matches!(marker, 0xC0 | 0xC4 | 0xDA | 0xDB)
                    || (marker == 0xE0 && content.starts_with(b"JFIF\0"));
                assert!(is_known, "segment {marker:#x}");
            }
        }
        Err(why) => assert!(!why.to_string().is_empty()),
    }
    assert!(begun.elapsed() < TIME_MAX, "{:?}", begun.elapsed());
}
