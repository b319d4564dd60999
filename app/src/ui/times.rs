//! Wall clock times as the screens show them.

use jiff::Timestamp;
use jiff::civil::{Date, Time};
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

/// The days from one wall clock to another, the latest first, no more than `most`.
pub fn days(from_ms: i64, until_ms: i64, offset_min: i16, most: usize) -> Vec<String> {
    const DAY_MS: i64 = 86_400_000;
    let first = date(from_ms.min(until_ms), offset_min);
    let back = (0..most as i64).map(|day| date(until_ms - day * DAY_MS, offset_min));
    back.take_while(|day| *day >= first).collect()
}

/// A wall clock in milliseconds by its day, year first, and the minute of that day.
pub fn at(day: &str, minute: i64, offset_min: i16) -> Option<i64> {
    let zone = Offset::from_seconds(i32::from(offset_min) * 60).ok()?;
    let midnight = day.parse::<Date>().ok()?.to_datetime(Time::midnight());
    let at_ms = zone.to_timestamp(midnight).ok()?.as_millisecond();
    Some(at_ms + minute * 60_000)
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
