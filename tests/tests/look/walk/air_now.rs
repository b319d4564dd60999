//! Air that is lost in mid-valve: the air figure leads straight to it, and what the screen
//! says then is true.

use egui::vec2;
use trayzero::ui::screens::sheets::Sheet;
use trayzero::ui::words::Language;
use trayzero_core::job::{NextStep, Stage as ValveStage};

use super::shop::furnished;
use super::stage::{Setting, Stage, USUAL};

/// What is taken off and lies loose at an open valve of this engine is no matter here: only
/// what holds it.
fn says(stage: &Stage, words: &str) -> bool {
    let nodes = stage.nodes().values();
    let mut texts = nodes.flat_map(|n| [n.label(), n.value()]).flatten();
    texts.any(|text| text.contains(words))
}

fn keep(stage: &mut Stage, name: &str) {
    let mut path = std::env::current_exe().unwrap();
    for _ in 0..3 {
        path.pop();
    }
    path.push("pictures");
    std::fs::create_dir_all(&path).unwrap();
    for size in [USUAL, vec2(800.0, 1280.0)] {
        let file = format!("air-now-{name}-{}x{}.png", size.x, size.y);
        stage.picture(Setting::of(size, 100), &path.join(file));
    }
}

#[test]
fn the_air_figure_opens_what_a_dropping_valve_needs_and_the_loss_is_two_taps_away() {
    let (_folder, jobs, mut stage) = furnished(Language::English, USUAL);
    let w = stage.words;
    // The depot's third job stands in mid-valve under air.
    stage.job(jobs.depot[2], false);
    let state = || stage.shell.desk.state().unwrap();
    let (cylinder, bar) = state().air_on().unwrap();
    let hanging = state().unlocked().next().unwrap();
    assert_eq!(hanging.cylinder, cylinder);
    assert_eq!(
        state().valve(hanging).unwrap().stage(),
        Some(ValveStage::LocksOut)
    );
    stage.tap(&w.air_on_cylinder(cylinder));
    assert_eq!(
        stage.shell.screens.bay.sheets.sheet(),
        Some(&Sheet::AirNow(cylinder))
    );
    assert!(
        says(&stage, w.hangs_on_air),
        "the valve that hangs on it is named"
    );
    keep(&mut stage, "on");
    // Air cannot go off under it; that is said, not left to a refusal.
    assert!(says(&stage, w.air_off_needs_hold));
    stage.tap(w.air_is_gone);
    let state = stage.shell.desk.state().unwrap();
    assert_eq!((state.air_on(), state.air_lost()), (None, Some(cylinder)));
    assert!(says(&stage, w.nothing_holds_now), "and the bay says so");
    assert!(!says(&stage, w.only_air_holds) && !says(&stage, w.only_hold_holds));
    assert_eq!(
        *stage.shell.desk.view().job.unwrap().next,
        NextStep::AirOn { cylinder }
    );
    keep(&mut stage, "lost");
    assert!(bar > 0.0);
}
