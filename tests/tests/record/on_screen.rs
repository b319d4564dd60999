//! Leak-down before and after side by side on the screen, as the record has it.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use egui::vec2;
use egui_kittest::kittest::{NodeT, Queryable};
use trayzero::data::store::{Clock, SetClock, Stamp, Store};
use trayzero::desk::Desk;
use trayzero::record::pdf::Paper;
use trayzero::ui::intent::{Intent, Screen};
use trayzero::ui::screens::sheets::Sheet;
use trayzero::ui::words::{EN, Language};
use trayzero_core::job::{Event, LOSS_LIMIT_PERCENT, NextStep, Reading};
use trayzero_core::journal::format_rfc3339;
use trayzero_core::parts::Item;
use trayzero_tests::bay::Bay;
use trayzero_tests::engines::shipped_engine;

use crate::cli::{JOB, folder_with};
use crate::hand::Hand;
use crate::pdf::{pages_of, written};
use crate::play::{eventful_job_closed, open, plain_job, record_of};

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
            format!("{}: {}", EN.bank_n("A"), EN.items_n_word(&Item::Stopper)),
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

/// Every text on the screen now.
fn all_texts(hand: &Hand) -> Vec<String> {
    let by = egui_kittest::kittest::By::new();
    let nodes = hand.window.query_all(by);
    nodes
        .flat_map(|node| {
            let node = node.accesskit_node();
            [node.label(), node.value()].into_iter().flatten()
        })
        .collect()
}

/// What both the screens and the paper tell of a job, by kind, as the screens tell it.
fn facts_on_screen(hand: &mut Hand) -> BTreeMap<&'static str, Vec<String>> {
    let mut facts: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for (sheet, what) in [
        (EN.crank, Sheet::Crank),
        (EN.steps_word, Sheet::Steps),
        (EN.where_time_goes, Sheet::Hours),
    ] {
        hand.window.state_mut().screens.bay.sheets.open(what);
        hand.window.run();
        for text in all_texts(hand) {
            let is_torque =
                sheet == EN.crank && (text.ends_with(EN.assumed) || text.ends_with(EN.measured));
            let kind = if is_torque {
                "torque"
            } else if sheet == EN.where_time_goes && text.contains(" min") {
                "time"
            } else if sheet == EN.steps_word && text.contains(" %") {
                "loss"
            } else {
                continue;
            };
            facts.entry(kind).or_default().push(text);
        }
        hand.tap(EN.close);
    }
    facts
}

/// A text in its figures and words, however the lines are broken.
fn evened(text: &str) -> String {
    let text = text.replace([',', ':', '.', '\u{b7}'], " ").to_lowercase();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The screens and the paper tell the same of one job: the breakaway torque and whether it was
/// measured, how long each phase and each loss took, every loss of air before and after.
#[test]
fn the_screens_and_the_paper_tell_the_same_facts() {
    let eventful = eventful_job_closed();
    let plain = plain_job("inline-4-8v");
    let mut basis = BTreeSet::new();
    for (name, play) in [("eventful", &eventful), ("plain", &plain)] {
        let record = record_of(play);
        let path = written(
            &format!("facts-{name}"),
            &record,
            Language::English,
            Paper::A4,
        );
        let paper = evened(&pages_of(&path).join(" "));
        let mut hand = window(play);
        let facts = facts_on_screen(&mut hand);
        let torque = &facts["torque"];
        assert_eq!(torque.len(), 1, "{torque:?}");
        let torque = evened(&torque[0]);
        assert!(paper.contains(&torque), "{torque} is not on the paper");
        let other = if torque.ends_with(EN.assumed) {
            torque.replace(EN.assumed, EN.measured)
        } else {
            torque.replace(EN.measured, EN.assumed)
        };
        assert!(!paper.contains(&other), "{other} is on the paper too");
        basis.insert(torque.ends_with(EN.measured));
        assert!(facts["time"].len() > 3, "{facts:?}");
        for fact in &facts["time"] {
            // A bar says its name and how long; on the paper the bar lies between them.
            let parts: Vec<String> = fact.rsplitn(2, ": ").map(evened).collect();
            for part in parts {
                assert!(
                    paper.contains(&part),
                    "{fact:?}: {part} is not on the paper"
                );
            }
        }
        for line in &record.leak_down {
            for side in [&line.before, &line.after].into_iter().flatten() {
                let loss = EN.percent(side.loss_percent);
                let is_told = facts["loss"].iter().any(|fact| {
                    let of_it = format!("{}: ", EN.cylinder_n(line.cylinder));
                    fact.split(". ")
                        .any(|part| part.starts_with(&of_it) && part.contains(&loss))
                });
                assert!(is_told, "cylinder {}: {loss}", line.cylinder);
                assert!(paper.contains(&evened(&loss)), "{loss} is not on the paper");
            }
        }
    }
    assert_eq!(basis.len(), 2, "both a measured and an assumed torque");
}
