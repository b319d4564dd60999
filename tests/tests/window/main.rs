//! The real window under a virtual display, driven by real pointer events: one valve
//! through all six stages, a dropped lock, the gate, two counts by two people, the cover.
//! The journal on disk afterwards replays to the same state.
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    missing_docs,
    clippy::zombie_processes
)]

mod bus;
mod display;
mod drive;
mod finger;
mod made;
mod mirror;
mod newcomer;
mod office;
mod on_glass;
mod pedal;
mod pinch;
mod plain_course;
mod process;
mod scroll;
mod sleeve;
mod soak;
mod trouble;

use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use display::wait_for;
use drive::Drive;
use egui::{Vec2, vec2};
use trayzero::data::crew::{Code, CodeCost, Crew, Role};
use trayzero::data::store::{Clock, OpenJob, Store, SystemClock};
use trayzero_core::engine::{Layout, shipped};
use trayzero_core::job::{Caution, Event, JobState, Opening, Person, SearchPlace};
use trayzero_core::parts::{Item, Place};
use trayzero_tests::demo_script::technician::Technician;
use uuid::Uuid;

const CODES: [(&str, &str); 3] = [
    ("Henrike", "714025"),
    ("Ilka", "258614"),
    ("Tomas", "936241"),
];

/// Makes a data folder with a crew: a foreman and two technicians with codes.
fn make_crew(data: &Path) -> Store {
    let clock = SystemClock;
    let store = Store::open(data, clock.now()).unwrap();
    let cost = CodeCost {
        memory_kib: 64,
        passes: 1,
    };
    let mut crew = Crew::open(store.root(), Arc::clone(store.tablet()), cost);
    let code = |text: &str| Code::new(text.to_owned());
    crew.add_first_foreman(CODES[0].0, &code(CODES[0].1), clock.now())
        .unwrap();
    for (name, text) in &CODES[1..] {
        let foreman = Person::new(CODES[0].0);
        let agreed = crew
            .approve(&foreman, &code(CODES[0].1), clock.now())
            .unwrap();
        crew.add(
            name,
            Role::Technician,
            Some(&code(text)),
            agreed,
            clock.now(),
        )
        .unwrap();
    }
    store
}

/// A data folder with a crew and a small engine whose last cylinder is still untouched.
fn furnish(data: &Path) -> Uuid {
    let clock = SystemClock;
    let store = make_crew(data);
    let engine = shipped().iter().find(|s| s.key == "inline-4-8v").unwrap();
    let layout = Layout::from_json(engine.key, engine.json.as_bytes()).unwrap();
    let ilka = Person::new("Ilka");
    let opening = Opening {
        order_number: None,
        layout,
        vehicle: "sweeper 07".into(),
        bay: "Bay 3".into(),
        technician: ilka.clone(),
    };
    let mut job = store.create_job(opening, clock.now()).unwrap();
    let mut technician = Technician {
        name: ilka.clone(),
        second: Person::new("Tomas"),
        foreman: Person::new("Henrike"),
        leaks: std::collections::BTreeMap::new(),
        found_at: SearchPlace::BenchAndFloor,
        entering: Box::new(Uuid::now_v7),
    };
    for caution in [
        Caution::Spring,
        Caution::Crank,
        Caution::Heat,
        Caution::Battery,
    ] {
        let seen = [Event::CautionSeen { caution }];
        job.propose(clock.now(), &ilka, &seen).unwrap();
    }
    while job.state().verified_count() < 6 || job.state().aboard() == 0 || !at_last(job.state()) {
        let events = technician.tap(job.state(), None);
        assert!(!events.is_empty(), "the engine is not ready");
        job.propose(clock.now(), &ilka, &events).unwrap();
    }
    let id = job.id();
    job.close(clock.now(), &ilka);
    id
}

/// The crank stands at the last cylinder that is not verified yet.
fn at_last(state: &JobState) -> bool {
    state
        .crank()
        .is_some_and(|c| !state.cylinder_verified(c.cylinder))
}

/// One window at a time: two would slow each other down.
static ONE_WINDOW: Mutex<()> = Mutex::new(());

