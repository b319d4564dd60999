//! Values with which every sentence is put together once, for the tests and the glyph check:
//! none, one and several, and whatever may not be known.

/// A value of a kind, by a number from 0 to 2.
pub(super) trait Sample {
    fn sample(at: usize) -> Self;
}

macro_rules! sample {
    ($($kind:ty: $values:expr),* $(,)?) => {
        $(impl Sample for $kind {
            fn sample(at: usize) -> Self {
                $values[at % SAMPLES]
            }
        })*
    };
}

/// So many values of each kind.
pub(super) const SAMPLES: usize = 3;

sample! {
    u8: [0, 1, 12],
    u16: [0, 1, 404],
    u32: [0, 1, 12],
    u64: [0, 1, 12],
    usize: [0, 1, 12],
    i64: [0, 1, 3_000],
    f64: [0.0, -12.34, 540.5],
    &str: ["x", "Wren 7", "\u{201E}y\u{201C}"],
    Option<u32>: [None, Some(1), Some(90)],
    Option<i64>: [None, Some(1), Some(90)],
    Option<&str>: [None, Some("168 mm"), Some("6.6 in")],
}
