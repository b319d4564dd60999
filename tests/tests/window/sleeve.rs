//! Palms, second fingers, sliding taps and sleeves on the screens, without a window: every
//! tap that was meant counts once, and nothing else does.

use std::collections::BTreeMap;
use std::path::Path;

use egui::{Event, Pos2, Rect, TouchDeviceId, TouchId, TouchPhase, Vec2, pos2, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{By, NodeT, Queryable};
use trayzero::desk::Desk;
use trayzero::ui::glass::Glass;
use trayzero::ui::glass::tracker::TAP_SLIDE;
use trayzero::ui::intent::{Intent, Screen};
use trayzero::ui::screens::sheets::Sheet;
use trayzero::ui::words::EN;
use trayzero::window::Shell;
use trayzero_core::job::JobState;
use trayzero_tests::dice::Dice;
use uuid::Uuid;

use super::furnish;
use trayzero::data::store::{Clock, Store, SystemClock};

const SIZE: Vec2 = vec2(1280.0, 800.0);

/// The screens under real fingers.
struct Touched {
    harness: Harness<'static, Shell>,
    glass: Glass,
    now_s: f64,
}

fn touch(id: u64, phase: TouchPhase, pos: Pos2) -> Event {
    Event::Touch {
        device_id: TouchDeviceId(1),
        id: TouchId(id),
        phase,
        pos,
        force: None,
    }
}

impl Touched {
    fn on(data: &Path) -> Self {
        let clock = std::sync::Arc::new(SystemClock);
        let store = Store::open(data, clock.now()).unwrap();
        let shell = Shell::new(Desk::open(store, clock).unwrap());
        let harness = Harness::builder()
            .with_size(SIZE)
            .with_step_dt(0.02)
            .build_ui_state(|ui, shell: &mut Shell| shell.ui(ui), shell);
        let mut touched = Self {
            harness,
            glass: Glass::default(),
            now_s: 1.0,
        };
        touched.rest(0.2);
        touched
    }

    fn frame(&mut self, events: Vec<Event>) {
        let ctx = self.harness.ctx.clone();
        let input = self.harness.input_mut();
        input.events.extend(events);
        input.time = Some(self.now_s);
        self.glass.hear(&ctx, input);
        self.harness.step();
        self.now_s += 0.02;
    }

    fn rest(&mut self, for_s: f64) {
        let until_s = self.now_s + for_s;
        while self.now_s < until_s {
            self.frame(Vec::new());
        }
    }

    /// After every guard's time.
    fn pause(&mut self) {
        self.rest(0.1);
        self.now_s += 1.5;
        self.rest(0.1);
    }

    fn tap(&mut self, id: u64, at: Pos2, slide: f32) {
        let step = vec2(slide / 2.0, 0.0);
        self.frame(vec![touch(id, TouchPhase::Start, at)]);
        self.frame(vec![touch(id, TouchPhase::Move, at + step)]);
        self.frame(vec![touch(id, TouchPhase::Move, at + 2.0 * step)]);
        self.frame(vec![touch(id, TouchPhase::End, at + 2.0 * step)]);
        self.rest(0.1);
    }

    fn place(&self, name: &str) -> Rect {
        let mut all = self.harness.query_all(By::new());
        let node = all.find(|n| n.accesskit_node().label().as_deref() == Some(name));
        node.unwrap_or_else(|| panic!("no {name:?}")).rect()
    }

    fn shell(&mut self) -> &mut Shell {
        self.harness.state_mut()
    }

    /// What a touch may change: events, the screen, the sheet, the settings.
    fn stands(&mut self) -> (usize, Screen, Option<Sheet>, String) {
        let shell = self.shell();
        let events = shell.desk.state().map_or(0, JobState::event_count);
        let screen = shell.desk.view().screen;
        let sheet = shell.screens.bay.sheets.sheet().cloned();
        (
            events,
            screen,
            sheet,
            format!("{:?}", shell.desk.settings()),
        )
    }

    fn open(&mut self, job: Uuid) {
        let shell = self.shell();
        shell.carry_out(Intent::OpenJob(job));
        shell.screens.bay.sheets.close();
        self.pause();
    }

    /// Whether a deed opens the sheet that the button "Dropped one" opens, and nothing else.
    fn opens(&mut self, deed: impl FnOnce(&mut Self, Pos2)) -> bool {
        self.pause();
        let before = self.stands();
        let at = self.place(EN.dropped_one).center();
        deed(self, at);
        let after = self.stands();
        let is_open = after.2 == Some(Sheet::Drop);
        self.shell().screens.bay.sheets.close();
        self.pause();
        let now = self.stands();
        assert_eq!(now, before, "nothing but the sheet");
        is_open
    }
}

fn nine() -> Vec<Pos2> {
    let at = |n: usize| {
        pos2(
            SIZE.x * (1 + 2 * (n % 3)) as f32 / 6.0,
            SIZE.y * (1 + 2 * (n / 3)) as f32 / 6.0,
        )
    };
    (0..9).map(at).collect()
}

#[test]
fn a_palm_a_second_finger_and_a_slide_cost_no_tap_and_take_none() {
    let root = tempfile::tempdir().unwrap();
    let data = root.path().join("data");
    let job = furnish(&data);
    let mut t = Touched::on(&data);
    t.open(job);
    let mut meant = 0;
    for place in nine() {
        // The palm rests already, and goes on resting.
        t.frame(vec![touch(9, TouchPhase::Start, place)]);
        t.pause();
        assert!(t.opens(|t, at| t.tap(1, at, 0.0)), "palm at {place:?}");
        t.frame(vec![touch(9, TouchPhase::End, place)]);
        t.rest(0.1);
        // The palm comes a moment before the finger, and goes after it.
        let together = t.opens(|t, at| {
            t.frame(vec![touch(9, TouchPhase::Start, place)]);
            t.rest(0.2);
            t.tap(1, at, 0.0);
            t.frame(vec![touch(9, TouchPhase::End, place)]);
            t.rest(0.1);
        });
        assert!(together, "palm just before, at {place:?}");
        meant += 2;
    }
    for (slide, is_tap) in [(8.0, true), (16.0, true), (24.0, true), (32.0, false)] {
        assert_eq!(t.opens(|t, at| t.tap(1, at, slide)), is_tap, "{slide}");
        meant += usize::from(is_tap);
    }
    // Two fingers on two buttons: one thing, not two, and not none.
    t.pause();
    let before = t.stands();
    let (a, b) = (
        t.place(EN.dropped_one).center(),
        t.place(EN.part_changed).center(),
    );
    t.frame(vec![
        touch(1, TouchPhase::Start, a),
        touch(2, TouchPhase::Start, b),
    ]);
    t.frame(Vec::new());
    t.frame(vec![
        touch(1, TouchPhase::End, a),
        touch(2, TouchPhase::End, b),
    ]);
    t.rest(0.1);
    assert_eq!(t.stands().2, Some(Sheet::Drop));
    assert_eq!(t.stands().0, before.0);
    println!("{meant} taps meant with palms, second fingers and slides: all counted, once each");
}

#[test]
fn keys_that_a_slow_frame_brings_together_are_all_struck() {
    let root = tempfile::tempdir().unwrap();
    let data = root.path().join("data");
    furnish(&data);
    let mut t = Touched::on(&data);
    t.shell().carry_out(Intent::Go(Screen::NewJob));
    t.pause();
    let field = t.place(EN.vehicle).center();
    t.tap(1, field, 0.0);
    t.pause();
    let keys = ["V", "A", "N"].map(|key| t.place(key).center());
    let strikes = keys.iter().flat_map(|key| {
        [
            touch(1, TouchPhase::Start, *key),
            touch(1, TouchPhase::End, *key),
        ]
    });
    t.frame(strikes.collect());
    t.rest(0.3);
    let mut nodes = t.harness.query_all(By::new());
    let mut has = |text: &str| nodes.any(|n| n.accesskit_node().value().as_deref() == Some(text));
    assert!(has("Van"), "each of them once, in turn");
}

#[test]
fn a_list_goes_with_the_finger_to_the_point_also_when_it_rests_on_the_way() {
    let root = tempfile::tempdir().unwrap();
    let data = root.path().join("data");
    furnish(&data);
    let mut t = Touched::on(&data);
    t.shell().carry_out(Intent::Go(Screen::Settings));
    t.pause();
    let before = t.place(EN.add_person).top();
    let begin = pos2(300.0, 600.0);
    t.frame(vec![touch(1, TouchPhase::Start, begin)]);
    let mut at = begin - vec2(0.0, TAP_SLIDE);
    t.frame(vec![touch(1, TouchPhase::Move, at)]);
    for rest_s in [0.0, 0.3, 0.6] {
        t.rest(rest_s);
        for _ in 0..4 {
            at.y -= 15.0;
            t.frame(vec![touch(1, TouchPhase::Move, at)]);
        }
    }
    // It stops before it is lifted, so that nothing is thrown.
    t.rest(0.3);
    t.frame(vec![touch(1, TouchPhase::End, at)]);
    t.pause();
    let went = before - t.place(EN.add_person).top();
    assert!((went - 180.0).abs() < 0.5, "it went {went} of 180 points");
}

#[test]
fn a_wiping_sleeve_does_nothing_on_any_screen() {
    let root = tempfile::tempdir().unwrap();
    let data = root.path().join("data");
    let job = furnish(&data);
    let mut t = Touched::on(&data);
    let mut dice = Dice::new(11);
    let mut wiped = BTreeMap::new();
    let mut wipe = |t: &mut Touched, name: String| {
        t.pause();
        let before = t.stands();
        let mut strokes = 0;
        while strokes < 200 {
            let mut place = || {
                pos2(
                    dice.below(SIZE.x as usize) as f32,
                    dice.below(SIZE.y as usize) as f32,
                )
            };
            let (from, to) = (place(), place());
            if from.distance(to) < 40.0 {
                continue;
            }
            strokes += 1;
            let id = 1 + dice.below(3) as u64;
            let mid = from + (to - from) / 2.0;
            t.frame(vec![touch(id, TouchPhase::Start, from)]);
            t.frame(vec![
                touch(id, TouchPhase::Move, mid),
                touch(id, TouchPhase::Move, to),
                touch(id, TouchPhase::End, to),
            ]);
        }
        t.pause();
        assert_eq!(t.stands(), before, "{name}");
        wiped.insert(name, strokes);
    };
    for screen in [
        Screen::Bays,
        Screen::NewJob,
        Screen::Layouts,
        Screen::Settings,
        Screen::Board,
    ] {
        t.shell().carry_out(Intent::Go(screen));
        wipe(&mut t, format!("{screen:?}"));
    }
    t.open(job);
    wipe(&mut t, "bay".to_owned());
    for sheet in [
        Sheet::More,
        Sheet::Drop,
        Sheet::Part,
        Sheet::Parts,
        Sheet::Crank,
        Sheet::TakeIn,
        Sheet::Gate(0),
        Sheet::Steps,
        Sheet::Card,
    ] {
        t.shell().screens.bay.sheets.open(sheet.clone());
        wipe(&mut t, format!("{sheet:?}"));
    }
    let strokes: usize = wiped.values().sum();
    println!(
        "{strokes} strokes over {} screens and sheets: no event, no step, no setting",
        wiped.len()
    );
}
