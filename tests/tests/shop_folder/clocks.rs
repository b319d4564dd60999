//! A tablet whose clock stands in the year 2099: what it silences, whom the screen blames, and
//! how work goes on once the clock is mended.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use trayzero::data::store::Clock;
use trayzero::shop::{BoardFilter, Need, in_order};
use trayzero::ui::intent::{Intent, Screen};
use trayzero::ui::words::EN;
use trayzero_core::job::{Entry, Event, NextStep};
use trayzero_core::journal::{CLOCK_AHEAD_MS_MAX, FOREIGN_CLOCK_MS_MAX, Writer, journal_path};
use uuid::Uuid;

use super::faulty::wait_for;
use super::parts::{Dice, START, Tablet, meet_all, scratch};
use super::screens::{OpenScreen, empty_shop};

/// 2099-01-01 UTC.
const FAR_MS: i64 = 4_070_908_800_000;

/// So many notes of both tablets are known here.
fn wait_for_notes(screen: &mut OpenScreen, wanted: usize) {
    wait_for("the notes", || {
        screen.desk().take_news();
        let state = screen.desk().state().unwrap();
        let all = state.timeline();
        all.filter(|past| matches!(past.event, Event::Noted { .. }))
            .count()
            == wanted
    });
}

/// One bay with air on, and another tablet that knows it.
fn under_air() -> (tempfile::TempDir, OpenScreen, Tablet, u8) {
    let (scratch, shop) = empty_shop();
    let mut one = OpenScreen::of(&scratch.path().join("one"), &shop);
    let job: Uuid = one.new_job("Bay 1");
    one.work_until(|step| matches!(step, NextStep::AirOn { .. }));
    let cylinder = one.desk().state().unwrap().crank().unwrap().cylinder;
    one.do_at_the_bay(vec![Event::AirOn { cylinder, bar: 4.0 }]);
    wait_for("the folder", || {
        one.desk().take_news();
        one.is_mirrored(job)
    });
    let mut other = Tablet::new(&scratch.path().join("two"), &shop, "Ben");
    other.meet();
    other.open = Some(other.store.open_job(job).unwrap());
    (scratch, one, other, cylinder)
}

#[test]
fn a_note_of_2099_silences_no_air_and_is_not_this_tablets_fault() {
    let (_scratch, mut one, mut other, cylinder) = under_air();
    other.clock.set(FAR_MS);
    other.note("far");
    other.meet();
    wait_for_notes(&mut one, 1);
    // What is tapped here keeps its own time and comes after what was seen.
    one.do_at_the_bay(vec![Event::Noted {
        text: "here".to_owned(),
    }]);
    assert_eq!(one.desk().view().notice, None, "this clock is right");
    let state = one.desk().state().unwrap();
    let last: Vec<_> = state.timeline().collect();
    let (far, here) = (last[last.len() - 2].at_ms, last[last.len() - 1].at_ms);
    assert!(far >= FAR_MS && here < FAR_MS, "{far} {here}");
    // Nobody taps for a while: the bay and the board ask for a look.
    one.clock.advance(15 * 60_000);
    one.hand.window.run();
    one.wait_until_it_says(&EN.air_look(cylinder, Some(15)));
    one.hand.picture("clock-air-forgotten");
    one.desk().carry_out(Intent::Go(Screen::Board));
    one.wait_until_it_says(EN.clock_wrong);
    let name = other.store.tablet().name().to_owned();
    assert!(one.hand.says(&format!("{name} is ")), "whose it is");
    let view = one.desk().view();
    let placed = in_order(view.cards, BoardFilter::UnderWay, view.now_ms, 10);
    assert_eq!(placed[0].need, Need::AirForgotten);
    one.hand.picture("clock-board");
    // The other clock is mended: it goes on, and is blamed no more.
    let now_ms = one.desk().view().now_ms;
    other.clock.set(now_ms);
    other.note("mended");
    other.meet();
    one.wait_until_silent(EN.clock_wrong);
    let job = one.desk().view().jobs[0].job;
    one.desk().carry_out(Intent::OpenJob(job));
    wait_for_notes(&mut one, 3);
    let state = one.desk().state().unwrap();
    assert_eq!(state.conflicts(), []);
}

