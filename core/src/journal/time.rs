//! The wall clock in lines: RFC 3339, always with its offset.

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::fmt::temporal::DateTimeParser;
use jiff::tz::Offset;
use thiserror::Error;

/// A wall clock that is not RFC 3339, or cannot be written so.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("\"{text}\" is no time with an offset as RFC 3339 writes it")]
pub struct TimeError {
    /// The time as given, shortened.
    pub text: String,
}

impl TimeError {
    fn of(text: &str) -> Self {
        Self {
            text: text.chars().take(40).collect(),
        }
    }

    #[cold]
    fn unwritable(at_ms: i64, offset_min: i16) -> Self {
        Self::of(&format!("{at_ms} ms at {offset_min} min"))
    }
}

/// Writes milliseconds since 1970 UTC at an offset in minutes, such as
/// `2026-11-25T08:03:07.120+01:00`.
///
/// # Errors
/// [`TimeError`] for years other than 0 to 9999 and offsets of a day and more.
/// # Examples
/// The second example of RFC 3339, section 5.8, as the same instant in UTC.
/// ```
/// use trayzero_core::journal::{format_rfc3339, parse_rfc3339};
///
/// let (at_ms, offset_min) = parse_rfc3339("1996-12-19T16:39:57-08:00").unwrap();
/// assert_eq!(offset_min, -8 * 60);
/// assert!(format_rfc3339(at_ms, 0).unwrap().starts_with("1996-12-20T00:39:57"));
/// ```
pub fn format_rfc3339(at_ms: i64, offset_min: i16) -> Result<String, TimeError> {
    let text = write_own(at_ms, offset_min)?;
    Ok(text.into_iter().map(char::from).collect())
}

/// The form that times are written in, and read again by [`parse_own`].
const FORM: [u8; 29] = *b"0000-00-00T00:00:00.000+00:00";

/// The same as [`format_rfc3339`], in ASCII. Every tap waits for this.
pub(super) fn write_own(at_ms: i64, offset_min: i16) -> Result<[u8; FORM.len()], TimeError> {
    let fault = || TimeError::unwritable(at_ms, offset_min);
    let offset = Offset::from_seconds(i32::from(offset_min) * 60).map_err(|_| fault())?;
    let at = Timestamp::from_millisecond(at_ms).map_err(|_| fault())?;
    let at = offset.to_datetime(at);
    let minutes = u32::from(offset_min.unsigned_abs());
    let Ok(year) = u32::try_from(at.year()) else {
        return Err(fault());
    };
    if minutes >= 24 * 60 {
        return Err(fault());
    }
    let mut text = FORM;
    let two = |high: u32, low: i8| high * 100 + u32::from(low.unsigned_abs());
    let ms = at.subsec_nanosecond().unsigned_abs() / 1_000_000;
    let time = two(two(two(0, at.hour()), at.minute()), at.second()) * 1_000 + ms;
    put(&mut text[..10], two(two(year, at.month()), at.day()));
    put(&mut text[11..23], time);
    put(&mut text[24..], minutes / 60 * 100 + minutes % 60);
    if offset_min < 0 {
        text[23] = b'-';
    }
    Ok(text)
}

/// Puts a number's digits where the form has noughts.
#[inline(never)]
fn put(form: &mut [u8], mut number: u32) {
    for place in form.iter_mut().rev().filter(|c| **c == b'0') {
        *place += (number % 10) as u8;
        number /= 10;
    }
}

/// Reads RFC 3339: milliseconds since 1970 UTC (finer digits are cut off) and the offset
/// in minutes.
///
/// # Errors
/// [`TimeError`] for anything else, and for a time without an offset.
pub fn parse_rfc3339(text: &str) -> Result<(i64, i16), TimeError> {
    if let Some(read) = parse_own(text.as_bytes()) {
        return Ok(read);
    }
    parse_any(text).ok_or_else(|| TimeError::of(text))
}

