//! Many taps on end over many jobs, through screens, desk, journal and shop folder: the
//! memory stays flat, no handle is left open, and a tap takes no longer at the end.
//!
//! The short form runs with the other tests. The long one, 20,000 taps over ten jobs:
//! `TRAYZERO_LONG=1 cargo test -p trayzero-tests --test window soak -- --nocapture`

use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::time::Duration;

use egui::vec2;
use trayzero::data::settings::SettingsFile;
use trayzero::data::store::{Clock, SetClock, Stamp};
use trayzero::desk::{Desk, Outcome};
use trayzero::shop::ExchangePace;
use trayzero::ui::intent::{Intent, Screen, SignedAct, TypedCode};
use trayzero_core::engine::{Layout, shipped};
use trayzero_core::job::{Event, JobPhase, NextStep, Opening, Person, SearchPlace};
use trayzero_core::journal::{Limits, list_jobs, read_journal};
use trayzero_tests::demo_script::technician::Technician;
use trayzero_tests::figures::say;
use uuid::Uuid;

use super::mirror::Mirror;
use super::{CODES, ONE_WINDOW, alone, make_crew};

/// Jobs, and how many taps each of them gets.
#[derive(Clone, Copy)]
struct Form {
    engine: &'static str,
    jobs: usize,
    taps_a_job: usize,
}

const SHORT: Form = Form {
    engine: "inline-6-24v",
    jobs: 5,
    taps_a_job: 520,
};
const LONG: Form = Form {
    engine: "v16-45-64v",
    jobs: 10,
    taps_a_job: 2_000,
};

/// So many taps before its end a job is brought to it without detours.
const HOME_STRAIGHT: usize = 30;

/// How it stands after a job.
struct After {
    taps: usize,
    held_kib: u64,
    resident_kib: u64,
    handles: usize,
    /// Work of a tap in the middle of all, in microseconds.
    tap_us: u64,
}

struct Soak {
    mirror: Mirror,
    clock: Arc<SetClock>,
    technician: Technician,
    jobs: Vec<Uuid>,
    taps: usize,
    by_finger: usize,
    /// Events shown as taken; all of them have to be on the disk in the end.
    shown: BTreeMap<Uuid, usize>,
}

impl Soak {
    fn at(root: &Path, shop: &Path) -> Self {
        let start = Stamp {
            at_ms: 1_796_000_000_000,
            offset_min: 60,
        };
        let clock = Arc::new(SetClock::at(start));
        let store = make_crew(root);
        let mut file = SettingsFile::read(root);
        file.settings.shop_folder = Some(shop.to_owned());
        file.write().unwrap();
        let mut desk = Desk::open(store, Arc::clone(&clock) as Arc<dyn Clock>).unwrap();
        desk.join_shop(ExchangePace::default(), Box::new(|| {}));
        Self {
            mirror: Mirror::over(desk, vec2(1280.0, 800.0)),
            clock,
            technician: Technician {
                name: Person::new(CODES[1].0),
                second: Person::new(CODES[2].0),
                foreman: Person::new(CODES[0].0),
                leaks: BTreeMap::new(),
                found_at: SearchPlace::BenchAndFloor,
                entering: Box::new(Uuid::now_v7),
            },
            jobs: Vec::new(),
            taps: 0,
            by_finger: 0,
            shown: BTreeMap::new(),
        }
    }

    fn desk(&self) -> &Desk {
        &self.mirror.shell().desk
    }

    fn carry_out(&mut self, intent: Intent) -> Outcome {
        let mut outcome = Outcome::Stayed;
        self.mirror
            .with_shell(|shell| outcome = shell.carry_out(intent));
        outcome
    }

    fn new_job(&mut self, key: &str) {
        let engine = shipped().iter().find(|s| s.key == key).unwrap();
        let opening = Opening {
            order_number: None,
            layout: Layout::from_json(key, engine.json.as_bytes()).unwrap(),
            vehicle: format!("van {}", self.jobs.len()),
            bay: "Bay 3".to_owned(),
            technician: self.technician.name.clone(),
        };
        let outcome = self.carry_out(Intent::NewJob(Box::new(opening)));
        assert_eq!(outcome, Outcome::Moved);
        self.jobs.push(self.desk().view().job.unwrap().id);
    }

    fn events(&self) -> usize {
        self.desk()
            .state()
            .map_or(0, trayzero_core::job::JobState::event_count)
    }

