//! The hybrid logical clock, and the identities made from it.
//!
//! After Kulkarni, Demirbas, Madappa, Avva and Leone, "Logical Physical Clocks",
//! OPODIS 2014: milliseconds that never fall behind anything seen, and a counter that
//! tells events within one millisecond apart. A wall clock set back leaves the
//! milliseconds where they were and lets the counter run until the wall clock has caught
//! up; so order never depends on the wall clock being right.
//!
//! A clock of another tablet that is more than a day ahead ([`CLOCK_AHEAD_MS_MAX`]) is not
//! followed. What this tablet writes next keeps its place all the same, for it says what it
//! was made after ([`crate::job::Entry::after`]). How far ahead a tablet is, and which one, is
//! for the screen to say; a clock that leaves no room for what an older program writes after
//! it ([`FOREIGN_CLOCK_MS_MAX`]) does not count at all.

use serde::{Deserialize, Serialize};
use uuid::{Builder, Uuid};

/// The highest clock that a line may carry: the last millisecond of the year 9999 (UTC).
pub const CLOCK_MS_MAX: u64 = 253_402_300_799_999;

/// The highest clock of another tablet's line that counts: the first millisecond of the
/// year 9000 (UTC). An older program follows it, and must find room after it.
pub const FOREIGN_CLOCK_MS_MAX: u64 = 221_845_392_000_000;

/// A tablet whose wall clock is further ahead than this, in milliseconds, is said to be
/// wrong, and is not followed: one day.
pub const CLOCK_AHEAD_MS_MAX: u64 = 86_400_000;

/// How many milliseconds ago a wall clock told something; `None` for what lies more than a
/// day ahead: a clock was wrong, nobody knows how long ago it was, and it must silence no
/// warning.
pub fn passed_ms(at_ms: i64, now_ms: i64) -> Option<i64> {
    let passed_ms = now_ms.saturating_sub(at_ms);
    (passed_ms >= -(CLOCK_AHEAD_MS_MAX as i64)).then_some(passed_ms)
}

/// The same in whole minutes; none for what lies a little ahead.
pub fn passed_min(at_ms: i64, now_ms: i64) -> Option<i64> {
    passed_ms(at_ms, now_ms).map(|passed_ms| passed_ms.max(0) / 60_000)
}

/// One reading of the hybrid logical clock.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
pub struct Hlc {
    /// Milliseconds since 1970 UTC, never behind a clock seen before.
    pub ms: u64,
    /// Counter within these milliseconds.
    pub counter: u32,
}

impl Hlc {
    /// The reading for the next event: after `self`, the last one seen or given.
    /// `now_ms` is the wall clock.
    /// # Examples
    /// A wall clock that is set back does not set the order back.
    /// ```
    /// use trayzero_core::journal::Hlc;
    ///
    /// let first = Hlc::default().tick(1_796_000_000_000);
    /// let second = first.tick(1_795_000_000_000);
    /// assert!(second > first);
    /// assert_eq!((second.ms, second.counter), (first.ms, 1));
    /// ```
    #[must_use]
    pub fn tick(self, now_ms: i64) -> Hlc {
        // Past it a line would not count for others, also once the clock has been mended.
        let now_ms = u64::try_from(now_ms).unwrap_or(0);
        let now_ms = now_ms.min(FOREIGN_CLOCK_MS_MAX);
        if now_ms > self.ms {
            return Hlc {
                ms: now_ms,
                counter: 0,
            };
        }
        match self.counter.checked_add(1) {
            Some(counter) => Hlc {
                ms: self.ms,
                counter,
            },
            None => Hlc {
                ms: self.ms.saturating_add(1),
                counter: 0,
            },
        }
    }

    /// Takes a clock of another tablet into account; the next [`Hlc::tick`] is after both.
    #[must_use]
    pub fn observe(self, remote: Hlc) -> Hlc {
        self.max(remote)
    }

    /// The same, unless that clock is too far ahead of this wall clock to be followed.
    #[must_use]
    pub fn follow(self, remote: Hlc, now_ms: i64) -> Hlc {
        if remote.is_far(now_ms) {
            self
        } else {
            self.observe(remote)
        }
    }

    /// Whether a clock of another tablet is too far ahead of this wall clock to be followed.
    pub fn is_far(self, now_ms: i64) -> bool {
        self.ahead_ms(now_ms) > CLOCK_AHEAD_MS_MAX
    }

