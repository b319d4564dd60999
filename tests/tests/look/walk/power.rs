//! What the screens make of the system's power: a low battery is said on every screen, and
//! the screen is kept on while something stands open.

use std::collections::BTreeSet;
use std::path::Path;

use trayzero::data::store::Store;
use trayzero::power::{Answer, Battery, PowerView};
use trayzero::ui::intent::{Intent, Screen};
use trayzero::ui::words::Language;
use trayzero_core::job::{Event, HoldKind, NextStep, Stage as ValveStage};
use trayzero_core::journal::Link;
use uuid::Uuid;

use super::check::Seen;
use super::shop::{create_on, furnished, play};
use super::stage::{NOW, Stage, USUAL};
use super::told::{opened, under_air};
use super::{assert_faultless, plain_settings};
use crate::pictures::engine;

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

/// Looks at one screen in every size: that a low battery is said with what it holds, and
/// nothing is cut off by it.
fn look_for_battery(stage: &mut Stage, name: &str, is_low: bool, faults: &mut BTreeSet<String>) {
    for setting in plain_settings() {
        let seen = Seen::of(&stage.look(setting));
        let place = format!("{name} at {}, {} %", setting.size, setting.percent);
        for says in [stage.words.battery_low, "9 %"] {
            let in_sight = |t: &&super::check::Text| t.says == says && t.clip.contains_rect(t.rect);
            let is_said = seen.texts.iter().any(|t| in_sight(&t));
            if is_said != is_low {
                faults.insert(format!("{place}: {says:?} is said: {is_said}"));
            }
        }
        if is_low {
            faults.extend(
                seen.faults()
                    .iter()
                    .map(|fault| format!("{place}: {fault}")),
            );
        }
    }
}

#[test]
fn a_low_battery_is_said_on_every_screen_and_a_full_one_is_not() {
    let mut faults = BTreeSet::new();
    for language in Language::ALL {
        let (_folder, jobs, mut stage) = furnished(language, USUAL);
        let states = [(9.0, true, true), (9.0, false, false), (64.0, true, false)];
        for (percent, is_emptied, is_low) in states {
            let dress = |stage: &mut Stage| {
                stage.dress = Some(Box::new(move |v| v.power = power(percent, is_emptied)));
            };
            // In mid-valve under air the top has the most to say.
            stage.job(jobs.depot[2], false);
            dress(&mut stage);
            look_for_battery(&mut stage, "bay", is_low, &mut faults);
            for screen in [Screen::Bays, Screen::NewJob, Screen::Settings] {
                stage.go(screen);
                dress(&mut stage);
                look_for_battery(&mut stage, &format!("{screen:?}"), is_low, &mut faults);
            }
        }
    }
    assert_faultless(&faults.into_iter().collect::<Vec<_>>());
}

fn is_awake(stage: &Stage) -> bool {
    stage.shell.desk.must_stay_awake()
}

#[test]
fn the_screen_stays_on_while_air_is_on_also_when_the_bay_is_left() {
    let (folder, job, mut stage) = opened(|store| under_air(store, "Bay 1"));
    assert!(is_awake(&stage), "air is on in this bay");
    stage.shell.carry_out(Intent::LeaveJob);
    assert!(is_awake(&stage), "and goes on when it is left");
    drop(stage);
    let mut stage = Stage::open(folder.path(), Language::English);
    assert!(is_awake(&stage), "and when the program starts anew");
    stage.job(job, false);
    assert!(is_awake(&stage));
}

/// Takes events in the open job.
fn tap(stage: &mut Stage, events: Vec<Event>) {
    let outcome = stage.shell.carry_out(Intent::Tap(events));
    assert_eq!(outcome, trayzero::desk::Outcome::Taken);
}

/// Goes from the bay to each place that people go to, and looks whether the screen is kept on.
fn everywhere(stage: &mut Stage, job: Uuid, other: Uuid) -> Vec<bool> {
    let mut kept = vec![is_awake(stage)];
    for screen in [Screen::Board, Screen::Settings, Screen::Bays] {
        stage.shell.carry_out(Intent::Go(screen));
        kept.push(is_awake(stage));
    }
    stage.shell.carry_out(Intent::LeaveJob);
    kept.push(is_awake(stage));
    // From one bay straight to another, as the board leads.
    stage.shell.carry_out(Intent::OpenJob(job));
    stage.shell.carry_out(Intent::OpenJob(other));
    kept.push(is_awake(stage));
    stage.shell.carry_out(Intent::OpenJob(job));
    kept
}

