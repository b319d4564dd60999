//! Two fingers on the engine's picture in the real window: it grows between them, a valve
//! is tapped where it then lies, and a tap on the paper brings the whole engine back.

use std::thread::sleep;
use std::time::Duration;

use egui::{Pos2, Rect, Vec2, pos2, vec2};
use trayzero::data::store::{Clock, SystemClock};
use trayzero::ui::words::EN;
use trayzero_core::engine::{Layout, shipped};
use trayzero_core::job::{Opening, Person};

use super::display::Display;
use super::drive::Drive;
use super::mirror::Mirror;
use super::trouble::unlike;
use super::{ONE_WINDOW, alone, furnish, make_crew, replay};

const SIZE: Vec2 = vec2(1280.0, 800.0);
/// How far apart the fingers are in the end, as a share of what they were.
const FACTOR: f32 = 2.2;
/// What is deaf after a tap has changed the screen hears again.
const DEAF: Duration = Duration::from_millis(1_500);

impl Drive {
    /// Two fingers part round a place; the mirror hears of it as egui tells it.
    fn pinch(&mut self, at: Pos2) {
        let half = vec2(60.0, 0.0);
        {
            let mut glass = self.display.glass();
            glass.down(1, at - half);
            glass.down(2, at + half);
            for step in 1..=20 {
                let part = 1.0 + (FACTOR - 1.0) * step as f32 / 20.0;
                sleep(Duration::from_millis(15));
                glass.moved(1, at - half * part);
                glass.moved(2, at + half * part);
            }
            sleep(Duration::from_millis(50));
            glass.up(1, at - half * FACTOR);
            glass.up(2, at + half * FACTOR);
        }
        self.mirror.pinch(at, FACTOR);
        self.settle();
        sleep(DEAF);
    }

    /// Taps a place in both.
    fn tap_at(&mut self, at: Pos2) {
        self.display.tap(at);
        self.mirror.tap(at);
        self.settle();
        sleep(DEAF);
    }

    /// A place of the enlarged picture where only paper is.
    fn paper(&self, diagram: Rect) -> Pos2 {
        let all = self.mirror.controls();
        let lies_on = |at: Pos2| {
            all.iter()
                .filter(|(_, r)| r.expand(6.0).contains(at))
                .count()
        };
        let mut places = (0..40).flat_map(|y| (0..40).map(move |x| (x, y)));
        let at = |(x, y): (u8, u8)| {
            let part = vec2(f32::from(x) + 0.5, f32::from(y) + 0.5) / 40.0;
            diagram.min + diagram.size() * part
        };
        let only = places.find(|place| lies_on(at(*place)) == 1);
        at(only.expect("some paper"))
    }
}

fn on_glass(root: &std::path::Path, open: impl FnOnce(&std::path::Path)) -> Drive {
    let data = root.join("data");
    open(&data);
    let mirror = Mirror::of(&data, &data.with_extension("mirror"), SIZE);
    Drive::on(Display::with_glass(SIZE), mirror, &data, SIZE)
}

/// A job on the engine with the most valves.
fn largest(data: &std::path::Path) {
    let store = make_crew(data);
    let engine = shipped().iter().find(|s| s.key == "v16-45-64v").unwrap();
    let ilka = Person::new("Ilka");
    let opening = Opening {
        order_number: None,
        layout: Layout::from_json(engine.key, engine.json.as_bytes()).unwrap(),
        vehicle: "tug 2".into(),
        bay: "Bay 3".into(),
        technician: ilka.clone(),
    };
    let job = store.create_job(opening, SystemClock.now()).unwrap();
    job.close(SystemClock.now(), &ilka);
}

#[test]
fn sixty_four_valves_grow_between_two_fingers_and_a_tap_on_the_paper_brings_them_back() {
    let _alone = alone(&ONE_WINDOW);
    let root = tempfile::tempdir().unwrap();
    let mut d = on_glass(root.path(), largest);
    d.tap("Bay 3 · tug 2");
    if d.mirror.place("The engine stands as shown").is_some() {
        d.tap("The engine stands as shown");
    }
    sleep(DEAF);
    let whole = d.shown("pinch-whole");
    let lines = d.lines();
    d.pinch(pos2(SIZE.x * 0.3, SIZE.y * 0.4));
    let large = d.shown("pinch-large");
    let grown = unlike(&whole, &large);
    assert!(grown > 0.05, "it has grown: {grown}");
    let diagram = d.mirror.place(EN.whole_engine).unwrap();
    let diagram = d.mirror.seen_of(diagram);
    let paper = d.paper(diagram);
    d.tap_at(paper);
    assert!(d.mirror.place(EN.whole_engine).is_none(), "it is back");
    let back = unlike(&whole, &d.shown("pinch-back"));
    assert!(back < 0.002, "as it was: {back}");
    assert_eq!(d.lines(), lines, "nothing was taken");
    println!(
        "pinch: {:.0} % of the picture changed, {:.2} % after the paper was tapped",
        100.0 * grown,
        100.0 * back
    );
}

#[test]
fn a_valve_is_tapped_where_it_lies_between_two_fingers() {
    let _alone = alone(&ONE_WINDOW);
    let root = tempfile::tempdir().unwrap();
    let mut job = None;
    let mut d = on_glass(root.path(), |data| job = Some(furnish(data)));
    d.tap("Bay 3 · sweeper 07");
    d.tap("The engine stands as shown");
    while d.state().air_on().is_none() {
        d.tap_bar();
        if d.mirror.says("The regulator reads") {
            d.read_regulator();
        } else if d.mirror.says("Before you go on") {
            d.tap("Crank is clear");
        }
    }
    // Of the two valves under air the one that the bar does not propose.
    let on_bar = |d: &Drive| {
        let shell = d.mirror.shell();
        let view = shell.desk.view();
        let bay = &shell.screens.bay;
        let step = bay.step(view.job.as_ref().unwrap());
        bay.valve(&step).unwrap()
    };
    let proposed = on_bar(&d);
    let cylinder = d.state().crank().unwrap().cylinder;
    let valves = d.state().valves().map(|(name, _)| name);
    let valves: Vec<_> = valves.filter(|v| v.cylinder == cylinder).collect();
    let at = |d: &Drive, n: usize| d.mirror.place(&EN.valve(valves[n])).unwrap();
    let other = usize::from(proposed == valves[0]);
    let usual = at(&d, other);
    d.pinch(usual.center() - vec2(90.0, 30.0));
    d.keep("pinch-valve");
    let large = at(&d, other);
    d.mirror.rest();
    assert_eq!(at(&d, other), large, "what has grown stays where it is");
    // Valves of so small an engine are as large as they get; they lie elsewhere.
    assert!(!usual.contains(large.center()), "{usual:?} {large:?}");
    d.tap_at(large.center());
    assert_eq!(
        on_bar(&d),
        valves[other],
        "the bar is about the other valve"
    );
    d.tap_bar();
    let stages = |d: &Drive, n: usize| d.state().valve(valves[n]).unwrap().stages_seen;
    assert!(stages(&d, other) > stages(&d, 1 - other));
    d.close();
    let open = replay(&root.path().join("data"), job.unwrap());
    let seen = |n: usize| open.state().valve(valves[n]).unwrap().stages_seen;
    assert_eq!(seen(other), stages(&d, other), "the window took the same");
    assert_eq!(seen(1 - other), stages(&d, 1 - other));
    println!("pinch: a valve has gone from {usual:?} to {large:?}, and took the tap there");
}
