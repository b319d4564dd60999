//! Wall clock times as the screens show them.

use jiff::Timestamp;
use jiff::tz::Offset;

/// Hours and minutes of a wall clock, and the day where it is not told by the context.
pub fn clock(at_ms: i64, offset_min: i16) -> String {
    show(at_ms, offset_min, "%Y-%m-%d %H:%M")
}

/// A date for file names.
pub fn date(at_ms: i64, offset_min: i16) -> String {
    show(at_ms, offset_min, "%Y-%m-%d")
}

fn show(at_ms: i64, offset_min: i16, format: &str) -> String {
    let zone = Offset::from_seconds(i32::from(offset_min) * 60).unwrap_or(Offset::UTC);
    match Timestamp::from_millisecond(at_ms) {
        Ok(at) => zone.to_datetime(at).strftime(format).to_string(),
        Err(_) => "?".to_owned(),
    }
}
