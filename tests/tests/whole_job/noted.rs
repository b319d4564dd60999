//! What is noted beside the parts: who has the job, what is kept of it, where a valve stands.

use trayzero_core::engine::{Side, ValveName};
use trayzero_core::job::{
    Caution, CountLine, Event, Finding, FindingKind, MediaType, NextStep, Picture, PictureOf,
    Reading, Seal, Stage, TakeIn, ValveState,
};
use trayzero_core::parts::{Item, Place};
use trayzero_tests::bay::{Bay, FIRST, SECOND, opening};
use trayzero_tests::engines::one_cylinder;
use uuid::Uuid;

use super::asked::before;

#[test]
fn a_job_is_with_whom_it_was_taken_over_by_and_where_it_was_handed_to() {
    let mut bay = Bay::open(one_cylinder());
    let has = |bay: &Bay| (bay.job.technician().unwrap().to_string(), bay.job.holder());
    assert_eq!(has(&bay), (FIRST.to_owned(), None));
    let by = bay.scribe.sign(SECOND);
    bay.must(Event::TakenOver { by });
    assert_eq!(has(&bay), (SECOND.to_owned(), None));
    let (here, there) = (bay.entries[0].tablet, Uuid::from_u128(9));
    bay.must(Event::HandedOver { to_tablet: there });
    assert_eq!(has(&bay), (SECOND.to_owned(), Some(there)));
    let by = bay.scribe.sign(FIRST);
    bay.must(Event::TakenOver { by });
    assert_eq!(has(&bay), (FIRST.to_owned(), Some(here)));
}

#[test]
fn a_job_goes_by_the_number_of_its_order() {
    let Event::JobOpened(mut opening) = opening(one_cylinder()) else {
        unreachable!()
    };
    opening.order_number = Some("A 4711".to_owned());
    let mut bay = Bay::empty();
    bay.must(Event::JobOpened(opening));
    assert_eq!(bay.job.order_number(), Some("A 4711"));
}

/// The name of an event as the journal has it, and the whole of it.
fn written(event: &Event) -> (String, String) {
    let line = serde_json::to_string(event).unwrap();
    (line.split('"').nth(1).unwrap().to_owned(), line)
}

#[test]
fn what_lists_need_is_kept_and_a_tap_is_not() {
    let mut bay = Bay::open(one_cylinder());
    bay.work_to_the_end();
    let mut kept: Vec<String> = bay
        .job
        .facts()
        .iter()
        .map(|f| written(&f.event).0)
        .collect();
    kept.sort();
    kept.dedup();
    let all = [
        "bank_closed",
        "cover_off",
        "job_closed",
        "leak_read",
        "put_aboard",
        "step_seen",
        "take_in_noted",
        "vented_cover_in",
    ];
    assert_eq!(kept, all);
}

#[test]
fn what_is_long_is_kept_once() {
    let long = "0123456789abcdef".repeat(4);
    let mut bay = Bay::open(one_cylinder());
    let by = bay.scribe.sign(FIRST);
    let line = CountLine {
        item: Item::Other("Mirror".into()),
        place: Place::Kit,
        count: 1,
    };
    for event in [
        Event::Noted { text: long.clone() },
        Event::TakeInNoted(Box::new(TakeIn {
            complaint: long.clone(),
            ..TakeIn::default()
        })),
        Event::Sealed(Box::new(Seal {
            key: long.clone(),
            signature: long.repeat(2),
        })),
        Event::BlindCount {
            by,
            lines: vec![line],
        },
    ] {
        bay.must(event);
    }
    let told: String = bay.job.timeline().map(|t| written(t.event).1).collect();
    for text in [&*long, "Mirror", "Depot van 7"] {
        assert!(!told.contains(text), "{text} stands in the history, too");
    }
    let kept: String = bay
        .job
        .facts()
        .iter()
        .map(|f| written(&f.event).1)
        .collect();
    assert_eq!(kept.matches(&long).count(), 2, "the note and the take-in");
    assert_eq!(bay.job.counts()[0].lines.len(), 1);
    assert_eq!(bay.job.vehicle(), "Depot van 7");
}

#[test]
fn the_foreman_looks_past_three_tenths_of_the_air_and_not_at_them() {
    for (cylinder_bar, wanted) in [(3.5, None), (3.0, Some(40.0))] {
        let mut bay = Bay::open(one_cylinder());
        bay.work_until(|_, step| matches!(step, NextStep::ReadLeak { .. }));
        bay.must(Event::LeakRead {
            cylinder: 1,
            when: Reading::Before,
            supply_bar: 5.0,
            cylinder_bar,
            heard: Vec::new(),
        });
        assert_eq!(bay.job.foreman_wanted(1), wanted);
    }
}

