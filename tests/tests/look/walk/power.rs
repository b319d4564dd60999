//! What the screens make of the system's power: a low battery is said in the bay, and the
//! screen is kept on while air is.

use std::collections::BTreeSet;

use trayzero::data::settings::Hand;
use trayzero::power::{Answer, Battery, PowerView};
use trayzero::ui::intent::Intent;
use trayzero::ui::theme::Tone;
use trayzero::ui::words::Language;

use super::check::Seen;
use super::shop::furnish_all;
use super::stage::{Setting, Stage};
use super::{SIZES, assert_faultless};

fn power(percent: f64, is_emptied: bool) -> PowerView {
    PowerView {
        told: Answer::Answers,
        battery: Some(Battery {
            percent,
            is_emptied,
            minutes_left: Some(25),
        }),
        ..PowerView::default()
    }
}

#[test]
fn a_low_battery_is_said_in_the_bay_and_a_full_one_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let jobs = furnish_all(folder.path());
    let mut unsaid = BTreeSet::new();
    for language in Language::ALL {
        let mut stage = Stage::open(folder.path(), language);
        let w = stage.words;
        for (percent, is_emptied, is_low) in
            [(9.0, true, true), (9.0, false, false), (64.0, true, false)]
        {
            stage.job(jobs.depot[2], false);
            stage.dress = Some(Box::new(move |v| v.power = power(percent, is_emptied)));
            for size in SIZES {
                // With the largest text on ten inches there is no room for it above the bar.
                let is_small = size.min_elem() < 700.0;
                let percents: &[u16] = if is_small { &[100] } else { &[100, 200] };
                for &percent in percents {
                    let setting = Setting {
                        size,
                        percent,
                        hand: Hand::Right,
                        cards: false,
                        tone: Tone::ShopLight,
                    };
                    let frame = stage.look(setting);
                    let texts = Seen::of(&frame).texts;
                    let is_said = texts.iter().any(|text| text.says == w.battery_low);
                    if is_said != is_low {
                        unsaid.insert(format!("{language:?} {size}, {percent} %: {is_said}"));
                    }
                }
            }
        }
    }
    assert_faultless(&unsaid.into_iter().collect::<Vec<_>>());
}

#[test]
fn the_screen_stays_on_while_air_is_on_also_when_the_bay_is_left() {
    let folder = tempfile::tempdir().unwrap();
    let jobs = furnish_all(folder.path());
    // Every other job is put away, so that this one alone asks for the screen.
    let others = std::fs::read_dir(folder.path().join("jobs")).unwrap();
    for other in others.flatten() {
        if other.file_name().to_string_lossy() != jobs.depot[2].to_string() {
            std::fs::remove_dir_all(other.path()).unwrap();
        }
    }
    let mut stage = Stage::open(folder.path(), Language::English);
    assert!(stage.shell.desk.must_stay_awake(), "air is on in a bay");
    stage.job(jobs.depot[2], false);
    assert!(stage.shell.desk.must_stay_awake(), "and in this one");
    let (cylinder, _) = stage.shell.desk.state().unwrap().air_on().unwrap();
    stage.shell.carry_out(Intent::LeaveJob);
    assert!(
        stage.shell.desk.must_stay_awake(),
        "air on {cylinder} goes on"
    );
}
