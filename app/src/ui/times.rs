//! Wall clock times as the screens show them.

use jiff::Timestamp;
use jiff::tz::{Offset, TimeZone};

/// Hours and minutes of a wall clock, and the day where it is not told by the context.
pub fn clock(at_ms: i64, offset_min: i16) -> String {
    show(at_ms, offset_min, "%Y-%m-%d %H:%M")
}

/// Hours and minutes, and the day before them where it is not the day of `now_ms`.
pub fn since(at_ms: i64, now_ms: i64, offset_min: i16) -> String {
    if date(at_ms, offset_min) == date(now_ms, offset_min) {
        show(at_ms, offset_min, "%H:%M")
    } else {
        clock(at_ms, offset_min)
    }
}

/// A date for file names.
pub fn date(at_ms: i64, offset_min: i16) -> String {
    show(at_ms, offset_min, "%Y-%m-%d")
}

/// The time zone of the tablet, if its wall clock goes by it; otherwise the offset alone.
pub fn zone(at_ms: i64, offset_min: i16) -> TimeZone {
    let offset = Offset::from_seconds(i32::from(offset_min) * 60).unwrap_or(Offset::UTC);
    let system = TimeZone::system();
    match Timestamp::from_millisecond(at_ms) {
        Ok(at) if system.to_offset(at) == offset => system,
        _ => TimeZone::fixed(offset),
    }
}

fn show(at_ms: i64, offset_min: i16, format: &str) -> String {
    let zone = Offset::from_seconds(i32::from(offset_min) * 60).unwrap_or(Offset::UTC);
    match Timestamp::from_millisecond(at_ms) {
        Ok(at) => zone.to_datetime(at).strftime(format).to_string(),
        Err(_) => "?".to_owned(),
    }
}