#[test]
fn air_that_a_wrong_clock_told_is_on_since_nobody_knows_when() {
    let (_scratch, mut one, mut other, cylinder) = under_air();
    let off = Event::AirOff { cylinder, bar: 4.0 };
    one.do_at_the_bay(vec![off]);
    one.clock.advance(70_000);
    wait_for("the air is off", || {
        one.desk().take_news();
        other.meet();
        other.open.as_mut().unwrap().take_foreign().unwrap();
        other.open.as_ref().unwrap().state().air_on().is_none()
    });
    let far = other.clock.advance(0);
    other.clock.set(FAR_MS.max(far.at_ms));
    let now = other.clock.advance(1_000);
    let on = Event::AirOn { cylinder, bar: 3.0 };
    let person = other.person.clone();
    other
        .open
        .as_mut()
        .unwrap()
        .propose(now, &person, &[on])
        .unwrap();
    other.meet();
    wait_for("the air is on", || {
        one.desk().take_news();
        one.desk().state().unwrap().air_on().is_some()
    });
    one.clock.advance(15 * 60_000);
    one.wait_until_it_says(&EN.air_look(cylinder, None));
    assert!(!one.hand.says(" · 0 min"), "no time that nobody knows");
    one.hand.picture("clock-air-since-unknown");
}

#[test]
fn a_tablet_whose_own_clock_was_wrong_goes_on_once_it_is_mended() {
    let (_scratch, mut one, mut other, _) = under_air();
    let now_ms = one.desk().view().now_ms;
    // Past all years: what it writes then still counts for others.
    one.clock.set(237_600_000_000_000);
    one.do_at_the_bay(vec![Event::Noted {
        text: "past all years".to_owned(),
    }]);
    one.clock.set(now_ms + 60_000);
    one.do_at_the_bay(vec![Event::Noted {
        text: "mended".to_owned(),
    }]);
    assert!(
        one.desk().view().notice.is_some(),
        "it says that the clock was set back"
    );
    one.clock.advance(70_000);
    wait_for("both lines", || {
        one.desk().take_news();
        other.meet();
        let open = other.open.as_mut().unwrap();
        open.take_foreign().unwrap();
        let noted = |text: &str| {
            let wanted = Event::Noted {
                text: text.to_owned(),
            };
            open.entries().iter().any(|entry| entry.event == wanted)
        };
        noted("past all years") && noted("mended")
    });
}

/// The notes of a tablet's open job in their order.
fn notes_of(tablet: &Tablet) -> Vec<(String, Entry)> {
    let entries = tablet.open.as_ref().unwrap().entries().into_iter();
    let notes = entries.filter_map(|entry| match &entry.event {
        Event::Noted { text } => Some((text.clone(), entry)),
        _ => None,
    });
    notes.collect()
}

