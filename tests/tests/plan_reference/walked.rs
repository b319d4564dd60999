//! The job is walked as it was planned: what the next step says, cylinder by cylinder and
//! spring by spring, changes the adaptor, the bank and the crank as often as the working
//! order says.

use trayzero_core::engine::{Layout, Tops, shipped};
use trayzero_core::job::{CrankAt, Event, JobState, NextStep, Reading, Stage};
use trayzero_core::plan::{OrderQuestion, WorkingOrder, working_order};
use trayzero_tests::bay::Bay;

/// What a walk came to.
#[derive(Debug, Default, PartialEq)]
struct Walk {
    turn_deg: f64,
    bank_changes: u32,
    adaptor_changes: u32,
}

/// The order from where the job stands, as the app asks for it.
fn order_now(job: &JobState) -> WorkingOrder {
    let layout = job.layout().unwrap();
    let done: Vec<u8> = layout
        .cylinders()
        .filter(|c| job.cylinder_verified(*c))
        .collect();
    working_order(&OrderQuestion {
        from_deg: job.crank_deg().unwrap_or(0.0),
        from_bank: job.crank().and_then(|at| layout.bank_of(at.cylinder)),
        from_adaptor: job.adaptor_in_use(),
        done: &done,
        ..OrderQuestion::at_start(layout)
    })
    .unwrap()
}

/// Walks a job up to its last valve. Gives what was planned when the work on the valves
/// began, once every leak-down was read, and what it came to.
fn walk(layout: &Layout) -> (WorkingOrder, Walk) {
    let mut bay = Bay::open(layout.clone());
    let mut walked = Walk::default();
    let mut planned: Option<WorkingOrder> = None;
    let (mut adaptor, mut bank): (Option<String>, Option<usize>) = (None, None);
    while bay.job.verified_count() < layout.valve_count() {
        let order = order_now(&bay.job);
        let is_read = |c| bay.job.leak(c, Reading::Before).is_some();
        if planned.is_none() && layout.cylinders().all(is_read) {
            bank = bay.job.crank().and_then(|at| layout.bank_of(at.cylinder));
            planned = Some(order.clone());
        }
        let stop = order.stops.first();
        let at = stop.map(|stop| CrankAt {
            cylinder: stop.cylinder,
            offset_deg: stop.offset_deg,
        });
        let adaptors = stop.map(|stop| stop.adaptors.clone()).unwrap_or_default();
        let step = bay.job.next_step_with(at, &adaptors);
        assert_ne!(step, NextStep::Nothing);
        for event in bay.events_for(&step) {
            if planned.is_some() {
                count(layout, &event, &mut walked, &mut bank, &mut adaptor);
            }
            let entry = bay.scribe.entry(event);
            bay.job.apply(&entry).unwrap();
        }
    }
    (planned.unwrap(), walked)
}

fn count(
    layout: &Layout,
    event: &Event,
    walked: &mut Walk,
    bank: &mut Option<usize>,
    adaptor: &mut Option<String>,
) {
    match event {
        Event::CrankTurned { to, turn_deg, .. } => {
            walked.turn_deg += turn_deg.abs();
            let to = layout.bank_of(to.cylinder);
            walked.bank_changes += u32::from(bank.is_some() && *bank != to);
            *bank = to;
        }
        Event::StageSeen {
            valve,
            stage: Stage::SpringHeld,
            ..
        } => {
            let needed = layout.adaptor_of(*valve);
            walked.adaptor_changes += u32::from(adaptor.as_deref().is_some_and(|a| a != needed));
            *adaptor = Some(needed.to_owned());
        }
        _ => {}
    }
}

#[test]
fn every_shipped_layout_is_walked_as_planned() {
    for one in shipped() {
        let layout = Layout::from_json(one.key, one.json.as_bytes()).unwrap();
        let (planned, walked) = walk(&layout);
        println!(
            "{}: planned {} changes, walked {}; banks {} and {}",
            one.key,
            planned.adaptor_changes,
            walked.adaptor_changes,
            planned.bank_changes,
            walked.bank_changes
        );
        assert_eq!(
            walked.adaptor_changes, planned.adaptor_changes,
            "{}",
            one.key
        );
        assert_eq!(walked.bank_changes, planned.bank_changes, "{}", one.key);
        assert!(
            (walked.turn_deg - planned.turn_deg).abs() < 1e-6,
            "{}",
            one.key
        );
    }
}

#[test]
fn where_valves_are_freed_from_their_cams_either_top_serves_and_turns_are_saved() {
    let one = shipped()
        .iter()
        .find(|s| s.key == "v8-cross-plane-32v")
        .unwrap();
    let mut layout = Layout::from_json(one.key, one.json.as_bytes()).unwrap();
    let usual = working_order(&OrderQuestion::at_start(&layout)).unwrap();
    layout.tops = Tops::Either;
    let freed = working_order(&OrderQuestion::at_start(&layout)).unwrap();
    println!(
        "{}: {} min, freed {} min",
        one.key, usual.minutes, freed.minutes
    );
    assert!(freed.minutes <= 0.8 * usual.minutes);
    let (planned, walked) = walk(&layout);
    assert_eq!(walked.adaptor_changes, planned.adaptor_changes);
    assert!((walked.turn_deg - planned.turn_deg).abs() < 1e-6);
}
