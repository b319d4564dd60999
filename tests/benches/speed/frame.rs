//! One frame of the bay screen with 64 valves: layout, shapes, tessellation.
//!
//! The yardstick is egui's own widget gallery in the same harness. The pointer wanders
//! over both, as a hand does.

use std::sync::Arc;
use std::time::Instant;

use egui::{Context, Event, RawInput, Rect, Ui, pos2, vec2};
use trayzero::data::store::{Clock, SetClock, Store};
use trayzero::desk::Desk;
use trayzero::ui::intent::Intent;
use trayzero::window::Shell;
use trayzero_core::job::{Opening, Person};
use trayzero_tests::engines::shipped_engine;

use super::jobs::{NOW, one_job};
use super::table::{Row, median, share};

const FRAMES: usize = 1500;
/// Frames before the first one that counts: fonts, sizes and galleys are found by then.
const WARMING: usize = 100;

pub fn rows() -> Vec<Row> {
    // As in the window.
    let data = tempfile::tempdir().unwrap();
    let mut shell = shell_with_64_valves(data.path());
    let bay = Harness::new(move |ui| shell.ui(ui));
    #[cfg(feature = "yardsticks")]
    let yardstick = Some(Harness::new(gallery()));
    #[cfg(not(feature = "yardsticks"))]
    let yardstick = None;
    measure(bay, yardstick)
}

fn measure(mut bay: Harness, mut yardstick: Option<Harness>) -> Vec<Row> {
    let (mut figures, mut beside) = (Vec::new(), Vec::new());
    for frame in 0..WARMING + FRAMES {
        let time = bay.frame(frame);
        let other = yardstick.as_mut().map(|harness| harness.frame(frame));
        if frame >= WARMING {
            figures.push(time);
            beside.extend(other);
        }
    }
    let mut rows = Vec::new();
    if !beside.is_empty() {
        rows.push(Row::ratio(
            "one frame of the bay, 64 valves / widget gallery",
            median(&mut figures),
            median(&mut beside),
            "ms",
            1.0,
        ));
    }
    rows.push(Row::at_most(
        "the slowest but one in a hundred of these frames",
        share(&mut figures, 0.99),
        "ms",
        4.0,
    ));
    rows
}

/// egui without a window.
struct Harness {
    ctx: Context,
    draw: Box<dyn FnMut(&mut Ui)>,
}

impl Harness {
    fn new(draw: impl FnMut(&mut Ui) + 'static) -> Self {
        Self {
            ctx: Context::default(),
            draw: Box::new(draw),
        }
    }

    /// Milliseconds that a frame takes, to its triangles.
    fn frame(&mut self, number: usize) -> f64 {
        let size = vec2(1280.0, 800.0);
        let along = (number % 400) as f32 / 400.0;
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(pos2(0.0, 0.0), size)),
            time: Some(number as f64 / 60.0),
            events: vec![Event::PointerMoved(pos2(
                size.x * along,
                size.y * (0.2 + 0.6 * along),
            ))],
            ..RawInput::default()
        };
        let start = Instant::now();
        let output = self.ctx.run_ui(input, |ui| (self.draw)(ui));
        let triangles = self.ctx.tessellate(output.shapes, output.pixels_per_point);
        let time = start.elapsed().as_secs_f64() * 1e3;
        assert!(number == 0 || !triangles.is_empty());
        time
    }
}

/// The bay with a V16 on it, its valves at many stages.
fn shell_with_64_valves(data: &std::path::Path) -> Shell {
    let clock: Arc<dyn Clock> = Arc::new(SetClock::at(NOW));
    let store = Store::open(data, NOW).unwrap();
    let who = Person::new("Zoë Ferro");
    let opening = Opening {
        order_number: None,
        layout: shipped_engine("v16-45-64v"),
        vehicle: "Van 12".to_owned(),
        bay: "Bay 2".to_owned(),
        technician: who.clone(),
    };
    let mut job = store.create_job(opening, NOW).unwrap();
    let id = job.id();
    // Everything up to the middle of a cylinder in the second half.
    for event in one_job("v16-45-64v").into_iter().skip(1) {
        job.propose(NOW, &who, &[event]).unwrap();
        if job.state().verified_count() >= 40 && job.state().loose() > 0 {
            break;
        }
    }
    drop(job);
    let mut shell = Shell::new(Desk::open(store, clock).unwrap());
    shell.desk.carry_out(Intent::OpenJob(id));
    assert_eq!(shell.desk.state().unwrap().valves().count(), 64);
    shell
}

#[cfg(feature = "yardsticks")]
fn gallery() -> impl FnMut(&mut Ui) {
    let mut gallery = egui_demo_lib::WidgetGallery::default();
    move |ui| {
        egui_demo_lib::View::ui(&mut gallery, ui);
    }
}