#[test]
fn a_valve_has_fallen_once_that_is_told_of_it_and_nobody_stops_under_an_unlocked_one() {
    assert_eq!(Bay::open(one_cylinder()).job.objection_to_stop(), None);
    let mut bay = before(one_cylinder(), Stage::SealFitted);
    let valve = bay.job.unlocked().next().unwrap();
    let told = |bay: &mut Bay, kind| {
        bay.must(Event::FindingNoted(Box::new(Finding {
            cylinder: 1,
            valve: Some(valve),
            kind,
            text: String::new(),
        })));
        bay.job.valve_fell(valve)
    };
    assert!(!told(&mut bay, FindingKind::BrokenSpring));
    assert!(bay.job.objection_to_stop().is_some());
    assert!(told(&mut bay, FindingKind::ValveFell));
}

#[test]
fn what_was_read_and_measured_counts_from_then_on() {
    let layout = one_cylinder();
    let told = (layout.breakaway_torque_nm, layout.breakaway_measured);
    let mut bay = Bay::open(layout);
    let cautions = [Caution::Spring, Caution::Air];
    let seen = |bay: &Bay| cautions.map(|caution| bay.job.caution_seen(caution));
    assert_eq!(seen(&bay), [false, false]);
    bay.must(Event::CautionSeen {
        caution: cautions[1],
    });
    assert_eq!(seen(&bay), [false, true]);
    assert_eq!(bay.job.breakaway_nm(), Some(told));
    bay.must(Event::BreakawayMeasured { torque_nm: 31.5 });
    assert_eq!(bay.job.breakaway_nm(), Some((31.5, true)));
}

fn picture(of: PictureOf) -> Picture {
    Picture {
        sha256: "12ab".to_owned(),
        bytes: 1_000,
        media: MediaType::Png,
        copy_sha256: "34cd".to_owned(),
        copy_bytes: 100,
        of,
        remark: String::new(),
    }
}

#[test]
fn the_files_of_a_picture_are_named_by_what_is_in_them() {
    let mut picture = picture(PictureOf::Job {});
    assert_eq!(picture.file_name(), "12ab.png");
    assert_eq!(picture.copy_name(), "34cd.jpg");
    picture.media = MediaType::Jpeg;
    assert_eq!(picture.file_name(), "12ab.jpg");
}

#[test]
fn a_picture_is_of_the_valve_that_it_tells_of() {
    let valve = ValveName::new(1, Side::Intake, 1);
    let mut bay = before(one_cylinder(), Stage::SealFitted);
    let kind = FindingKind::BrokenSpring;
    let found = |valve| {
        Event::FindingNoted(Box::new(Finding {
            cylinder: 1,
            valve,
            kind: kind.clone(),
            text: String::new(),
        }))
    };
    let at_it = bay.must(found(Some(valve)));
    let at_none = bay.must(found(None));
    let fell = bay.must(Event::PartDropped {
        item: Item::Lock,
        count: 1,
        from: Place::Tray,
        bank: None,
        valve: Some(valve),
    });
    for (of, told) in [
        (PictureOf::Valve { valve }, Some(valve)),
        (PictureOf::Finding { event: at_it }, Some(valve)),
        (PictureOf::Finding { event: at_none }, None),
        (PictureOf::Job {}, None),
        (PictureOf::TakeIn {}, None),
        (PictureOf::Count { bank: 0 }, None),
        (PictureOf::Drop { event: fell }, Some(valve)),
    ] {
        assert_eq!(bay.job.valve_of(&picture(of)), told, "{of:?}");
    }
}

#[test]
fn a_valve_stands_where_its_last_stage_left_it() {
    use Stage::{LocksIn, LocksOut, Positioned, SealFitted, SpringHeld, Verified};
    // Its last stage and its next; pressed, unlocked, open, verified.
    let rows = [
        (None, Some(Positioned), [false, false, false, false]),
        (
            Some(Positioned),
            Some(SpringHeld),
            [false, false, true, false],
        ),
        (Some(SpringHeld), Some(LocksOut), [true, false, true, false]),
        (Some(LocksOut), Some(SealFitted), [false, true, true, false]),
        (Some(SealFitted), Some(LocksIn), [false, true, true, false]),
        (Some(LocksIn), Some(Verified), [false, false, true, false]),
        (Some(Verified), None, [false, false, false, true]),
    ];
    for (stages_seen, (last, next, is)) in (0_u8..).zip(rows) {
        let valve = ValveState {
            stages_seen,
            ..ValveState::default()
        };
        assert_eq!((valve.stage(), valve.next_stage()), (last, next));
        let shown = [
            valve.is_spring_held(),
            valve.is_unlocked(),
            valve.is_open(),
            valve.is_verified(),
        ];
        assert_eq!(shown, is, "{stages_seen} stages seen");
    }
}
