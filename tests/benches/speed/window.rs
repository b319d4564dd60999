//! The real window under a display of its own, beside an empty one with the same
//! renderer: start, memory, idling, size of the program.
//!
//! Both are built by `tests/benches/run` before this runs.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::thread::sleep;
use std::time::Duration;

use egui::{Event, Modifiers, PointerButton, Pos2, Vec2, accesskit::Role};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use trayzero::data::store::{Clock, Store, SystemClock};
use trayzero::demo::create_demo_data;
use trayzero::desk::Desk;
use trayzero::window::Shell;
use trayzero_core::job::JobState;

use super::display::{Display, Running, SIZE};
use super::table::{Row, median};
use super::ten_years::ten_years;

const STARTS: usize = 15;
/// By so much the edge of a round corner may differ from frame to frame.
const EDGE: u8 = 40;
const IDLE: Duration = Duration::from_secs(20);
const SETTLED: Duration = Duration::from_secs(5);

pub fn rows() -> Vec<Row> {
    let (program, empty) = (built("trayzero"), built("examples/empty_window"));
    let data = tempfile::tempdir().unwrap();
    let clock: Arc<dyn Clock> = Arc::new(SystemClock);
    let store = Store::open(data.path(), clock.now()).unwrap();
    create_demo_data(&store, clock.now()).unwrap();
    drop(store);
    let data = data.path().to_str().unwrap();
    let display = Display::start();
    let args = ["--data", data];
    let (mut starts, mut bare) = (Vec::new(), Vec::new());
    for _ in 0..STARTS {
        bare.push(display.open(&empty, &[]).1);
        starts.push(display.open(&program, &args).1);
    }
    assert_first_is_whole(&display, &program, &args);
    let bare_idle = idle(&display.open(&empty, &[]).0);
    let (running, _) = display.open(&program, &args);
    sleep(Duration::from_millis(500));
    display.tap(bay_with_air_on(Path::new(data)));
    let bay_idle = idle(&running);
    drop(running);
    let mut rows = after_ten_years(&display, &program);
    rows.extend([
        Row::ratio(
            "start to the first screen, demo shop / empty window",
            median(&mut starts),
            median(&mut bare),
            "ms",
            1.25,
        ),
        Row::ratio(
            "resident memory, bay screen / empty window",
            bay_idle.resident_mb,
            bare_idle.resident_mb,
            "MB",
            1.30,
        ),
        Row {
            what: "processor in 20 idle seconds, air on / empty window".to_owned(),
            figure: bay_idle.processor_s,
            yardstick: Some(bare_idle.processor_s),
            unit: "s",
            goal: super::table::Goal::More(0.02),
        },
        Row::ratio(
            "stripped program / empty window",
            megabytes(&program),
            megabytes(&empty),
            "MB",
            1.6,
        ),
    ]);
    rows
}

/// A shop that has worked for ten years beside one that begins.
fn after_ten_years(display: &Display, program: &Path) -> Vec<Row> {
    let (years, empty) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    ten_years(years.path());
    let folders = [years.path(), empty.path()].map(|path| path.to_str().unwrap());
    let [years, empty] = folders.map(|folder| ["--data", folder]);
    let (mut starts, mut bare) = (Vec::new(), Vec::new());
    // The first start makes what the folder lacks.
    display.open(program, &empty);
    for _ in 0..STARTS {
        bare.push(display.open(program, &empty).1);
        starts.push(display.open(program, &years).1);
    }
    let resident = |args: &[&str]| {
        let (running, _) = display.open(program, args);
        sleep(SETTLED);
        running.resident_mb()
    };
    let (bare_mb, years_mb) = (resident(&empty), resident(&years));
    vec![
        Row::ratio(
            "start, 10,000 finished jobs and 60 under way / empty folder",
            median(&mut starts),
            median(&mut bare),
            "ms",
            1.30,
        ),
        Row {
            what: "resident memory, 10,000 finished jobs and 60 under way / empty folder"
                .to_owned(),
            figure: years_mb,
            yardstick: Some(bare_mb),
            unit: "MB",
            goal: super::table::Goal::More(15.0),
        },
    ]
}

/// What is timed is a screen and no empty window: the first that shows is what stays.
fn assert_first_is_whole(display: &Display, program: &Path, args: &[&str]) {
    let (_running, _) = display.open(program, args);
    let first = display.picture();
    sleep(Duration::from_secs(2));
    let settled = display.picture();
    let differ = |(a, b): &(&[u8], &[u8])| a.iter().zip(*b).any(|(a, b)| a.abs_diff(*b) > EDGE);
    let pixels = first.chunks(4).zip(settled.chunks(4));
    let differing = pixels.filter(differ).count();
    // A minute of air may pass between the two.
    assert!(differing < 1_000, "{differing} pixels came later");
}

struct Idle {
    resident_mb: f64,
    processor_s: f64,
}

fn idle(running: &Running) -> Idle {
    sleep(SETTLED);
    let (resident_mb, before) = (running.resident_mb(), running.processor_s());
    sleep(IDLE);
    Idle {
        resident_mb,
        processor_s: running.processor_s() - before,
    }
}

fn megabytes(path: &Path) -> f64 {
    std::fs::metadata(path).unwrap().len() as f64 / 1e6
}

/// What `cargo build --release` has left beside this bench.
fn built(name: &str) -> PathBuf {
    let mut path = std::env::current_exe().unwrap();
    path.pop();
    path.pop();
    path.push(name);
    assert!(
        path.is_file(),
        "{} is not built: run tests/benches/run",
        path.display()
    );
    path
}

/// Where the first screen shows the bay whose air is on.
fn bay_with_air_on(data: &Path) -> Pos2 {
    let clock: Arc<dyn Clock> = Arc::new(SystemClock);
    let store = Store::open(data, clock.now()).unwrap();
    let shell = Shell::new(Desk::open(store, clock).unwrap());
    let mut harness = Harness::builder()
        .with_size(Vec2::new(f32::from(SIZE.0), f32::from(SIZE.1)))
        .build_ui_state(|ui, shell: &mut Shell| shell.ui(ui), shell);
    harness.run_steps(3);
    let bay = harness
        .query_all_by_role(Role::Button)
        .find(|node| {
            let said = node.accesskit_node().label().unwrap_or_default();
            said.starts_with("Bay 2") && said.contains("air on")
        })
        .expect("the first screen shows the bay");
    let at = bay.rect().center();
    for pressed in [true, false] {
        harness.event(Event::PointerMoved(at));
        harness.event(Event::PointerButton {
            pos: at,
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        });
        harness.run_steps(1);
    }
    harness.run_steps(2);
    let air_on = harness.state().desk.state().and_then(JobState::air_on);
    assert!(
        air_on.is_some(),
        "a tap there opens the bay whose air is on"
    );
    at
}