    /// One tap: by the finger on the bar where that is all a step needs; what is typed or
    /// signed goes to the desk as the sheets would send it. Now and then something is
    /// taken back, something falls, or another screen is looked at.
    fn tap(&mut self) {
        self.clock.advance(7_000);
        self.taps += 1;
        let before = self.events();
        match self.taps % 97 {
            13 | 29 | 57 => self.take_back(),
            41 => self.look_elsewhere(),
            71 => self.fall(),
            _ => self.work(),
        }
        let job = *self.jobs.last().unwrap();
        let now = self.events();
        assert!(now >= before, "nothing shown vanishes");
        self.shown.insert(job, now);
    }

    fn work(&mut self) {
        let before = self.events();
        let bar = self.mirror.bar();
        if let Some(place) = self.mirror.place(&bar) {
            self.mirror.tap(place.center());
            if self.events() > before {
                self.by_finger += 1;
                return;
            }
        }
        let state = self.mirror.shell().desk.state().unwrap();
        let events = self.technician.tap(state, None);
        if events.is_empty() {
            return;
        }
        let told = format!("{events:?}");
        let outcome = self.send(events);
        let notice = self.desk().view().notice;
        assert_eq!(outcome, Outcome::Taken, "{told}: {notice:?}");
    }

    /// What a sheet sends: signatures with their codes, all else as a tap.
    fn send(&mut self, events: Vec<Event>) -> Outcome {
        let [event] = &events[..] else {
            return self.carry_out(Intent::Tap(events));
        };
        let (act, by) = match event.clone() {
            Event::BlindCount { by, lines } => (SignedAct::Count(lines), by),
            Event::BankClosed { bank, by } => (SignedAct::CloseBank(bank), by),
            Event::JobClosed { by } => (SignedAct::CloseJob, by),
            Event::ForemanAgreed { cylinder, by } => (SignedAct::ForemanAgrees(cylinder), by),
            _ => return self.carry_out(Intent::Tap(events)),
        };
        let code = CODES
            .iter()
            .find(|(name, _)| *name == &*by.person.0)
            .unwrap();
        let codes = vec![(by.person, TypedCode(code.1.to_owned()))];
        self.carry_out(Intent::Sign { act, codes })
    }

    fn take_back(&mut self) {
        let offer = self.desk().view().job.and_then(|job| job.undo.map(|u| u.0));
        if let Some(event) = offer {
            // A refusal is an answer as well: it is shown with its reason.
            self.carry_out(Intent::TakeBack(event));
        }
    }

    /// A lock falls out of the tray and is found at once.
    fn fall(&mut self) {
        let state = self.desk().state().unwrap();
        let tray = trayzero_core::parts::Place::Tray;
        let item = trayzero_core::parts::Item::Lock;
        if state.ledger().at(&item, tray) == 0 {
            return self.work();
        }
        let dropped = Event::PartDropped {
            item,
            count: 1,
            from: tray,
            bank: None,
            valve: None,
        };
        self.carry_out(Intent::Tap(vec![dropped]));
        let state = self.desk().state().unwrap();
        let found = state.drops_adrift().next().map(|drop| Event::PartFound {
            dropped: drop.id,
            found_at: SearchPlace::BenchAndFloor,
            to: drop.from,
        });
        if let Some(found) = found {
            self.carry_out(Intent::Tap(vec![found]));
        }
    }

    fn look_elsewhere(&mut self) {
        for screen in [
            Screen::Board,
            Screen::Settings,
            Screen::Layouts,
            Screen::Bay,
        ] {
            self.carry_out(Intent::Go(screen));
        }
    }

    /// One job from its opening to its closing, in so many taps at least: until the time
    /// has come to close it, its last steps are taken back and taken again.
    fn job(&mut self, form: Form) -> After {
        self.new_job(form.engine);
        let until = self.taps + form.taps_a_job;
        let mut took = Vec::with_capacity(form.taps_a_job);
        while self.desk().state().unwrap().phase() != JobPhase::Closed {
            let view = self.desk().view();
            let step = view.job.unwrap().next.clone();
            let is_early = self.taps + HOME_STRAIGHT < until;
            let begun = work_us();
            if is_early && matches!(step, NextStep::Gate { .. } | NextStep::CloseJob) {
                self.clock.advance(7_000);
                self.taps += 1;
                self.take_back();
            } else {
                self.tap();
            }
            took.push(work_us() - begun);
            assert!(took.len() < 2 * form.taps_a_job, "the job comes to its end");
        }
        self.carry_out(Intent::LeaveJob);
        took.sort_unstable();
        let memory = memory();
        After {
            taps: self.taps,
            held_kib: memory[0],
            resident_kib: memory[1],
            handles: handles(),
            tap_us: took[took.len() / 2],
        }
    }
}

