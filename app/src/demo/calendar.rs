//! From the depot's own calendar to this week: the demo always looks as if the depot
//! were at work right now.

use jiff::ToSpan;
use jiff::civil::Date;

use crate::data::store::Stamp;

const DAY_MS: i64 = 24 * 60 * 60 * 1_000;

/// How long before now the depot's last tap was.
const LAST_TAP_AGE_MS: i64 = 3 * 60 * 1_000;

/// Moves the times of the depot's file to the days before now.
///
/// The depot's last day ends now: its times keep their distance from the last tap.
/// Earlier times keep their time of day and move to as many working days before today
/// as they lie before the last day, so nobody works at a weekend.
#[derive(Clone, Copy, Debug)]
pub struct Calendar {
    now: Stamp,
    /// Local time of the depot's last tap, milliseconds.
    last_local_ms: i64,
}

impl Calendar {
    /// A calendar in which the depot's last tap, by its own local time, was just now.
    pub fn ending(now: Stamp, last_local_ms: i64) -> Self {
        Self { now, last_local_ms }
    }

    /// The wall clock that stands for a local time of the depot.
    pub fn stamp(&self, local_ms: i64) -> Stamp {
        let offset_ms = i64::from(self.now.offset_min) * 60_000;
        let now_local_ms = self.now.at_ms + offset_ms;
        let days_back = working_days(day(local_ms), day(self.last_local_ms));
        let shifted = if days_back == 0 {
            now_local_ms - LAST_TAP_AGE_MS - (self.last_local_ms - local_ms)
        } else {
            let date = working_days_before(day(now_local_ms), days_back);
            date * DAY_MS + local_ms.rem_euclid(DAY_MS)
        };
        Stamp {
            at_ms: shifted - offset_ms,
            offset_min: self.now.offset_min,
        }
    }

    /// A date of the depot's file, moved by as many days as a local time moves. What is
    /// no date stays as it is.
    pub fn date(&self, on: &str, along_with_local_ms: i64) -> String {
        let stamp = self.stamp(along_with_local_ms);
        let moved_to = day(stamp.at_ms + i64::from(stamp.offset_min) * 60_000);
        let days = moved_to - day(along_with_local_ms);
        on.parse::<Date>()
            .and_then(|date| date.checked_add(days.days()))
            .map_or_else(|_| on.to_owned(), |date| date.to_string())
    }
}

/// Days since 1970-01-01 of a local time.
fn day(local_ms: i64) -> i64 {
    local_ms.div_euclid(DAY_MS)
}

/// Whether a day is Monday to Friday; 1970-01-01 was a Thursday.
fn is_working_day(day: i64) -> bool {
    (day + 3).rem_euclid(7) < 5
}

/// Working days from one day (included) to a later one (excluded).
fn working_days(from: i64, to: i64) -> i64 {
    (from..to).filter(|d| is_working_day(*d)).count() as i64
}

/// The day that lies so many working days before another.
fn working_days_before(day: i64, count: i64) -> i64 {
    let earlier = (1..).map(|back| day - back);
    earlier
        .filter(|d| is_working_day(*d))
        .nth((count - 1).max(0) as usize)
        .unwrap_or(day)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use trayzero_core::journal::{TimeError, format_rfc3339, parse_rfc3339};

    fn local_ms(text: &str) -> Result<i64, TimeError> {
        let (at_ms, offset_min) = parse_rfc3339(text)?;
        Ok(at_ms + i64::from(offset_min) * 60_000)
    }

    fn shifted(now: &str, last: &str, at: &str) -> String {
        let (at_ms, offset_min) = parse_rfc3339(now).unwrap();
        let now = Stamp { at_ms, offset_min };
        let stamp = Calendar::ending(now, local_ms(last).unwrap()).stamp(local_ms(at).unwrap());
        format_rfc3339(stamp.at_ms, stamp.offset_min).unwrap()
    }

    const LAST: &str = "2026-11-25T10:15:00+01:00";

    #[test]
    fn the_last_day_ends_three_minutes_ago() {
        // A Thursday afternoon in another time zone.
        let now = "2027-03-04T15:00:00-05:00";
        assert_eq!(shifted(now, LAST, LAST), "2027-03-04T14:57:00.000-05:00");
        assert_eq!(
            shifted(now, LAST, "2026-11-25T07:15:00+01:00"),
            "2027-03-04T11:57:00.000-05:00"
        );
    }

    #[test]
    fn earlier_days_are_working_days_at_their_own_time_of_day() {
        // 2026-11-25 is a Wednesday, 2027-03-01 a Monday: the day before it is a Friday.
        let now = "2027-03-01T09:00:00+00:00";
        assert_eq!(
            shifted(now, LAST, "2026-11-24T16:00:00+01:00"),
            "2027-02-26T16:00:00.000+00:00"
        );
        // Friday the 20th is three working days before the depot's Wednesday.
        assert_eq!(
            shifted(now, LAST, "2026-11-20T07:15:00+01:00"),
            "2027-02-24T07:15:00.000+00:00"
        );
        // A Sunday: the working day before it is the Friday.
        assert_eq!(
            shifted(
                "2027-02-28T09:00:00+00:00",
                LAST,
                "2026-11-24T08:00:00+01:00"
            ),
            "2027-02-26T08:00:00.000+00:00"
        );
    }

    #[test]
    fn dates_move_along_and_what_is_no_date_stays() {
        let (at_ms, offset_min) = parse_rfc3339("2026-12-02T10:18:00+01:00").unwrap();
        let calendar = Calendar::ending(Stamp { at_ms, offset_min }, local_ms(LAST).unwrap());
        // Seven days later: 2026-11-24 moves to 2026-12-01.
        let began = local_ms("2026-11-24T07:35:00+01:00").unwrap();
        assert_eq!(calendar.date("2026-10-05", began), "2026-10-12");
        assert_eq!(calendar.date("last summer", began), "last summer");
    }
}
