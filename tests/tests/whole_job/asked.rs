//! What is asked where somebody went another way than asked, what one tap on it stands for,
//! and which caution is read before.

use trayzero_core::engine::{Layout, Side, ValveName};
use trayzero_core::job::{Caution, CrankAt, Event, HoldKind, NextStep, Reading, Stage, Step};
use trayzero_core::parts::{Item, Place};
use trayzero_tests::bay::Bay;
use trayzero_tests::engines::{
    one_cylinder, shipped_engine, small_engine, two_cylinders, with_offsets,
};

use super::seen;

const INTAKE: ValveName = ValveName::new(1, Side::Intake, 1);

fn until(layout: Layout, stop: fn(&NextStep) -> bool) -> Bay {
    let mut bay = Bay::open(layout);
    bay.work_until(|_, step| stop(step));
    bay
}

pub(super) fn before(layout: Layout, wanted: Stage) -> Bay {
    let mut bay = Bay::open(layout);
    bay.work_until(|_, step| matches!(step, NextStep::SeeStage { stage, .. } if *stage == wanted));
    bay
}

fn with(mut bay: Bay, events: impl IntoIterator<Item = Event>) -> Bay {
    for event in events {
        bay.must(event);
    }
    bay
}

#[test]
#[expect(clippy::too_many_lines, reason = "a table: one row a way")]
fn whoever_went_another_way_is_asked_on_from_there() {
    let (cylinder, bank, count) = (1, 0, 1);
    let hose = [
        Event::VentedCoverOut { cylinder },
        Event::HoseIn { cylinder },
    ];
    let hose_out = [
        Event::HoseOut { cylinder },
        Event::VentedCoverIn { cylinder },
    ];
    let piston = Event::HoldDeclared {
        cylinder,
        hold: HoldKind::Piston,
    };
    let stoppers = |aboard| {
        let (item, mut layout) = (Item::Stopper, small_engine(&[&[1]], true));
        layout.kit.iter_mut().for_each(|k| k.count = 3);
        let bay = until(layout, |s| matches!(s, NextStep::StoppersIn { .. }));
        with(
            bay,
            [Event::PutAboard {
                item,
                bank,
                count: aboard,
            }],
        )
    };
    let verify = |valve| NextStep::SeeStage {
        valve,
        stage: Stage::Verified,
    };
    let cleared = || until(one_cylinder(), |s| matches!(s, NextStep::Gate { .. }));
    let rag = [
        Event::KitCounted {
            item: Item::Rag,
            count,
        },
        Event::PutAboard {
            item: Item::Rag,
            bank,
            count,
        },
    ];
    let leak = Event::LeakRead {
        cylinder,
        when: Reading::Before,
        supply_bar: 6.0,
        cylinder_bar: 3.0,
        heard: Vec::new(),
    };
    let rows = vec![
        // Half of the air is lost: whether seals help is settled before any are issued.
        (
            with(
                until(one_cylinder(), |s| matches!(s, NextStep::ReadLeak { .. })),
                [leak],
            ),
            NextStep::AskForeman { cylinder },
        ),
        // The hose went in before the cover was lifted: the cover comes off first.
        (
            with(
                until(one_cylinder(), |s| matches!(s, NextStep::LiftCover { .. })),
                hose.clone(),
            ),
            NextStep::LiftCover { bank },
        ),
        // Something else holds the cylinder: no hose is needed to begin.
        (
            with(
                until(two_cylinders(), |s| matches!(s, NextStep::HoseIn { .. })),
                [piston],
            ),
            NextStep::SeeStage {
                valve: INTAKE,
                stage: Stage::Positioned,
            },
        ),
        // The hose is out already, and no valve is verified yet.
        (
            with(before(one_cylinder(), Stage::Verified), hose_out),
            verify(INTAKE),
        ),
        (stoppers(1), NextStep::StoppersIn { bank, count: 2 }),
        (stoppers(2), NextStep::StoppersIn { bank, count: 1 }),
        (
            with(cleared(), [Event::PlugOut { cylinder }]),
            NextStep::ClearBank { bank },
        ),
        (with(cleared(), rag), NextStep::ClearBank { bank }),
        (cleared(), NextStep::Gate { bank }),
    ];
    for (bay, step) in rows {
        assert_eq!(bay.job.next_step(None), step);
    }
}

