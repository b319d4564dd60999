//! When the shop works: opening hours, a break, days off. They turn minutes of work into an
//! end on the calendar.

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};
use serde::{Deserialize, Serialize};

/// The most days off that are kept.
pub const DAYS_OFF_MAX: usize = 200;
/// Minutes of a day.
pub const DAY_MIN: u16 = 1_440;
/// No job is looked for further ahead, in days.
const DAYS_AHEAD: usize = 730;
/// What the first weekday is called in dates: Monday.
const WEEK: usize = 7;

/// When the shop works. Times are minutes since midnight, of the tablet's time zone.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ShopHours {
    /// Work begins.
    pub from_min: u16,
    /// Work ends.
    pub to_min: u16,
    /// The break begins.
    pub break_from_min: u16,
    /// The break ends; the same as its begin where there is none.
    pub break_to_min: u16,
    /// Days worked, Monday first.
    pub weekdays: [bool; WEEK],
    /// Days off, year-month-day.
    pub days_off: Vec<String>,
}

impl Default for ShopHours {
    /// Common practice, no source; the shop sets its own.
    fn default() -> Self {
        Self {
            from_min: 8 * 60,
            to_min: 17 * 60,
            break_from_min: 12 * 60,
            break_to_min: 12 * 60 + 30,
            weekdays: [true, true, true, true, true, false, false],
            days_off: Vec::new(),
        }
    }
}

impl ShopHours {
    /// Whether they hold together.
    pub fn holds(&self) -> bool {
        let rest = self.break_from_min..=self.break_to_min;
        self.from_min < self.to_min
            && self.to_min <= DAY_MIN
            && !rest.is_empty()
            && self.from_min <= self.break_from_min
            && self.break_to_min <= self.to_min
            && self.break_to_min - self.break_from_min < self.to_min - self.from_min
            && self.weekdays.contains(&true)
            && self.days_off.len() <= DAYS_OFF_MAX
            && self.days_off.iter().all(|day| is_date(day))
    }

    /// Whether the shop works on a day.
    pub fn is_worked(&self, day: Date) -> bool {
        let weekday = day.weekday().to_monday_zero_offset();
        let is_off = || !self.days_off.is_empty() && self.days_off.contains(&day.to_string());
        self.weekdays[weekday as usize % WEEK] && !is_off()
    }

    /// The wall clock in milliseconds at which so many minutes of work are done, begun at
    /// `from_ms`. Where the shop never works, or not for two years, the minutes simply
    /// run on.
    pub fn after(&self, from_ms: i64, minutes: f64, zone: &TimeZone) -> i64 {
        let [after] = self.after_each(from_ms, [minutes], zone);
        after
    }

    /// The same for several times of work that begin together: the calendar is read once.
    pub fn after_each<const N: usize>(
        &self,
        from_ms: i64,
        minutes: [f64; N],
        zone: &TimeZone,
    ) -> [i64; N] {
        let work_ms = minutes.map(|minutes| (minutes.max(0.0) * 60_000.0) as i64);
        let from = Timestamp::from_millisecond(from_ms).ok();
        let from = from.filter(|_| self.holds());
        let day = from.map(|from| zone.to_datetime(from).date());
        let days = std::iter::successors(day, |day| day.checked_add(1.day()).ok());
        let worked = days.take(DAYS_AHEAD).filter(|day| self.is_worked(*day));
        let mut unread = worked.flat_map(|day| self.stretches(day, zone));
        let mut read: Vec<(i64, i64)> = Vec::new();
        work_ms.map(|work_ms| {
            let mut left_ms = work_ms;
            for at in 0.. {
                if at == read.len() {
                    read.extend(unread.next());
                }
                let Some((begin, end)) = read.get(at) else {
                    break;
                };
                let begin = from_ms.max(*begin);
                let room = end - begin;
                if room > 0 && left_ms <= room {
                    return begin + left_ms;
                }
                left_ms -= room.max(0);
            }
            from_ms.saturating_add(work_ms)
        })
    }