#[test]
fn a_spring_that_is_held_and_a_valve_that_hangs_on_a_hold_keep_the_screen_on_everywhere() {
    let mut other = None;
    let (_folder, job, mut stage) = opened(|store| {
        let made = create_on(store, engine("inline-3-12v"), "Bay 2", "trailer");
        other = Some(made.id());
        drop(made);
        let job = create_on(store, engine("inline-4-8v"), "Bay 1", "pump 12");
        play(job, |job| {
            let step = job.state().next_step(None);
            matches!(step, NextStep::AirOn { .. })
        })
    });
    let other = other.unwrap();
    assert_eq!(
        everywhere(&mut stage, job, other),
        [false; 6],
        "nothing is open"
    );
    // The piston holds the valves, and air stays off.
    let cylinder = stage.shell.desk.state().unwrap().crank().unwrap().cylinder;
    let hold = HoldKind::Piston;
    tap(&mut stage, vec![Event::HoldDeclared { cylinder, hold }]);
    let mut seen = Vec::new();
    while seen.last() != Some(&ValveStage::LocksIn) {
        let step = stage.shell.desk.view().job.unwrap().next.clone();
        let state = stage.shell.desk.state().unwrap();
        let events = state.events_of(&step);
        if let Some(caution) = step.caution().filter(|c| !state.caution_seen(*c)) {
            tap(&mut stage, vec![Event::CautionSeen { caution }]);
            continue;
        }
        tap(&mut stage, events);
        assert_eq!(stage.shell.desk.state().unwrap().air_on(), None);
        if let NextStep::SeeStage { stage: at, .. } = step {
            // Held from the pressed spring on until both locks are in.
            let is_open = (ValveStage::SpringHeld..ValveStage::LocksIn).contains(&at);
            let wanted = [is_open; 6];
            assert_eq!(everywhere(&mut stage, job, other), wanted, "{at:?}");
            seen.push(at);
        }
    }
    assert_eq!(seen, ValveStage::ALL[1..5]);
}

#[test]
fn a_bay_that_another_tablet_has_is_not_this_ones_to_watch_over() {
    let (folder, job, mut stage) = opened(|store| under_air(store, "Bay 1"));
    let to_tablet = Uuid::from_u128(7);
    stage.shell.carry_out(Intent::HandOver(to_tablet));
    assert!(!is_awake(&stage), "it was handed over");
    stage.job(job, true);
    assert!(!is_awake(&stage), "and is only looked at");
    drop(stage);
    let store = Store::open(folder.path(), NOW).unwrap();
    assert!(store.jobs().unwrap().jobs[0].summary.is_open_under_way());
}

/// Writes a summary anew with other words in it, and closed as the program closes it.
fn rewrite(path: &Path, changes: &[(&str, &str)]) {
    let text = std::fs::read_to_string(path).unwrap();
    let (body, _) = text.rsplit_once(",\"link\":\"").unwrap();
    let mut body = body.to_owned();
    for (was, now) in changes {
        assert!(body.contains(was), "{body}");
        body = body.replacen(was, now, 1);
    }
    let link = Link::BEFORE_ALL.then(body.as_bytes());
    std::fs::write(path, format!("{body},\"link\":\"{link}\"}}\n")).unwrap();
}

#[test]
fn a_summary_that_does_not_tell_whether_something_is_open_is_not_believed() {
    let (folder, job, mut stage) = opened(|store| under_air(store, "Bay 1"));
    let state = stage.shell.desk.state().unwrap();
    let (cylinder, bar) = state.air_on().unwrap();
    let hold = HoldKind::Piston;
    tap(&mut stage, vec![Event::HoldDeclared { cylinder, hold }]);
    tap(&mut stage, vec![Event::AirOff { cylinder, bar }]);
    stage.shell.carry_out(Intent::LeaveJob);
    drop(stage);
    let path = folder.path().join("jobs").join(job.to_string());
    let path = path.join("summary.json");
    let bay = |stage: &Stage| stage.shell.desk.view().jobs[0].summary.bay.clone();
    // One that tells it is believed, whatever else it says.
    rewrite(&path, &[("\"Bay 1\"", "\"Bay 8\"")]);
    let stage = Stage::open(folder.path(), Language::English);
    assert_eq!(bay(&stage), "Bay 8");
    drop(stage);
    // An older program's does not tell it: the journal is asked.
    rewrite(&path, &[("\"stands_open\":true,", "")]);
    let stage = Stage::open(folder.path(), Language::English);
    assert_eq!(bay(&stage), "Bay 1");
    assert!(is_awake(&stage));
}
