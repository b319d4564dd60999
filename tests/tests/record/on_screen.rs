//! Leak-down before and after side by side on the screen, as the record has it.

use std::sync::Arc;

use egui::vec2;
use trayzero::data::store::{Clock, SetClock, Stamp, Store};
use trayzero::desk::Desk;
use trayzero::ui::intent::{Intent, Screen};
use trayzero::ui::words::EN;
use trayzero_core::job::{Event, LOSS_LIMIT_PERCENT, NextStep, Reading};
use trayzero_core::journal::format_rfc3339;
use trayzero_tests::bay::Bay;
use trayzero_tests::engines::shipped_engine;

use crate::cli::{JOB, folder_with};
use crate::hand::Hand;
use crate::play::{eventful_job_closed, open};

fn window(play: &Bay) -> Hand {
    let (folder, _) = folder_with(play);
    let last = play.entries.last().unwrap();
    let clock = SetClock::at(Stamp {
        at_ms: last.at_ms + 60_000,
        offset_min: last.offset_min,
    });
    let clock: Arc<dyn Clock> = Arc::new(clock);
    let store = Store::open(folder.path(), clock.now()).unwrap();
    let desk = Desk::open(store, clock).unwrap();
    let mut hand = Hand::over(desk, folder, Screen::Bays, vec2(1280.0, 1500.0));
    let shell = hand.window.state_mut();
    shell.desk.carry_out(Intent::OpenJob(JOB));
    hand.window.run();
    hand
}

/// What the chart says of one cylinder.
fn told(play: &Bay, cylinder: u8) -> String {
    let loss = |when| play.job.leak(cylinder, when).map(|l| l.loss_percent());
    let figure = |when| loss(when).map_or_else(|| EN.unknown.to_owned(), |l| EN.percent(l));
    format!(
        "{}: {} {}, {} {}",
        EN.cylinder_n(cylinder),
        EN.before_work,
        figure(Reading::Before),
        EN.after_work,
        figure(Reading::After)
    )
}

#[test]
fn leak_down_before_and_after_stands_side_by_side_at_take_in_and_after_care() {
    let play = eventful_job_closed();
    let past = play.job.leak(3, Reading::Before).unwrap().loss_percent();
    assert!(past > LOSS_LIMIT_PERCENT);
    for (sheet, name) in [(EN.take_in, "take-in"), (EN.steps_word, "steps")] {
        let mut hand = window(&play);
        hand.tap(EN.more);
        hand.tap(sheet);
        for cylinder in 1..=6 {
            let words = told(&play, cylinder);
            assert!(hand.says(&words), "{sheet}: {words}");
        }
        let past = format!("{}: {}", EN.cylinder_n(3), EN.percent(past));
        assert!(hand.says(&past), "{past}");
        assert!(
            hand.says(&format!("{}: ", EN.foreman_agrees)),
            "who let it go on"
        );
        hand.picture(&format!("leak-chart-{name}"));
        if sheet == EN.steps_word {
            says_who_and_when(&hand, &play);
        }
    }
}

/// Each step of the short lists with who and when, from the events themselves.
fn says_who_and_when(hand: &Hand, play: &Bay) {
    let first = |wanted: &dyn Fn(&Event) -> bool| {
        let entry = play.entries.iter().find(|e| wanted(&e.event)).unwrap();
        let day = &format_rfc3339(entry.at_ms, entry.offset_min).unwrap()[..10];
        format!("{} · {day}", entry.who)
    };
    let covers = |e: &Event| matches!(e, Event::CoverOff { bank: 1 });
    let stoppers = |e: &Event| matches!(e, Event::PutAboard { bank: 0, .. });
    let closed = |e: &Event| matches!(e, Event::BankClosed { bank: 1, .. });
    for (step, by) in [
        (EN.bar_cover("B"), first(&covers)),
        (
            format!("{}: {}", EN.bank_n("A"), EN.items_many[10]),
            first(&stoppers),
        ),
        (
            format!("{}: {}", EN.bank_n("B"), EN.cover_on),
            first(&closed),
        ),
    ] {
        assert!(hand.says(&format!("{step} {by}")), "{step} {by}");
    }
    for step in [
        EN.bar_plugs("A"),
        format!("{}, {}", EN.leak_test, EN.after_work),
    ] {
        assert!(hand.says(&step), "{step}");
        let not_yet = format!("{step}: {}", EN.not_yet);
        assert!(!hand.says(&not_yet), "{not_yet}");
    }
}

#[test]
fn a_cylinder_past_the_limit_asks_the_foreman_before_the_work_goes_on() {
    let mut play = open(shipped_engine("inline-3-12v"), "pump 2");
    play.must(Event::LeakRead {
        cylinder: 2,
        when: Reading::Before,
        supply_bar: 6.0,
        cylinder_bar: 3.9,
        heard: Vec::new(),
    });
    play.work_until(|_, step| matches!(step, NextStep::AskForeman { .. }));
    assert_eq!(play.job.verified_count(), 0, "before the first valve");
    let mut hand = window(&play);
    let bar = hand
        .names()
        .into_iter()
        .find(|n| n.starts_with(EN.bar_foreman));
    assert!(bar.is_some(), "the one next step: {:?}", hand.names());
    hand.tap(EN.more);
    hand.tap(EN.take_in);
    let line = format!(
        "{}: {} {}",
        EN.cylinder_n(2),
        EN.percent(35.0),
        EN.bar_foreman
    );
    assert!(hand.says(&line), "{line}");
}
