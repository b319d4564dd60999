//! The day of all bays held against an oracle of its own: a clock that ticks minute by minute
//! through the shop's hours, and pairs of times held against each other one by one.

use trayzero::shop::{Day, Leaves, Tile};
use trayzero::ui::words::EN;
use trayzero_core::plan::WorkPhase;
use trayzero_tests::yard;

const MINUTE_MS: i64 = 60_000;
const DAY_MIN: i64 = 1_440;

/// Minutes since 1970 on the yard's wall.
fn wall_min(ms: i64) -> i64 {
    ms.div_euclid(MINUTE_MS) + i64::from(yard::OFFSET_MIN)
}

/// Whether the shop works in the minute that begins then: Monday to Friday from eight to
/// five, but for half an hour from noon. The first day of 1970 was a Thursday.
fn is_work(minute: i64) -> bool {
    let weekday = (minute.div_euclid(DAY_MIN) + 3).rem_euclid(7);
    let of_day = minute.rem_euclid(DAY_MIN);
    weekday < 5 && (480..1_020).contains(&of_day) && !(720..750).contains(&of_day)
}

/// When so many minutes of work are done, in minutes on the wall.
fn ticked(from_ms: i64, minutes: f64) -> f64 {
    let into_minute = from_ms.rem_euclid(MINUTE_MS) as f64 / MINUTE_MS as f64;
    let mut at = wall_min(from_ms);
    let mut left = minutes;
    let mut begun = into_minute;
    loop {
        if is_work(at) {
            if left <= 1.0 - begun {
                return at as f64 + begun + left;
            }
            left -= 1.0 - begun;
        }
        begun = 0.0;
        at += 1;
    }
}

/// The same, but never before the moment of looking.
fn ends(tile: &Tile, minutes: f64) -> f64 {
    let work = tile.card.work.as_ref().unwrap();
    let from_ms = match work.rests {
        Some(_) => yard::NOW_MS,
        None => work.until_ms,
    };
    let now = yard::NOW_MS as f64 / MINUTE_MS as f64 + f64::from(yard::OFFSET_MIN);
    ticked(from_ms, minutes).max(now)
}

/// Likely minutes until the last counts begin and end: all that is done before them, and
/// with them, as much shorter than in the mean as the whole is.
fn gate(tile: &Tile) -> Option<(f64, f64)> {
    let to_go = tile.card.to_go.as_ref().unwrap();
    let mean = |phase: WorkPhase| to_go.phase_min[phase as usize];
    let whole: f64 = WorkPhase::ALL.map(mean).iter().sum();
    let later = [WorkPhase::SecondLeakDown, WorkPhase::ClosingUp];
    let is_before = |phase: &WorkPhase| *phase != WorkPhase::ClearAndGate && !later.contains(phase);
    let before = WorkPhase::ALL.into_iter().filter(is_before);
    let before: f64 = before.map(mean).sum();
    let counts = mean(WorkPhase::ClearAndGate);
    let likely = to_go.about_min / whole;
    (counts > 0.0).then_some((before * likely, (before + counts) * likely))
}

/// Hours and minutes to ten minutes, with the weekday where it is not the yard's Thursday.
fn said(minute: f64) -> String {
    let tens = ((minute / 10.0 + 0.5).floor() * 10.0) as i64;
    let (day, of_day) = (tens.div_euclid(DAY_MIN), tens.rem_euclid(DAY_MIN));
    let time = format!("{:02}:{:02}", of_day / 60, of_day % 60);
    let today = wall_min(yard::NOW_MS).div_euclid(DAY_MIN);
    let weekdays = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
    match day - today {
        0 => time,
        ..6 => format!("{} {time}", weekdays[(day + 3).rem_euclid(7) as usize]),
        _ => panic!("no job of the yard lasts so long"),
    }
}

fn near(told_ms: i64, minute: f64) -> bool {
    let told = told_ms as f64 / MINUTE_MS as f64 + f64::from(yard::OFFSET_MIN);
    (told - minute).abs() < 0.01
}

#[test]
fn ends_gates_and_who_leaves_are_what_a_ticking_clock_says() {
    let tiles = yard::tiles(&yard::cards(&yard::bays(40), &yard::pace()));
    let looking = yard::looking();
    let day = Day::of(&tiles, &looking);
    let face = EN.day(&day, &looking);
    assert_eq!(day.bays.len(), tiles.len());
    let today = wall_min(yard::NOW_MS).div_euclid(DAY_MIN);
    let is_today = |minute: f64| (minute / DAY_MIN as f64).floor() as i64 == today;
    let (mut leave, mut gates) = ([0; 3], 0);
    for (bay, line) in day.bays.iter().zip(&face.lines) {
        let tile = tiles.iter().find(|t| t.card.job == bay.job).unwrap();
        let to_go = tile.card.to_go.as_ref().unwrap();
        let [low, likely, high] =
            [to_go.low_min, to_go.about_min, to_go.high_min].map(|minutes| ends(tile, minutes));
        let end = &bay.end;
        let name = &bay.bay;
        assert!(near(end.low_ms, low), "{name}: {} {low}", end.low_ms);
        assert!(
            near(end.likely_ms, likely),
            "{name}: {} {likely}",
            end.likely_ms
        );
        assert!(near(end.high_ms, high), "{name}: {} {high}", end.high_ms);
        let says = format!("{} · {} to {}", said(likely), said(low), said(high));
        assert_eq!(line.end, says, "{name}");
        let leaves = match (is_today(likely), is_today(high)) {
            (true, true) => Leaves::Today,
            (true, false) => Leaves::Perhaps,
            (false, _) => Leaves::NotToday,
        };
        assert_eq!(bay.leaves, leaves, "{name}");
        leave[leaves as usize] += 1;
        let told = bay.gate;
        let own = gate(tile).map(|(from, to)| (ends(tile, from), ends(tile, to)));
        assert_eq!(told.is_some(), own.is_some(), "{name}");
        if let (Some((from_ms, to_ms)), Some((from, to))) = (told, own) {
            assert!(
                near(from_ms, from) && near(to_ms, to),
                "{name}: {told:?} {own:?}"
            );
            gates += 1;
        }
    }
    println!("day: {leave:?} leave today, perhaps, not; {gates} gates");
    assert!(leave[0] + leave[1] > 0 && leave[2] > 0 && gates > 10);
    assert_meetings(&day);
}

/// Every pair of gates that overlap is told once, with the one that begins first.
fn assert_meetings(day: &Day) {
    let mut own = Vec::new();
    for one in &day.bays {
        for other in &day.bays {
            let (Some(first), Some(second)) = (one.gate, other.gate) else {
                continue;
            };
            let begins_first = (first, one.job) < (second, other.job);
            if begins_first && second.0 < first.1 {
                own.push((one.job, other.job));
            }
        }
    }
    let told = day.gates_that_meet();
    let told = told
        .iter()
        .flat_map(|(one, others)| others.iter().map(|o| (one.job, o.job)));
    let mut told: Vec<_> = told.collect();
    own.sort_unstable();
    told.sort_unstable();
    assert!(!own.is_empty(), "some gates meet");
    assert_eq!(told, own);
}
