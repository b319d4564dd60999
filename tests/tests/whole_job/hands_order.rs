//! The order in which a job is asked for, against a copy of its own of the trade's order
//! (common practice, no source): prepare, first leak-down, cylinder by cylinder, close up.

use trayzero_core::engine::{Layout, shipped};
use trayzero_core::job::{CrankAt, HANDS_ORDER, JobState, NextStep, Reading, Stage, Step};
use trayzero_tests::bay::Bay;
use trayzero_tests::engines::with_offsets;

/// The rows of the table, first to last, as hands can do them.
const ROWS: [&str; 31] = [
    "what two tablets disagree about",
    "air that fell away",
    "the valve in hand",
    "a swapped part",
    "the cylinder in hand",
    "a lost part",
    "the take-in",
    "engine cold",
    "battery off",
    "connectors off",
    "tubes off",
    "the kit counted in",
    "plugs out, vented covers in",
    "the first leak-down",
    "the foreman looks",
    "new seals issued",
    "the cover lifted, its stoppers in",
    "the crank turned to a cylinder",
    "the wrench off the crank",
    "the hose in",
    "the bank cleared, counted and covered",
    "the crank turned twice by hand",
    "plugs out again",
    "the second leak-down",
    "connectors on",
    "battery on",
    "oil filled",
    "first start",
    "the exhaust watched",
    "codes cleared",
    "the job closed",
];

/// What is asked, in the trade's own words.
fn deed(step: &NextStep, verified: usize) -> &'static str {
    match step {
        NextStep::TakeIn => "take-in",
        NextStep::See(Step::EngineCold) => "cold",
        NextStep::See(Step::BatteryOff) => "battery off",
        NextStep::See(Step::ConnectorsOff) => "connectors off",
        NextStep::See(Step::TubesOff) => "tubes off",
        NextStep::CountKit => "kit",
        NextStep::PlugsOut { .. } if verified == 0 => "plugs out",
        NextStep::PlugsOut { .. } => "plugs out again",
        NextStep::ReadLeak {
            when: Reading::Before,
            ..
        } => "first leak-down",
        NextStep::ReadLeak {
            when: Reading::After,
            ..
        } => "second leak-down",
        NextStep::LiftCover { .. } => "cover off",
        NextStep::SeeStage { .. } => "a valve",
        NextStep::Gate { .. } => "gate",
        NextStep::See(Step::TurnedTwiceByHand) => "turned by hand",
        NextStep::See(Step::ConnectorsOn) => "connectors on",
        NextStep::See(Step::BatteryOn) => "battery on",
        NextStep::See(Step::OilFilled) => "oil",
        NextStep::See(Step::FirstStart) => "start",
        NextStep::See(Step::SmokeWatched) => "smoke",
        NextStep::See(Step::CodesCleared) => "codes",
        NextStep::CloseJob => "closed",
        _ => "",
    }
}

/// All of one before any of the next.
const DEEDS: [&str; 21] = [
    "take-in",
    "cold",
    "battery off",
    "connectors off",
    "tubes off",
    "kit",
    "plugs out",
    "first leak-down",
    "cover off",
    "a valve",
    "gate",
    "turned by hand",
    "plugs out again",
    "second leak-down",
    "connectors on",
    "battery on",
    "oil",
    "start",
    "smoke",
    "codes",
    "closed",
];

/// Inside one cylinder: what comes after what.
const STAGES: [Stage; 6] = [
    Stage::Positioned,
    Stage::SpringHeld,
    Stage::LocksOut,
    Stage::SealFitted,
    Stage::LocksIn,
    Stage::Verified,
];

/// What a tester needs: the plug out, the piston at its compression top, nothing on the
/// crank, and before the work every spring as it came.
fn a_tester_may_be_put_in(job: &JobState, cylinder: u8, when: Reading) {
    let layout = job.layout().unwrap();
    let known = job.cylinder(cylinder).unwrap();
    assert!(known.plug_out && !known.hose_in, "cylinder {cylinder}");
    assert_eq!(job.crank_deg(), layout.tdc_deg(cylinder), "at its top");
    assert!(!job.wrench_on() && job.air_on().is_none());
    let touched = job.valves().filter(|(_, v)| v.stages_seen > 0).count();
    let wanted = match when {
        Reading::Before => 0,
        Reading::After => layout.valve_count(),
    };
    assert_eq!(touched, wanted, "springs as they came, or all home");
}

#[test]
fn the_table_stands_in_the_order_of_hands_and_says_why() {
    assert_eq!(HANDS_ORDER.each_ref().map(|row| row.what), ROWS);
    for row in &HANDS_ORDER {
        let is_sentence = row.why.ends_with('.') && row.why.split_whitespace().count() >= 4;
        assert!(is_sentence, "{}: {}", row.what, row.why);
        let same = HANDS_ORDER.iter().filter(|r| r.why == row.why).count();
        assert_eq!(same, 1, "{} gives a reason of its own", row.what);
    }
}

#[test]
fn every_step_of_every_engine_is_asked_in_the_order_of_hands() {
    for one in shipped() {
        let layout = Layout::from_json(one.key, one.json.as_bytes()).unwrap();
        let banks = layout.banks.len();
        let mut bay = Bay::open(layout);
        let mut asked: Vec<&str> = Vec::new();
        let mut stages: Vec<(u8, Stage)> = Vec::new();
        let mut readings = 0;
        bay.work_until(|job, step| {
            if let NextStep::ReadLeak { cylinder, when } = step {
                a_tester_may_be_put_in(job, *cylinder, *when);
                readings += 1;
            }
            if let NextStep::SeeStage { valve, stage } = step {
                stages.push((valve.cylinder, *stage));
            }
            let deed = deed(step, job.verified_count());
            if !deed.is_empty() {
                asked.push(deed);
            }
            false
        });
        asked.dedup();
        let one_after_another = |of: &[&str]| {
            let mut places = of.iter().map(|d| DEEDS.iter().position(|known| known == d));
            places.all(|p| p.is_some())
                && of.is_sorted_by_key(|d| DEEDS.iter().position(|k| k == d))
        };
        // With one bank each deed has one time; with more, a gate is followed by the valves
        // of the next bank or by another gate alone.
        assert!(one_after_another(&asked), "{}: {asked:?}", one.key);
        assert_eq!(
            asked.len(),
            DEEDS.len(),
            "{}, {banks} banks: {asked:?}",
            one.key
        );
        assert_eq!(readings, 2 * bay.job.layout().unwrap().cylinder_count());
        for cylinder in bay.job.layout().unwrap().cylinders() {
            let of_it = stages.iter().filter(|(c, _)| *c == cylinder);
            let mut order: Vec<Stage> = of_it.map(|(_, s)| *s).collect();
            assert_eq!(order.remove(0), STAGES[0], "the follower first");
            assert_eq!(order.pop(), Some(STAGES[5]), "verified last");
        }
    }
}

#[test]
fn a_planned_stop_at_a_top_is_worked_where_the_cylinder_is_worked() {
    let mut bay = Bay::open(with_offsets("inline-4-8v", 1, false));
    let is_off_its_top = |at: &CrankAt| at.offset_deg != 0.0;
    bay.work_until(|_, step| matches!(step, NextStep::Turn { to, .. } if is_off_its_top(to)));
    let step = bay.job.next_step(None);
    let NextStep::Turn { to, .. } = step else {
        panic!("{step:?}");
    };
    let top = CrankAt {
        offset_deg: 0.0,
        ..to
    };
    assert_eq!(bay.job.next_step(Some(top)), step);
}