fn alone(one: &'static Mutex<()>) -> MutexGuard<'static, ()> {
    one.lock().unwrap_or_else(PoisonError::into_inner)
}

fn drive(size: Vec2) {
    let _alone = alone(&ONE_WINDOW);
    let root = tempfile::tempdir().unwrap();
    let data = root.path().join("data");
    let job = furnish(&data);
    let mut d = Drive::of(&data, size);
    d.keep("bays");
    d.tap("Bay 3 · sweeper 07");
    d.keep("card");
    d.tap("The engine stands as shown");
    whole_course(&mut d);
    d.keep("closed");
    d.close();
    let events = replay(&data, job);
    let state = events.state();
    assert!(state.is_bank_closed(0), "the cover is on");
    assert_eq!(state.loose(), 0);
    assert_eq!(state.adrift(), 0);
    let same = |s: &JobState| {
        let valves: Vec<u8> = s.valves().map(|(_, v)| v.stages_seen).collect();
        (
            valves,
            s.ledger().clone(),
            s.drops().len(),
            s.counts().len(),
            s.event_count(),
        )
    };
    assert_eq!(
        same(state),
        same(d.state()),
        "window and mirror came to the same job"
    );
    println!(
        "window {}x{}: {} taps, {} events",
        size.x,
        size.y,
        d.taps,
        state.event_count()
    );
}

/// From the hose in the last cylinder to the cover on.
fn whole_course(d: &mut Drive) {
    d.keep("bay");
    d.go_to_air_on();
    d.tap_bar(); // both locks in sight
    d.keep("spring-held");
    d.tap("Dropped one");
    d.tap("1 lock flew off");
    d.tap("It fell");
    assert_eq!(d.state().adrift(), 1);
    d.tap_bar(); // new seal is home
    d.tap_bar(); // locks home: refused, one is missing
    assert_eq!(d.refused(), Some("R401"));
    d.keep("refused");
    // The lock is found before the valve can be closed.
    d.tap("adrift: 1");
    d.tap("on the head");
    d.tap("Found it: tray");
    assert_eq!(d.state().adrift(), 0);
    d.tap_bar(); // locks home
    let mut course = 0;
    while d.state().verified_count() < 8 {
        d.tap_bar();
        course += 1;
        assert!(course < 20, "{}", d.mirror.bar());
    }
    close_up(d);
}

impl Drive {
    /// To air on in the last cylinder: hose in, if it is not yet; both followers out; air on
    /// after its caution.
    fn go_to_air_on(&mut self) {
        while self.state().air_on().is_none() {
            self.tap_bar();
            if self.mirror.says("Before you go on") {
                self.tap("Crank is clear");
            } else if self.mirror.says("The regulator reads") {
                self.keep("air");
                self.read_regulator();
            }
        }
    }
}

fn close_up(d: &mut Drive) {
    while !d.mirror.bar().contains("count") {
        if d.mirror.bar().starts_with("Something is adrift") {
            break;
        }
        d.tap_bar();
    }
    // A stopper rolls off the bench: the gate names it.
    d.tap("Dropped one");
    d.tap("kit");
    d.tap("stopper");
    d.tap("It fell");
    assert_eq!(d.state().adrift(), 1);
    let holds = d.state().gate(0);
    assert!(holds.iter().any(|h| h.code() == "R505"), "{holds:?}");
    d.keep("gate-adrift");
    d.tap_bar();
    d.tap("bench and floor");
    d.tap("Found it: kit");
    d.tap_bar();
    d.keep("gate");
    d.tap("First count");
    d.count_and_sign(1);
    assert_eq!(d.state().round_counts().len(), 1);
    d.tap("Second count");
    d.count_and_sign(2);
    assert!(d.state().counts_agree());
    d.keep("gate-open");
    d.tap("The cover is on");
    d.sign(1);
    wait_for("the cover", || d.state().is_bank_closed(0));
    assert_eq!(d.state().ledger().at(&Item::Cover, Place::Home), 1);
}

fn replay(data: &Path, job: Uuid) -> OpenJob {
    let clock: Arc<dyn Clock> = Arc::new(SystemClock);
    let store = Store::open(data, clock.now()).unwrap();
    store.open_job(job).unwrap()
}

#[test]
fn a_valve_a_drop_and_the_gate_in_a_landscape_window() {
    drive(vec2(1280.0, 800.0));
}

#[test]
fn a_valve_a_drop_and_the_gate_in_a_portrait_window() {
    drive(vec2(800.0, 1280.0));
}