/// What the program holds in memory, and its resident set, in KiB, from
/// `/proc/self/smaps_rollup` (proc(5)). The resident set also counts the pages of the
/// program itself, which the system brings in and throws out as it likes.
fn memory() -> [u64; 2] {
    let text = std::fs::read_to_string("/proc/self/smaps_rollup").unwrap();
    ["Anonymous:", "Rss:"].map(|name| {
        let line = text.lines().find_map(|l| l.strip_prefix(name)).unwrap();
        line.trim().trim_end_matches("kB").trim().parse().unwrap()
    })
}

/// How long this thread has worked so far, in microseconds, from its `schedstat` (proc(5)):
/// the time that others keep it from working is none of its own.
fn work_us() -> u64 {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap();
    let ns: u64 = text.split(' ').next().unwrap().parse().unwrap();
    ns / 1_000
}

/// Open handles of this process, those aside that a thread has just opened and is about
/// to close.
fn handles() -> usize {
    let count = || std::fs::read_dir("/proc/self/fd").unwrap().count();
    let counts = (0..20).map(|_| {
        std::thread::sleep(Duration::from_millis(5));
        count()
    });
    counts.min().unwrap()
}

fn form() -> Form {
    let is_long = std::env::var_os("TRAYZERO_LONG").is_some_and(|v| v == "1");
    if is_long { LONG } else { SHORT }
}

/// In a process of its own: what other tests take is none of its memory.
#[test]
#[ignore = "the child of the test below"]
fn soaked_child() {
    let scratch = tempfile::tempdir().unwrap();
    let (root, shop) = (scratch.path().join("data"), scratch.path().join("shop"));
    std::fs::create_dir(&shop).unwrap();
    let mut soak = Soak::at(&root, &shop);
    let form = form();
    let mut all = Vec::new();
    for _ in 0..form.jobs {
        let after = soak.job(form);
        println!(
            "soak: {} taps, {} jobs, held {} KiB, resident {} KiB, {} handles, {} us of work a tap",
            soak.taps,
            soak.jobs.len(),
            after.held_kib,
            after.resident_kib,
            after.handles,
            after.tap_us
        );
        all.push(after);
    }
    // The first thousand taps fill every cache that there is.
    let first = all.iter().find(|after| after.taps >= 1_000).unwrap();
    let last = all.last().unwrap();
    let middle = &all[all.len() / 2];
    // What it holds more, of all that was resident; the pages of the program itself come
    // and go with the system's needs and are no growth.
    let more = |from: &After, of_kib: u64| {
        100.0 * (last.held_kib as f64 - from.held_kib as f64) / of_kib as f64
    };
    let (whole, half) = (
        more(first, first.resident_kib),
        more(middle, middle.held_kib),
    );
    println!(
        "soak: growth after the first thousand taps {whole:+.1} % of what was resident, \
         over the second half {half:+.1} % of what was held"
    );
    assert!(whole < 5.0 && half < 5.0, "the memory grows");
    assert!(last.handles <= first.handles, "handles are left open");
    assert!(
        last.tap_us < 2 * first.tap_us,
        "a tap takes longer and longer: {} us, then {}",
        first.tap_us,
        last.tap_us
    );
    assert!(soak.by_finger * 2 > soak.taps, "most taps are the finger's");
    println!("{} by the finger", soak.by_finger);
    let lost = lost(&root, &soak.shown);
    assert_eq!(lost, 0);
    say("taps soaked", soak.taps as u64);
    say("jobs soaked", soak.jobs.len() as u64);
    say("acknowledged lost", lost);
}

/// Events that were shown and are not on the disk.
fn lost(root: &Path, shown: &BTreeMap<Uuid, usize>) -> u64 {
    let mut lost = 0;
    for job in list_jobs(root).unwrap().jobs {
        let [file] = &job.journals[..] else {
            panic!("{job:?}");
        };
        let read = read_journal(&file.path, job.job, file.tablet, Limits::OWN).unwrap();
        assert_eq!((&read.torn, &read.fault), (&None, &None));
        lost += shown[&job.job].saturating_sub(read.entries.len()) as u64;
    }
    lost
}

#[test]
fn many_taps_over_many_jobs_leave_memory_handles_and_the_time_of_a_tap_as_they_were() {
    let _alone = alone(&ONE_WINDOW);
    let run = Command::new(std::env::current_exe().unwrap())
        .args(["--ignored", "--exact", "soak::soaked_child", "--nocapture"])
        // What a thread has given back shows at once (mallopt(3)).
        .env("MALLOC_ARENA_MAX", "1")
        .env("MALLOC_MMAP_THRESHOLD_", "131072")
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&run.stdout);
    let errors = String::from_utf8_lossy(&run.stderr);
    assert!(run.status.success(), "{said}{errors}");
    for line in said.lines().filter(|line| line.starts_with("soak:")) {
        println!("{line}");
    }
}
