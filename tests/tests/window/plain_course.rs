//! The taps of one valve in the real window when nothing goes wrong.

use egui::vec2;
use trayzero_core::job::NextStep;

use super::drive::Drive;
use super::{ONE_WINDOW, alone, furnish};

/// Valves of the cylinder that is worked on.
const VALVES: usize = 2;

/// Taps by what they were for.
#[derive(Default)]
struct Taps {
    /// The stages of the cylinder's valves.
    stages: usize,
    /// Air on and air off.
    air: usize,
    /// Cautions, which are read once a job.
    cautions: usize,
    /// Hose, wrench and crank.
    cylinder: usize,
}

impl Taps {
    /// Taps that one valve takes, with its share of the cylinder's air.
    fn of_one_valve(&self) -> f64 {
        (self.stages + self.air) as f64 / VALVES as f64
    }
}

/// The step that the bar shows.
pub fn next(d: &Drive) -> NextStep {
    d.mirror.shell().desk.view().job.unwrap().next.clone()
}

/// The tap of the step that the bar shows, with what it leads to.
fn take_step(d: &mut Drive, taps: &mut Taps) {
    let step = next(d);
    let before = d.taps;
    d.tap_bar();
    if d.mirror.says("Before you go on") {
        d.tap("Crank is clear");
        taps.cautions += 1;
    }
    let read = d.taps - before;
    if matches!(step, NextStep::AirOn { .. }) {
        d.read_regulator();
    }
    // The tap that reads the caution is its own, the bar is tapped once all the same.
    let count = d.taps - before - (read - 1);
    match step {
        NextStep::SeeStage { .. } => taps.stages += count,
        NextStep::AirOn { .. } | NextStep::AirOff { .. } => taps.air += count,
        _ => taps.cylinder += count,
    }
}

#[test]
fn the_plain_course_of_one_valve_takes_at_most_eight_taps() {
    let _alone = alone(&ONE_WINDOW);
    let root = tempfile::tempdir().unwrap();
    let data = root.path().join("data");
    furnish(&data);
    let mut d = Drive::of(&data, vec2(1280.0, 800.0));
    d.tap("Bay 3 · sweeper 07");
    d.tap("The engine stands as shown");
    let mut taps = Taps::default();
    let first = d.taps;
    let done = d.state().verified_count();
    while d.state().verified_count() < done + VALVES || d.state().air_on().is_some() {
        take_step(&mut d, &mut taps);
        assert!(d.taps - first < 60, "{}", d.mirror.bar());
    }
    d.close();
    let one = taps.of_one_valve();
    println!(
        "taps of one valve, undisturbed: {one} ({} for its stages, and half of the {} of the \
         cylinder's air, which is put on once for both valves); besides, for the cylinder: {} \
         for hose and crank; once a job: {} for cautions",
        taps.stages / VALVES,
        taps.air,
        taps.cylinder,
        taps.cautions
    );
    assert_eq!(taps.stages, 6 * VALVES, "one tap a stage");
    assert!(one <= 8.0, "{one}");
    assert!(one > 6.0, "air is counted in");
}