/// The form that [`format_rfc3339`] writes, read digit by digit: a long journal has a
/// million of them. Anything unusual is left to [`parse_any`].
pub(super) fn parse_own(text: &[u8]) -> Option<(i64, i16)> {
    let text: &[u8; FORM.len()] = text.try_into().ok()?;
    let marks = [text[4], text[7], text[10], text[13], text[16], text[19]];
    if marks != *b"--T::." || text[26] != b':' {
        return None;
    }
    let number = |from: usize, digits: usize| {
        text[from..from + digits].iter().try_fold(0_i16, |sum, c| {
            let digit = c.wrapping_sub(b'0');
            (digit <= 9).then(|| sum * 10 + i16::from(digit))
        })
    };
    let small = |from: usize| number(from, 2).map(|n| n as i8);
    let civil = DateTime::new(
        number(0, 4)?,
        small(5)?,
        small(8)?,
        small(11)?,
        small(14)?,
        small(17)?,
        i32::from(number(20, 3)?) * 1_000_000,
    );
    let (hours, minutes) = (number(24, 2)?, number(27, 2)?);
    if hours > 23 || minutes > 59 {
        return None;
    }
    let offset_min = match text[23] {
        b'+' => hours * 60 + minutes,
        b'-' => -(hours * 60 + minutes),
        _ => return None,
    };
    let utc = Offset::UTC.to_timestamp(civil.ok()?).ok()?;
    Some((
        utc.as_millisecond() - i64::from(offset_min) * 60_000,
        offset_min,
    ))
}

fn parse_any(text: &str) -> Option<(i64, i16)> {
    static PARSER: DateTimeParser = DateTimeParser::new();
    let bytes = text.as_bytes();
    // The parser takes more forms than RFC 3339 has (a blank, a zone in brackets, hours
    // alone); its length and its ends tell them apart.
    let zulu = matches!(bytes.last(), Some(b'Z' | b'z'));
    let with_offset = bytes.len() >= 25 && bytes[bytes.len() - 3] == b':';
    let plain = bytes.len() >= 20 && matches!(bytes[10], b'T' | b't' | b' ');
    if !plain || !(zulu || with_offset) || text.starts_with(['+', '-']) {
        return None;
    }
    let pieces = PARSER.parse_pieces(text).ok()?;
    let offset = pieces.to_numeric_offset()?;
    let civil = pieces.date().to_datetime(pieces.time()?);
    let at = offset.to_timestamp(civil).ok()?;
    let minutes = i16::try_from(offset.seconds() / 60).ok()?;
    (minutes.abs() < 24 * 60).then_some((at.as_millisecond(), minutes))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// RFC 3339, section 5.8: the examples and what the text says of them.
    #[test]
    fn the_examples_of_rfc_3339_are_read() {
        let ms = |text: &str| parse_rfc3339(text).unwrap();
        // 20 minutes and 50.52 seconds after the 23rd hour of April 12th, 1985 in UTC.
        assert_eq!(ms("1985-04-12T23:20:50.52Z"), (482_196_050_520, 0));
        // 39 minutes and 57 seconds after the 16th hour of December 19th, 1996 with an
        // offset of -08:00; "equivalent to 1996-12-20T00:39:57Z in UTC".
        let (west, offset) = ms("1996-12-19T16:39:57-08:00");
        assert_eq!((west, offset), (ms("1996-12-20T00:39:57Z").0, -480));
        // Noon, January 1st, 1937, Netherlands time, 20 minutes ahead of UTC.
        assert_eq!(ms("1937-01-01T12:00:27.87+00:20").1, 20);
        // The leap second at the end of 1990, which counts as the second before.
        assert!(parse_rfc3339("1990-12-31T23:59:60Z").is_ok());
    }

    #[test]
    fn both_ways_of_reading_agree_with_what_is_written() {
        for at_ms in [
            0,
            1,
            1_796_022_187_120,
            -62_135_596_800_000,
            951_782_400_001,
        ] {
            for offset_min in [0, 60, -300, 765, 1_439, -1_439] {
                let text = format_rfc3339(at_ms, offset_min).unwrap();
                assert_eq!(
                    parse_own(text.as_bytes()),
                    Some((at_ms, offset_min)),
                    "{text}"
                );
                assert_eq!(parse_any(&text), Some((at_ms, offset_min)), "{text}");
            }
        }
    }

    #[test]
    fn what_is_not_rfc_3339_is_refused() {
        for text in [
            "",
            "2026-11-25",
            "2026-11-25T08:03:07",
            "2026-11-25T08:03:07.120",
            "2026-02-29T08:03:07.120+01:00",
            "2026-11-25T24:03:07.120+01:00",
            "2026-11-25T08:03:07.120+25:00",
            "2026-11-25T08:03:07.120*01:00",
            "2026-11-25T08:03:07+01:00[Europe/Paris]",
            "2026-11-25T08:03:07+01",
            "+002026-11-25T08:03:07+01:00",
        ] {
            assert!(parse_rfc3339(text).is_err(), "{text}");
        }
        assert!(format_rfc3339(i64::MAX, 0).is_err());
        assert!(format_rfc3339(0, 1_440).is_err());
    }
}