    /// Begin and end of work on a day, in milliseconds of the wall clock; `None` where the
    /// shop does not work.
    pub fn span(&self, day: Date, zone: &TimeZone) -> Option<(i64, i64)> {
        let [(from, _), (_, to)] = self.stretches(day, zone);
        (self.holds() && self.is_worked(day)).then_some((from, to))
    }

    /// Before and after the break, in milliseconds of the wall clock.
    fn stretches(&self, day: Date, zone: &TimeZone) -> [(i64, i64); 2] {
        let at = |minute: u16| {
            let time = day.at(0, 0, 0, 0).checked_add(i64::from(minute).minutes());
            let at = time.ok().and_then(|time| zone.to_timestamp(time).ok());
            at.map_or(0, Timestamp::as_millisecond)
        };
        [
            (at(self.from_min), at(self.break_from_min)),
            (at(self.break_to_min), at(self.to_min)),
        ]
    }
}

/// Whether a text is a date as it is written here.
pub fn is_date(text: &str) -> bool {
    text.parse::<Date>()
        .is_ok_and(|day| day.to_string() == text)
}

/// The end of a job on the shop's calendar, wall clock in milliseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct End {
    /// One job in ten is over sooner.
    pub low_ms: i64,
    /// As likely over sooner as later.
    pub likely_ms: i64,
    /// One job in ten is over later.
    pub high_ms: i64,
    /// The engine stands open over a night.
    pub stands_open_overnight: bool,
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn ms(text: &str) -> i64 {
        text.parse::<Timestamp>().unwrap().as_millisecond()
    }

    #[test]
    fn minutes_run_over_breaks_nights_weekends_and_days_off() {
        let mut hours = ShopHours::default();
        let utc = TimeZone::UTC;
        // Thursday 2026-11-26.
        let at = |from: &str, minutes: f64, hours: &ShopHours| {
            let end = hours.after(ms(from), minutes, &utc);
            Timestamp::from_millisecond(end).unwrap().to_string()
        };
        let ten = "2026-11-26T10:00:00Z";
        assert_eq!(at(ten, 60.0, &hours), "2026-11-26T11:00:00Z");
        assert_eq!(at(ten, 150.0, &hours), "2026-11-26T13:00:00Z");
        assert_eq!(at(ten, 6.5 * 60.0, &hours), "2026-11-26T17:00:00Z");
        assert_eq!(at(ten, 7.5 * 60.0, &hours), "2026-11-27T09:00:00Z");
        assert_eq!(at(ten, 15.5 * 60.0, &hours), "2026-11-30T08:30:00Z");
        hours.days_off.push("2026-11-27".to_owned());
        assert_eq!(at(ten, 7.5 * 60.0, &hours), "2026-11-30T09:00:00Z");
        // Begun in the evening it goes on in the morning.
        assert_eq!(
            at("2026-11-25T22:00:00Z", 30.0, &hours),
            "2026-11-26T08:30:00Z"
        );
    }

    #[test]
    fn the_night_in_which_clocks_change_is_no_longer_and_no_shorter_to_work() {
        let zone = TimeZone::get("Europe/Berlin").unwrap();
        let hours = ShopHours::default();
        // Friday 2026-03-27, 16:00 there; clocks go forward on the Sunday.
        let end = hours.after(ms("2026-03-27T15:00:00Z"), 120.0, &zone);
        // Monday 09:00 there, which is two hours ahead of UTC by then.
        assert_eq!(end, ms("2026-03-30T07:00:00Z"));
    }

    #[test]
    fn hours_that_do_not_hold_are_told() {
        let usual = ShopHours::default();
        assert!(usual.holds());
        let never = ShopHours {
            weekdays: [false; WEEK],
            ..usual.clone()
        };
        let turned = ShopHours {
            from_min: 1_000,
            to_min: 900,
            ..usual
        };
        assert!(!never.holds() && !turned.holds());
        assert_eq!(never.after(0, 1.0, &TimeZone::UTC), 60_000);
    }
}
