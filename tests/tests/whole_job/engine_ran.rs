//! An engine that has run stops where it likes: nobody is told any longer where its crank
//! stands (common practice, no source).

use trayzero_core::engine::{Side, ValveName};
use trayzero_core::job::{CrankAt, Event, HoldKind, NextStep, Stage, Step};
use trayzero_tests::bay::Bay;
use trayzero_tests::engines::two_cylinders;

use super::seen;

/// Just before the engine is started, and where the crank was turned to last.
fn before_the_start() -> (Bay, CrankAt) {
    let mut bay = Bay::open(two_cylinders());
    bay.work_until(|_, step| *step == NextStep::See(Step::FirstStart));
    let at = bay.job.crank().unwrap();
    (bay, at)
}

fn started(bay: &mut Bay) -> uuid::Uuid {
    let step = Step::FirstStart;
    bay.must(Event::StepSeen { step })
}

#[test]
fn the_crank_is_unknown_once_the_engine_ran_and_known_again_when_it_did_not() {
    let (mut bay, at) = before_the_start();
    let ran = started(&mut bay);
    assert_eq!((bay.job.crank(), bay.job.crank_deg()), (None, None));
    bay.take_back(ran).unwrap();
    assert_eq!(bay.job.crank(), Some(at));
    started(&mut bay);
    bay.work_to_the_end();
    assert_eq!(bay.job.crank(), None);
}

#[test]
fn nothing_goes_into_a_cylinder_before_the_crank_is_turned_anew() {
    let (mut bay, to) = before_the_start();
    let cylinder = to.cylinder;
    started(&mut bay);
    let bar = 4.0;
    let valve = ValveName::new(cylinder, Side::Intake, 1);
    for event in [
        Event::AirOn { cylinder, bar },
        Event::HoldDeclared {
            cylinder,
            hold: HoldKind::Piston,
        },
        seen(valve, Stage::Positioned, 0, 0),
    ] {
        let refusal = bay.refused(event);
        assert_eq!(refusal.code(), "R215", "{refusal:?}");
    }
    bay.must(Event::WrenchOn {});
    let turned = bay.must(Event::CrankTurned {
        from: None,
        to,
        turn_deg: 0.0,
    });
    assert_eq!(bay.job.crank(), Some(to));
    bay.take_back(turned).unwrap();
    assert_eq!(bay.job.crank(), None, "it is where the engine left it");
}
