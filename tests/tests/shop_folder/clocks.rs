//! A tablet whose clock stands in the year 2099: what it silences, whom the screen blames, and
//! how work goes on once the clock is mended.

use trayzero::shop::{BoardFilter, Need, in_order};
use trayzero::ui::intent::{Intent, Screen};
use trayzero::ui::words::EN;
use trayzero_core::job::{Event, NextStep};
use uuid::Uuid;

use super::faulty::wait_for;
use super::parts::Tablet;
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