/// Four tablets at one job, two of them with clocks of another century. Whatever a tablet had
/// seen when it wrote stands before what it wrote, on all of them; and the two whose clocks are
/// right keep their own time.
#[test]
fn what_was_seen_stands_before_what_was_written_after_it_whatever_clocks_say() {
    let ahead_ms = [0, FAR_MS - START.at_ms, 6_900_000_000_000 * 31, 3_600_000];
    for seed in 0..6 {
        let scratch = scratch();
        let shop = scratch.path().join("shop");
        fs::create_dir(&shop).unwrap();
        let mut tablets: Vec<Tablet> = (0..4)
            .map(|n| Tablet::new(&scratch.path().join(n.to_string()), &shop, "Ada"))
            .collect();
        let job = tablets[0].create("inline-4-8v", "Bay 1");
        tablets[0].note("the first");
        meet_all(&mut tablets);
        for (tablet, ahead_ms) in tablets.iter_mut().zip(ahead_ms) {
            tablet.open = None;
            tablet.open = Some(tablet.store.open_job(job).unwrap());
            tablet.clock.set(START.at_ms + 60_000 + ahead_ms);
        }
        let mut dice = Dice(seed);
        let mut had_seen: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        for step in 0..120 {
            let n = dice.below(4);
            let tablet = &mut tablets[n];
            match dice.below(8) {
                0..4 => {
                    let text = format!("{step}");
                    let seen = notes_of(tablet).into_iter().map(|(text, _)| text);
                    had_seen.insert(text.clone(), seen.collect());
                    tablet.note(&text);
                }
                4 => tablet.restart(),
                _ => drop(tablet.meet()),
            }
        }
        meet_all(&mut tablets);
        let all: Vec<Vec<(String, Entry)>> = tablets.iter().map(notes_of).collect();
        let order: Vec<&String> = all[0].iter().map(|(text, _)| text).collect();
        assert_eq!(order.len(), had_seen.len() + 1, "none is lost");
        for (at, text) in order.iter().enumerate() {
            let before: BTreeSet<&String> = order[..at].iter().copied().collect();
            let missing: Vec<&String> = had_seen
                .get(*text)
                .into_iter()
                .flatten()
                .filter(|seen| !before.contains(seen))
                .collect();
            assert!(missing.is_empty(), "seed {seed}: {text} before {missing:?}");
        }
        for (n, notes) in all.iter().enumerate() {
            assert_eq!(*notes, all[0], "seed {seed}: tablet {n} has another order");
        }
        let right = [0, 3].map(|n| tablets[n].id());
        let latest_ms = tablets[0]
            .clock
            .now()
            .at_ms
            .max(tablets[3].clock.now().at_ms) as u64;
        for (text, entry) in &all[0] {
            let is_near = entry.clock.0 <= latest_ms + CLOCK_AHEAD_MS_MAX;
            assert_eq!(
                is_near,
                right.contains(&entry.tablet) || text == "the first"
            );
        }
        for tablet in &tablets {
            let state = tablet.open.as_ref().unwrap().state();
            assert_eq!(state.conflicts(), []);
        }
    }
}

/// A member whose clock stands at the very last moment that counts, and counts no further:
/// what others write after it still counts for everybody.
#[test]
fn the_last_moment_that_counts_leaves_room_for_what_comes_after_it() {
    let (_scratch, mut one, mut other, _) = under_air();
    let (job, id) = (one.desk().view().job.unwrap().id, other.id());
    other.note("honest");
    let mut last = notes_of(&other).remove(0).1;
    other.open = None;
    let mut opened = Writer::open(&other.root, job, id).unwrap();
    last.id = Uuid::from_u128(9);
    last.clock = (FOREIGN_CLOCK_MS_MAX, u32::MAX);
    opened.writer.append(&[last]).unwrap();
    drop(opened);
    other.restart();
    other.open = Some(other.store.open_job(job).unwrap());
    other.meet();
    wait_for_notes(&mut one, 2);
    for step in 0..5 {
        one.do_at_the_bay(vec![Event::Noted {
            text: format!("after it {step}"),
        }]);
    }
    one.clock.advance(70_000);
    wait_for("what was written after it", || {
        one.desk().take_news();
        other.meet();
        notes_of(&other).len() == 7
    });
    let notes = notes_of(&other);
    let after = notes.iter().map(|(text, _)| text.starts_with("after it"));
    assert_eq!(
        after.collect::<Vec<_>>(),
        [false, false, true, true, true, true, true]
    );
    let text = fs::read_to_string(journal_path(&other.root, job, one.desk().view().tablet));
    assert_eq!(text.unwrap().matches("\"after\"").count(), 1, "said once");
}
