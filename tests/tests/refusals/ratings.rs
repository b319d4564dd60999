//! No pressure goes above what hose, regulator and tester of the tablet stand, whatever the
//! layout allows.

use std::sync::Arc;

use tempfile::TempDir;
use trayzero::data::settings::{Settings, Units};
use trayzero::data::store::{Clock, SetClock, Stamp, Store};
use trayzero::desk::{Desk, Outcome};
use trayzero::ui::intent::Intent;
use trayzero::ui::view::Notice;
use trayzero_core::bench::{AirQuestion, Verdict};
use trayzero_core::job::{Event, NextStep};
use trayzero_tests::bay::Bay;
use trayzero_tests::engines::shipped_engine;

const NOW: Stamp = Stamp {
    at_ms: 1_796_000_000_000,
    offset_min: 60,
};

/// A desk with a job whose next step is air on, in this cylinder. Its layout allows 8 bar.
fn before_air(settings: Settings) -> (Desk, u8, TempDir) {
    let layout = shipped_engine("inline-4-16v");
    assert!((layout.pressure_rating_bar - 8.0).abs() < 1e-9);
    let mut bay = Bay::open(layout);
    bay.work_until(|_, next| matches!(next, NextStep::AirOn { .. }));
    let NextStep::AirOn { cylinder } = bay.job.next_step(None) else {
        panic!("no air to put on");
    };
    let data = tempfile::tempdir().unwrap();
    let store = Store::open(data.path(), NOW).unwrap();
    let mut events = bay.entries.into_iter().map(|entry| entry.event);
    let Some(Event::JobOpened(opening)) = events.next() else {
        panic!("a job begins with its opening");
    };
    let who = opening.technician.clone();
    let mut job = store.create_job(*opening, NOW).unwrap();
    for event in events {
        job.propose(NOW, &who, &[event]).unwrap();
    }
    let id = job.id();
    drop(job);
    let clock: Arc<dyn Clock> = Arc::new(SetClock::at(NOW));
    let mut desk = Desk::open(store, clock).unwrap();
    desk.carry_out(Intent::Settings(Box::new(settings)));
    desk.carry_out(Intent::OpenJob(id));
    (desk, cylinder, data)
}

fn put_on(desk: &mut Desk, cylinder: u8, bar: f64) -> Outcome {
    desk.carry_out(Intent::Tap(vec![Event::AirOn { cylinder, bar }]))
}

/// Why, and the code.
fn refusal(desk: &Desk) -> (String, &'static str) {
    match desk.view().notice {
        Some(Notice::Refused { why, code, .. }) => (why.clone(), *code),
        other => panic!("it was not refused: {other:?}"),
    }
}

#[test]
fn the_lowest_rating_of_the_tablet_counts_whichever_it_is() {
    let usual = Settings {
        hose_rating_bar: 10.0,
        regulator_rating_bar: 10.0,
        tester_rating_bar: 10.0,
        ..Settings::default()
    };
    let lower: [fn(&mut Settings); 3] = [
        |s| s.hose_rating_bar = 5.0,
        |s| s.regulator_rating_bar = 5.0,
        |s| s.tester_rating_bar = 5.0,
    ];
    for lower in lower {
        let mut settings = usual.clone();
        lower(&mut settings);
        let (mut desk, cylinder, _data) = before_air(settings);
        assert_eq!(put_on(&mut desk, cylinder, 5.01), Outcome::Stayed);
        let expected = "5.01 bar is above the rating of 5.00 bar.".to_owned();
        assert_eq!(refusal(&desk), (expected, "R222"));
        assert_eq!(desk.state().unwrap().air_on(), None);
        assert_eq!(put_on(&mut desk, cylinder, 5.0), Outcome::Taken);
        assert_eq!(desk.state().unwrap().air_on(), Some((cylinder, 5.0)));
    }
    // Where all of them stand more, it is the layout's that counts.
    let (mut desk, cylinder, _data) = before_air(usual);
    assert_eq!(put_on(&mut desk, cylinder, 8.01), Outcome::Stayed);
    let expected = "8.01 bar is above the rating of 8.00 bar.".to_owned();
    assert_eq!(refusal(&desk), (expected, "R222"));
}

#[test]
fn nothing_is_worked_out_above_the_lowest_rating() {
    let layout = shipped_engine("inline-4-16v");
    let settings = Settings {
        hose_rating_bar: 5.0,
        ..Settings::default()
    };
    let rated = settings.rated(&layout);
    let ask = |pressure_bar| {
        let question = AirQuestion {
            pressure_bar,
            ..AirQuestion::default()
        };
        question.answer(&rated).unwrap()
    };
    // At its top a piston turns nothing: only the rating is above.
    let highest = ask(None).highest_bar;
    assert!((highest - 5.0).abs() < 1e-9, "{highest}");
    assert!(ask(None).suggested_bar.unwrap() < 5.0);
    assert_eq!(ask(Some(5.01)).verdict, Some(Verdict::OverRating));
    assert_eq!(ask(Some(4.99)).verdict, Some(Verdict::Hold));
    // A layout that allows less is left as it is.
    let strong = Settings {
        hose_rating_bar: 12.0,
        regulator_rating_bar: 12.0,
        tester_rating_bar: 12.0,
        ..Settings::default()
    };
    assert_eq!(*strong.rated(&layout), layout);
}

#[test]
fn the_refusal_is_in_the_unit_that_is_shown() {
    let settings = Settings {
        units: Units::Imperial,
        ..Settings::default()
    };
    let (mut desk, cylinder, _data) = before_air(settings);
    put_on(&mut desk, cylinder, 10.0);
    // 1 psi is 6.894 757 kPa (NIST Special Publication 811, appendix B); the tester of the
    // usual settings stands 7 bar.
    let expected = "145.0 psi is above the rating of 101.5 psi.".to_owned();
    assert_eq!(refusal(&desk), (expected, "R222"));
}
