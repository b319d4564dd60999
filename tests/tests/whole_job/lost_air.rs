//! Air that falls away while a valve hangs on it: told, answered, and taken up again.

use trayzero_core::engine::ValveName;
use trayzero_core::job::{Event, Finding, FindingKind, HoldKind, JobPhase, NextStep, Stage};
use trayzero_core::record::{OpenPoint, open_points};
use trayzero_tests::bay::Bay;
use trayzero_tests::engines::one_cylinder;

use super::{seen, work_up_to};

const BAR: f64 = 4.0;

fn unlocked() -> (Bay, ValveName) {
    let mut bay = Bay::open(one_cylinder());
    let valve = work_up_to(&mut bay, Stage::SealFitted);
    assert_eq!(bay.job.air_on(), Some((1, BAR)));
    (bay, valve)
}

fn lost() -> Event {
    Event::AirLost {
        cylinder: 1,
        was_bar: BAR,
    }
}

fn air_on() -> Event {
    Event::AirOn {
        cylinder: 1,
        bar: BAR,
    }
}

#[test]
fn lost_air_is_believed_and_asks_for_air_before_all_else() {
    let (mut bay, valve) = unlocked();
    bay.must(lost());
    assert_eq!(bay.job.air_lost(), Some(1));
    assert_eq!(bay.job.air_on(), None);
    assert_eq!(bay.job.next_step(None), NextStep::AirOn { cylinder: 1 });
    // Nothing is done on a valve that hangs on nothing.
    let refusal = bay.refused(seen(valve, Stage::SealFitted, 0, 0));
    assert_eq!(refusal.code(), "R302", "{refusal:?}");
    let refusal = bay.refused(Event::HoseOut { cylinder: 1 });
    assert_eq!(refusal.code(), "R221", "{refusal:?}");
    bay.must(air_on());
    assert_eq!(bay.job.air_lost(), None);
    bay.must(seen(valve, Stage::SealFitted, 0, 0));
    bay.work_to_the_end();
    assert_eq!(bay.job.phase(), JobPhase::Closed);
}

#[test]
fn a_hold_takes_over_and_air_goes_on_again_under_the_unlocked_valve() {
    let (mut bay, valve) = unlocked();
    bay.must(lost());
    let hold = HoldKind::Piston;
    bay.must(Event::HoldDeclared { cylinder: 1, hold });
    assert_eq!(bay.job.air_lost(), None, "the piston took over");
    bay.must(seen(valve, Stage::SealFitted, 0, 0));
    bay.must(air_on());
    bay.must(Event::HoldReleased { cylinder: 1, hold });
    // Now air alone holds it again.
    let refusal = bay.refused(Event::AirOff {
        cylinder: 1,
        bar: BAR,
    });
    assert_eq!(refusal.code(), "R221", "{refusal:?}");
    bay.work_to_the_end();
}

#[test]
fn a_hold_that_is_in_besides_the_air_goes_on_holding() {
    let (mut bay, valve) = unlocked();
    let hold = HoldKind::Piston;
    bay.must(Event::HoldDeclared { cylinder: 1, hold });
    bay.must(lost());
    assert_eq!(bay.job.air_lost(), None);
    bay.must(seen(valve, Stage::SealFitted, 0, 0));
}

#[test]
fn the_last_loss_is_over_once_air_is_on_and_does_not_cover_a_later_one() {
    let (mut bay, _) = unlocked();
    bay.must(lost());
    let on = bay.must(air_on());
    // Taken back, the valve would hang on nothing that anybody has told.
    assert_eq!(bay.take_back(on).unwrap_err().code(), "R115");
}

#[test]
fn a_loss_told_by_mistake_is_taken_back_and_the_air_is_on_as_it_was() {
    let (mut bay, _) = unlocked();
    let told = bay.must(lost());
    bay.take_back(told).unwrap();
    assert_eq!(bay.job.air_on(), Some((1, BAR)));
    assert_eq!(bay.job.air_lost(), None);
}

fn fell(valve: ValveName) -> Event {
    Event::FindingNoted(Box::new(Finding {
        cylinder: valve.cylinder,
        valve: Some(valve),
        kind: FindingKind::ValveFell,
        text: "it lies on the piston".into(),
    }))
}

#[test]
fn a_job_is_stopped_over_a_valve_that_fell_in_and_over_no_other() {
    let (mut bay, valve) = unlocked();
    let stop = |bay: &mut Bay| Event::JobStopped {
        by: bay.scribe.sign("Ilse Brandt"),
        why: "the head has to come off".into(),
    };
    bay.must(lost());
    let event = stop(&mut bay);
    assert_eq!(bay.refused(event).code(), "R309");
    assert!(!bay.job.valve_fell(valve));
    let told = bay.must(fell(valve));
    assert!(bay.job.valve_fell(valve));
    // While the finding is taken back it holds the stop again.
    bay.take_back(told).unwrap();
    let event = stop(&mut bay);
    assert_eq!(bay.refused(event).code(), "R309");
    bay.must(fell(valve));
    let event = stop(&mut bay);
    bay.must(event);
    assert_eq!(bay.job.phase(), JobPhase::Stopped);
    assert!(bay.job.stands_open(), "nobody takes it for closed");
    let open = open_points(&bay.job);
    let is_it =
        |p: &OpenPoint| matches!(p, OpenPoint::ValveUnlocked { valve: v, .. } if *v == valve);
    assert!(open.iter().any(is_it), "the record says so: {open:?}");
}

#[test]
fn a_valve_that_came_back_is_worked_to_its_end_and_its_finding_stays() {
    let (mut bay, valve) = unlocked();
    bay.must(lost());
    bay.must(fell(valve));
    let hold = HoldKind::Piston;
    bay.must(Event::HoldDeclared { cylinder: 1, hold });
    bay.must(air_on());
    bay.must(Event::HoldReleased { cylinder: 1, hold });
    bay.work_to_the_end();
    assert_eq!(bay.job.phase(), JobPhase::Closed);
    assert!(!bay.job.valve_fell(valve) && !bay.job.stands_open());
}

#[test]
fn lost_air_is_told_while_the_job_rests() {
    let (mut bay, _) = unlocked();
    bay.must(Event::Paused {
        why: "the alarm bell rings".into(),
    });
    bay.must(lost());
    assert_eq!(bay.job.air_lost(), Some(1));
    assert_eq!(bay.job.next_step(None), NextStep::Resume);
    bay.must(Event::Resumed {});
    assert_eq!(bay.job.next_step(None), NextStep::AirOn { cylinder: 1 });
}

#[test]
fn a_regulator_is_read_anew_under_an_unlocked_valve() {
    let (mut bay, _) = unlocked();
    let anew = |was_bar, bar| Event::AirReadAnew {
        cylinder: 1,
        was_bar,
        bar,
    };
    let rating = bay.job.layout().unwrap().pressure_rating_bar;
    assert_eq!(bay.refused(anew(BAR, rating + 0.1)).code(), "R222");
    assert_eq!(bay.refused(anew(BAR, 0.0)).code(), "R108");
    assert_eq!(bay.refused(anew(3.9, 3.0)).code(), "R210");
    let event = bay.must(anew(BAR, 3.2));
    assert_eq!(bay.job.air_on(), Some((1, 3.2)));
    bay.take_back(event).unwrap();
    assert_eq!(bay.job.air_on(), Some((1, BAR)));
    bay.must(anew(BAR, 3.2));
    bay.work_to_the_end();
}

#[test]
fn no_air_is_lost_where_none_was_on() {
    let mut bay = Bay::open(one_cylinder());
    assert_eq!(bay.refused(lost()).code(), "R210");
}