#[test]
fn what_was_left_out_before_the_first_valve_is_not_asked_after_it() {
    let mut layout = one_cylinder();
    layout.kit.push(trayzero_core::engine::KitLine {
        item: Item::Rag,
        count: 1,
        bank: None,
    });
    let mut careful = Bay::open(layout.clone());
    careful.work_until(|_, step| matches!(step, NextStep::SeeStage { .. }));
    let is_left_out = |event: &Event| {
        matches!(
            event,
            Event::JobOpened(_)
                | Event::TakeInNoted(_)
                | Event::LeakRead { .. }
                | Event::StepSeen { .. }
                | Event::StockIssued { .. }
                | Event::KitCounted {
                    item: Item::Rag,
                    ..
                }
        )
    };
    let mut bay = Bay::open(layout);
    for entry in &careful.entries {
        if !is_left_out(&entry.event) {
            bay.must(entry.event.clone());
        }
    }
    bay.must(seen(INTAKE, Stage::Positioned, 0, 0));
    bay.must(Event::StockIssued {
        item: Item::NewSeal,
        count: 2,
    });
    bay.work_until(|_, step| {
        let is_before = match step {
            NextStep::TakeIn | NextStep::CountKit | NextStep::IssueSeals { .. } => true,
            NextStep::See(step) => Step::BEFORE.contains(step),
            NextStep::ReadLeak { when, .. } => *when == Reading::Before,
            _ => false,
        };
        assert!(!is_before, "{step:?}");
        false
    });
}

#[test]
fn seals_are_issued_for_the_valves_that_have_none() {
    let mut bay = until(two_cylinders(), |s| {
        matches!(s, NextStep::IssueSeals { .. })
    });
    assert_eq!(bay.job.seals_short(), 4);
    bay.must(Event::StockIssued {
        item: Item::NewSeal,
        count: 1,
    });
    assert_eq!(bay.job.next_step(None), NextStep::IssueSeals { count: 3 });
    bay.work_until(
        |_, step| matches!(step, NextStep::SeeStage { stage, .. } if *stage == Stage::LocksIn),
    );
    assert_eq!(bay.job.seals_short(), 0);
    // Of the three that are left in stock one more is needed than there are.
    bay.must(Event::PartDropped {
        item: Item::NewSeal,
        count: 1,
        from: Place::Stock,
        bank: None,
        valve: None,
    });
    assert_eq!(bay.job.seals_short(), 1);
}

#[test]
fn one_tap_does_what_is_still_to_be_done_of_a_step() {
    let (cylinder, bank) = (1, 0);
    let cover_out = |cylinder| Event::VentedCoverOut { cylinder };
    let mut bay = until(two_cylinders(), |s| matches!(s, NextStep::Turn { .. }));
    let taps = |bay: &Bay, step| bay.job.events_of(&step);
    bay.must(cover_out(2));
    let plugs = [Event::VentedCoverIn { cylinder: 2 }];
    assert_eq!(taps(&bay, NextStep::PlugsOut { bank }), plugs);
    let hose = [cover_out(1), Event::HoseIn { cylinder }];
    assert_eq!(taps(&bay, NextStep::HoseIn { cylinder }), hose);
    bay.must(cover_out(1));
    assert_eq!(taps(&bay, NextStep::HoseIn { cylinder }), hose[1..]);
    bay.must(Event::HoseIn { cylinder });
    assert_eq!(taps(&bay, NextStep::PlugsOut { bank }), plugs);
    let clear = [
        Event::HoseOut { cylinder },
        Event::PlugIn { cylinder },
        Event::PlugIn { cylinder: 2 },
    ];
    assert_eq!(taps(&bay, NextStep::ClearBank { bank }), clear);
    let to = CrankAt {
        cylinder,
        offset_deg: 0.0,
    };
    let turn_deg = 0.0;
    let turn = [
        Event::WrenchOn {},
        Event::CrankTurned {
            from: bay.job.crank(),
            to,
            turn_deg,
        },
        Event::WrenchOff {},
    ];
    assert_eq!(taps(&bay, NextStep::Turn { to, turn_deg }), turn);
    bay.must(Event::WrenchOn {});
    assert_eq!(taps(&bay, NextStep::Turn { to, turn_deg }), turn[1..]);
}

#[test]
fn a_caution_is_read_before_a_spring_air_the_crank_heat_and_the_connectors() {
    let valve = INTAKE;
    let stage = |stage| NextStep::SeeStage { valve, stage };
    let (cylinder, bank) = (1, 0);
    let to = CrankAt {
        cylinder,
        offset_deg: 0.0,
    };
    let rows = [
        (stage(Stage::Positioned), Some(Caution::Spring)),
        (stage(Stage::SpringHeld), Some(Caution::Spring)),
        (stage(Stage::LocksOut), Some(Caution::Spring)),
        (stage(Stage::SealFitted), None),
        (stage(Stage::LocksIn), Some(Caution::Spring)),
        (stage(Stage::Verified), None),
        (NextStep::AirOn { cylinder }, Some(Caution::Air)),
        (NextStep::Turn { to, turn_deg: 0.0 }, Some(Caution::Crank)),
        (NextStep::PlugsOut { bank }, Some(Caution::Heat)),
        (NextStep::See(Step::ConnectorsOff), Some(Caution::Battery)),
        (NextStep::See(Step::BatteryOff), None),
        (NextStep::WrenchOff, None),
    ];
    for (step, caution) in rows {
        assert_eq!(step.caution(), caution, "{step:?}");
    }
}