    /// By how many milliseconds this reading is ahead of the wall clock; 0 if it is not.
    pub fn ahead_ms(self, now_ms: i64) -> u64 {
        self.ms.saturating_sub(u64::try_from(now_ms).unwrap_or(0))
    }

    /// The pair that an entry carries.
    pub fn pair(self) -> (u64, u32) {
        (self.ms, self.counter)
    }
}

impl From<(u64, u32)> for Hlc {
    fn from((ms, counter): (u64, u32)) -> Self {
        Hlc { ms, counter }
    }
}

/// A UUID of version 7 (RFC 9562) from a wall clock in milliseconds and ten random bytes,
/// which the caller draws.
pub fn event_id(at_ms: i64, random: &[u8; 10]) -> Uuid {
    let ms = u64::try_from(at_ms).unwrap_or(0);
    Builder::from_unix_timestamp_millis(ms, random).into_uuid()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const DAY_MS: i64 = 86_400_000;

    #[test]
    fn a_clock_set_back_a_day_keeps_the_order() {
        let noon = 1_796_000_000_000;
        let before = Hlc::default().tick(noon);
        let mut last = before;
        for step in 0..1_000 {
            let next = last.tick(noon - DAY_MS + step);
            assert!(next > last);
            last = next;
        }
        assert_eq!(last.ms, before.ms, "the counter carries it");
        assert_eq!(last.tick(noon + 1), Hlc::from((before.ms + 1, 0)));
    }

    #[test]
    fn what_is_written_after_a_foreign_line_sorts_after_it() {
        let far = Hlc::from((CLOCK_MS_MAX, 7));
        let own = Hlc::from((5, 0)).observe(far).tick(1_000);
        assert!(own > far);
        assert_eq!(own.ahead_ms(1_000), CLOCK_MS_MAX - 1_000);
        assert_eq!(Hlc::from((9, 0)).observe(Hlc::from((4, 9))).pair(), (9, 0));
    }

    #[test]
    fn a_clock_is_followed_up_to_a_day_ahead_and_no_further() {
        let (now, own) = (1_796_000_000_000, Hlc::from((5, 0)));
        let day_ahead = Hlc::from((CLOCK_AHEAD_MS_MAX + now as u64, 7));
        assert_eq!(own.follow(day_ahead, now), day_ahead);
        assert_eq!(own.follow(day_ahead, now - 1), own);
    }

    #[test]
    fn a_wall_clock_past_all_years_leaves_lines_that_count_for_others() {
        let wrong = Hlc::default().tick(i64::MAX);
        let mended = wrong.tick(1_796_000_000_000);
        assert!(mended > wrong && mended.ms <= FOREIGN_CLOCK_MS_MAX);
    }

    #[test]
    fn what_a_wrong_clock_told_is_that_long_ago_that_nobody_knows() {
        let now = 1_796_000_000_000;
        assert_eq!(passed_ms(now - 60_000, now), Some(60_000));
        assert_eq!(
            passed_ms(now + DAY_MS, now),
            Some(-DAY_MS),
            "a little wrong"
        );
        assert_eq!(passed_ms(now + DAY_MS + 1, now), None);
        assert_eq!(passed_ms(i64::MIN, i64::MAX), Some(i64::MAX));
    }

    #[test]
    fn a_full_counter_runs_over_into_the_milliseconds() {
        assert_eq!(Hlc::from((5, u32::MAX)).tick(3), Hlc::from((6, 0)));
        assert_eq!(Hlc::default().tick(-1), Hlc::from((0, 1)));
    }

    /// RFC 9562, appendix A.6: 017F22E2-79B0-7CC3-98C4-DC0C0C07398F stands for
    /// 2022-02-22 14:22:22 -05:00, with `rand_a` CC3 and `rand_b` 18C4DC0C0C07398F.
    #[test]
    fn an_identity_is_the_example_of_rfc_9562() {
        let printed: Uuid = "017F22E2-79B0-7CC3-98C4-DC0C0C07398F".parse().unwrap();
        let (at_ms, _) = super::super::parse_rfc3339("2022-02-22T14:22:22-05:00").unwrap();
        let random = [0x0C, 0xC3, 0x18, 0xC4, 0xDC, 0x0C, 0x0C, 0x07, 0x39, 0x8F];
        assert_eq!(event_id(at_ms, &random), printed);
        let (seconds, nanos) = printed.get_timestamp().unwrap().to_unix();
        assert_eq!(seconds * 1_000 + u64::from(nanos) / 1_000_000, at_ms as u64);
    }
}
