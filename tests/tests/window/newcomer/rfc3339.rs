//! Times of RFC 3339, read by hand.

pub type Ms = i64;

/// Days since 1970 of a date: years begin in March, so that a leap day comes last
/// (common knowledge of calendars).
fn days(year: i64, month: i64, day: i64) -> i64 {
    let (y, m) = if month > 2 {
        (year, month - 3)
    } else {
        (year - 1, month + 9)
    };
    let of_year = (153 * m + 2) / 5 + day - 1;
    365 * y + y.div_euclid(4) - y.div_euclid(100) + y.div_euclid(400) + of_year - 719_468
}

pub fn of(text: &str) -> Ms {
    let digits = |from: usize, to: usize| text[from..to].parse::<i64>().unwrap();
    let day = days(digits(0, 4), digits(5, 7), digits(8, 10));
    let seconds = (day * 24 + digits(11, 13)) * 3_600 + digits(14, 16) * 60 + digits(17, 19);
    let rest = &text[19..];
    let zone = rest.find(['+', '-', 'Z']).unwrap();
    let fraction: f64 = format!("0{}", &rest[..zone]).parse().unwrap_or(0.0);
    let minutes = zone_min(text);
    (seconds - minutes * 60) * 1_000 + (fraction * 1_000.0) as i64
}

/// How far its zone is ahead of the world's clock, in minutes.
pub fn zone_min(text: &str) -> i64 {
    let rest = &text[19..];
    let offset = &rest[rest.find(['+', '-', 'Z']).unwrap()..];
    if offset.len() < 6 {
        return 0;
    }
    let digits = |from: usize, to: usize| offset[from..to].parse::<i64>().unwrap();
    let whole = digits(1, 3) * 60 + digits(4, 6);
    if offset.starts_with('-') {
        -whole
    } else {
        whole
    }
}