#[test]
fn the_crank_turns_back_where_that_is_allowed_and_shorter() {
    // Firing order 1-3-4-2, 180 degrees apart.
    let rows = [
        (1, 0.0, 0.0),
        (3, 180.0, 180.0),
        (4, 360.0, 360.0),
        (2, 540.0, -180.0),
    ];
    for may_turn_back in [false, true] {
        let mut layout = shipped_engine("inline-4-8v");
        layout.may_turn_back = may_turn_back;
        let mut bay = Bay::open(layout);
        let at = |cylinder| CrankAt {
            cylinder,
            offset_deg: 0.0,
        };
        bay.work_until(|job, _| job.wrench_on() || job.crank() == Some(at(1)));
        for (cylinder, forwards, shorter) in rows {
            let wanted = if may_turn_back { shorter } else { forwards };
            assert_eq!(bay.job.turn_to(at(cylinder)), wanted, "to {cylinder}");
        }
        let back = with(bay, [Event::WrenchOn {}]);
        let turned = Event::CrankTurned {
            from: Some(at(1)),
            to: at(2),
            turn_deg: -180.0,
        };
        let taken = back.clone().propose(turned).is_ok();
        assert_eq!(taken, may_turn_back);
    }
}

#[test]
fn a_planned_stop_is_turned_to_where_the_cylinder_is_worked() {
    let bay = until(with_offsets("inline-4-8v", 2, false), |s| {
        matches!(s, NextStep::LiftCover { .. })
    });
    let mut bay = bay;
    bay.must(Event::CoverOff { bank: 0 });
    let offsets = bay
        .job
        .layout()
        .map(|l| l.offsets_deg(3))
        .unwrap_or_default();
    assert_eq!(offsets.len(), 2);
    for offset_deg in offsets {
        let stop = CrankAt {
            cylinder: 3,
            offset_deg,
        };
        let mut bay = bay.clone();
        bay.work_until(|_, step| matches!(step, NextStep::Turn { .. }));
        let step = bay.job.next_step(Some(stop));
        assert!(
            matches!(step, NextStep::Turn { to, .. } if to == stop),
            "{step:?}"
        );
    }
}

/// The adaptor that a valve needs, by the list of its layout.
fn adaptor(layout: &Layout, valve: ValveName) -> String {
    let rule = layout
        .adaptors
        .iter()
        .find(|a| a.cylinder == valve.cylinder && a.valve == valve.within_cylinder());
    rule.map_or("standard".to_owned(), |rule| rule.adaptor.clone())
}

#[test]
fn springs_of_one_adaptor_are_pressed_one_after_another_as_planned() {
    let layout = with_offsets("inline-4-16v", 1, true);
    let plan = ["angled", "standard", "short"].map(str::to_owned);
    for planned in [&[][..], &plan[..]] {
        let mut bay = Bay::open(layout.clone());
        let mut used: Vec<String> = Vec::new();
        for _ in 0..2_000 {
            let step = bay.job.next_step_with(None, planned);
            if let NextStep::SeeStage {
                valve,
                stage: Stage::SpringHeld,
            } = step
            {
                used.push(adaptor(&layout, valve));
            }
            if used.len() > 8 {
                break;
            }
            bay.take_step(&step);
        }
        let (first, second) = (&used[..4], &used[4..8]);
        let changes = |used: &[String]| used.windows(2).filter(|w| w[0] != w[1]).count();
        // Three adaptors in a cylinder: changed twice, and not between two cylinders where
        // nothing is planned.
        assert_eq!((changes(first), changes(second)), (2, 2), "{used:?}");
        if planned.is_empty() {
            assert_eq!(changes(&used[..8]), 4, "{used:?}");
        } else {
            let order = ["angled", "standard", "standard", "short"];
            assert_eq!(
                (first, second),
                (&order.map(str::to_owned)[..], &order.map(str::to_owned)[..])
            );
        }
    }
}

#[test]
fn a_cylinder_is_put_off_until_it_is_wanted() {
    let mut bay = Bay::open(two_cylinders());
    let put_off = |cylinder| Event::CylinderPutOff { cylinder };
    let wanted = Event::CylinderWanted { cylinder: 1 };
    bay.must(put_off(1));
    bay.must(put_off(2));
    let again = bay.must(put_off(1));
    bay.take_back(again).unwrap();
    assert_eq!(bay.job.put_off(), [1, 2]);
    let wanted = bay.must(wanted);
    assert_eq!((bay.job.put_off(), bay.job.wanted()), (vec![2], Some(1)));
    bay.take_back(wanted).unwrap();
    assert_eq!((bay.job.put_off(), bay.job.wanted()), (vec![1, 2], None));
    bay.work_until(|job, _| job.cylinder_verified(1));
    assert_eq!(bay.job.put_off(), [2]);
}
