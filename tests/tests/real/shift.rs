//! Tablets at work for a while: each with its data folder, a place where it meets the others,
//! and a thread that goes there and back, as the window has one. What was written and what has
//! come is read from the JSON lines of the journals alone.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, Sender};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use serde_json::Value;
use trayzero::data::store::{Clock, OpenJob, ProposeError, SetClock, Stamp, Store};
use trayzero::shop::{Exchange, Round, Surroundings};
use trayzero_core::job::{Event, Person, SearchPlace};
use trayzero_tests::demo_script::technician::Technician;
use trayzero_tests::figures;
use uuid::Uuid;

use super::parts::opening;

/// Between two looks at the place; the window takes three seconds.
const LOOK: Duration = Duration::from_secs(1);
/// After a bad round; doubled up to the second. The window goes on to a minute.
const RETRY: (Duration, Duration) = (Duration::from_secs(1), Duration::from_secs(4));
const NAMES: [&str; 3] = ["Ada", "Ben", "Cleo"];

/// What a tablet's rounds have come to so far.
#[derive(Clone, Debug, Default)]
pub struct Met {
    pub rounds: u64,
    /// What was said of the place, and in how many rounds.
    pub faults: BTreeMap<String, u64>,
    /// What the last round said of it.
    pub fault: Option<String>,
    pub behind_bytes: u64,
    pub file_faults: BTreeSet<String>,
    /// Names of what was left alone, and the last round's.
    pub left_alone: BTreeSet<String>,
    pub left_now: BTreeSet<String>,
    pub not_confirmed: usize,
    pub longest: Duration,
    /// Since when a round has been under way.
    pub since: Option<Instant>,
}

impl Met {
    fn take(&mut self, round: &Round, took: Duration) {
        self.rounds += 1;
        self.since = None;
        self.longest = self.longest.max(took);
        self.fault = round.fault.as_ref().map(ToString::to_string);
        if let Some(fault) = self.fault.clone() {
            *self.faults.entry(fault).or_default() += 1;
        }
        self.behind_bytes = round.behind_bytes;
        let files = round.file_faults.iter().map(ToString::to_string);
        self.file_faults.extend(files);
        self.left_now = round.left_alone.iter().map(ToString::to_string).collect();
        self.left_alone.extend(self.left_now.iter().cloned());
        self.not_confirmed = round.not_confirmed.len();
    }
}

/// One tablet and who works with it.
pub struct Worker {
    pub root: PathBuf,
    clock: Arc<SetClock>,
    store: Store,
    open: Option<OpenJob>,
    signs: Technician,
    met: Arc<Mutex<Met>>,
    asks: Sender<()>,
    /// Events that were acknowledged.
    pub acknowledged: usize,
}

impl Worker {
    fn start(root: &Path, name: &str, at: u128, place: &Path, around: &Surroundings) -> Self {
        let clock = Arc::new(SetClock::at(wall()));
        let store = Store::open(root, clock.now()).unwrap();
        let exchange = Exchange::within(&store.for_exchange(), place, around);
        let met = Arc::new(Mutex::new(Met::default()));
        let (asks, asked) = mpsc::channel();
        let shared = Arc::clone(&met);
        thread::spawn(move || go_and_come(exchange, &asked, &shared));
        Self {
            root: root.to_owned(),
            clock,
            store,
            open: None,
            signs: technician(name, at),
            met,
            asks,
            acknowledged: 0,
        }
    }

    pub fn id(&self) -> Uuid {
        self.store.tablet().id()
    }

    pub fn met(&self) -> Met {
        self.met.lock().unwrap().clone()
    }

    fn take_foreign(&mut self) {
        if let Some(open) = &mut self.open {
            open.take_foreign().unwrap();
        }
    }

    /// The next step of the work, or a note where it is another's turn.
    fn tap(&mut self) {
        self.take_foreign();
        let Some(open) = &mut self.open else { return };
        self.clock.set(wall().at_ms);
        let note = Event::Noted {
            text: format!("note {}", self.acknowledged),
        };
        for events in [self.signs.tap(open.state(), None), vec![note]] {
            if events.is_empty() {
                continue;
            }
            match open.propose(self.clock.now(), &self.signs.name, &events) {
                Ok(_) => {
                    self.acknowledged += events.len();
                    break;
                }
                Err(ProposeError::Refused { .. }) => {}
                Err(error) => panic!("{error}"),
            }
        }
        // A thread that has ended is seen by what has not come.
        let _ = self.asks.send(());
    }
}

fn wall() -> Stamp {
    let at_ms = jiff::Timestamp::now().as_millisecond();
    Stamp {
        at_ms,
        offset_min: 0,
    }
}

fn technician(name: &str, at: u128) -> Technician {
    let mut next = at << 64;
    Technician {
        name: Person::new(name),
        second: Person::new("Noor"),
        foreman: Person::new("Mira"),
        leaks: BTreeMap::new(),
        found_at: SearchPlace::BenchAndFloor,
        entering: Box::new(move || {
            next += 1;
            Uuid::from_u128(next)
        }),
    }
}

/// Goes to the place after each tap and at its own pace, until nobody asks any more. A place
/// that hangs holds up this thread alone.
fn go_and_come(mut exchange: Exchange, asked: &Receiver<()>, met: &Mutex<Met>) {
    let mut retry = RETRY.0;
    loop {
        let began = Instant::now();
        met.lock().unwrap().since = Some(began);
        let round = exchange.round();
        let is_bad = round.fault.is_some();
        met.lock().unwrap().take(&round, began.elapsed());
        if is_bad {
            thread::sleep(retry);
            retry = (retry * 2).min(RETRY.1);
        } else {
            retry = RETRY.0;
        }
        match asked.recv_timeout(LOOK) {
            Ok(()) => asked.try_iter().for_each(drop),
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => return,
        }
    }
}

/// Several tablets on one job.
pub struct Shift {
    pub workers: Vec<Worker>,
    pub job: Uuid,
    last_tap: Instant,
}

impl Shift {
    /// The first tablet opens a job; the others wait until it has come to them.
    pub fn begin(scratch: &Path, places: &[(PathBuf, Surroundings)], patience: Duration) -> Self {
        let places = places.iter().zip(NAMES).zip(1..);
        let workers: Vec<Worker> = places
            .map(|(((place, around), name), at)| {
                Worker::start(&scratch.join(name), name, at, place, around)
            })
            .collect();
        let mut shift = Self {
            workers,
            job: Uuid::nil(),
            last_tap: Instant::now(),
        };
        let first = &mut shift.workers[0];
        let opening = opening("inline-4-8v", "Bay 1", &first.signs.name);
        let open = first.store.create_job(opening, first.clock.now()).unwrap();
        shift.job = open.id();
        first.open = Some(open);
        first.acknowledged = 1;
        first.asks.send(()).unwrap();
        for at in 1..shift.workers.len() {
            shift.wait("the job at every tablet", patience, |shift| {
                let worker = &mut shift.workers[at];
                worker.open = worker.store.open_job(shift.job).ok();
                worker.open.is_some()
            });
        }
        shift
    }

    /// Everybody taps so many times, with a pause between.
    pub fn tap(&mut self, times: usize, pause: Duration) {
        for _ in 0..times {
            for worker in &mut self.workers {
                worker.tap();
            }
            self.last_tap = Instant::now();
            thread::sleep(pause);
        }
    }

    /// Waits for something, but no longer than `patience`, and says what the tablets have met.
    pub fn wait(
        &mut self,
        what: &str,
        patience: Duration,
        mut is_so: impl FnMut(&mut Self) -> bool,
    ) {
        let until = Instant::now() + patience;
        while !is_so(self) {
            if Instant::now() > until {
                let met: Vec<Met> = self.workers.iter().map(Worker::met).collect();
                panic!("waited {patience:?} in vain: {what}: {met:#?}");
            }
            thread::sleep(Duration::from_millis(50));
        }
    }

    /// Waits until some tablet says that the place does not serve; gives the sentence.
    pub fn wait_for_fault(&mut self, patience: Duration) -> String {
        let mut said = None;
        self.wait("a fault that is said", patience, |shift| {
            said = shift.workers.iter().find_map(|worker| worker.met().fault);
            said.is_some()
        });
        said.unwrap()
    }

    /// Ends the work: waits until every tablet has every line, and gives what came of it.
    pub fn end(&mut self, patience: Duration) -> Outcome {
        for worker in &mut self.workers {
            if let Some(open) = &mut worker.open {
                open.seal(worker.clock.now(), &worker.signs.name);
            }
            worker.asks.send(()).unwrap();
        }
        let written: Vec<Vec<(String, bool)>> = self
            .workers
            .iter()
            .map(|worker| lines_of(&worker.root, self.job, worker.id()))
            .collect();
        for (worker, lines) in self.workers.iter().zip(&written) {
            assert_eq!(taps(lines), worker.acknowledged, "on its own disk");
        }
        let until = Instant::now() + patience;
        let total = written.concat();
        let mut everywhere = Vec::new();
        while everywhere.len() < total.len() && Instant::now() < until {
            thread::sleep(Duration::from_millis(50));
            everywhere = self.lines_everywhere(&written);
        }
        let seen_after = self.last_tap.elapsed();
        if everywhere.len() == total.len() {
            self.all_show_the_same();
        }
        Outcome {
            tablets: self.workers.len(),
            acknowledged: taps(&total),
            everywhere: taps(&everywhere),
            seen_after,
            met: self.workers.iter().map(Worker::met).collect(),
        }
    }

    fn lines_everywhere(&self, written: &[Vec<(String, bool)>]) -> Vec<(String, bool)> {
        let mut everywhere = Vec::new();
        for (writer, lines) in self.workers.iter().zip(written) {
            let copy = |reader: &Worker| -> BTreeSet<(String, bool)> {
                let copied = lines_of(&reader.root, self.job, writer.id());
                copied.into_iter().collect()
            };
            let copies: Vec<_> = self.workers.iter().map(copy).collect();
            let is_everywhere = |line: &&(String, bool)| copies.iter().all(|c| c.contains(*line));
            everywhere.extend(lines.iter().filter(is_everywhere).cloned());
        }
        everywhere
    }

    fn all_show_the_same(&mut self) {
        let mut shown: Vec<String> = Vec::new();
        for worker in &mut self.workers {
            worker.take_foreign();
            let open = worker.open.take().unwrap();
            shown.push(format!("{:#?}", open.state()));
        }
        for other in &shown[1..] {
            let lines = shown[0].lines().zip(other.lines());
            let differs = lines.into_iter().find(|(a, b)| a != b);
            assert!(shown[0] == *other, "shown differently: {differs:?}");
        }
    }
}

/// How many of the lines are somebody's taps.
fn taps(lines: &[(String, bool)]) -> usize {
    lines.iter().filter(|(_, is_tap)| *is_tap).count()
}

/// The whole lines of a journal by their identities, and whether each is a tap or the
/// tablet's own seal.
fn lines_of(root: &Path, job: Uuid, tablet: Uuid) -> Vec<(String, bool)> {
    let path = root.join("jobs").join(job.to_string());
    let text = fs::read_to_string(path.join(format!("{tablet}.jsonl"))).unwrap_or_default();
    let whole = text.rsplit_once('\n').map_or("", |(whole, _)| whole);
    let lines = whole
        .lines()
        .skip(1)
        .map(|line| serde_json::from_str::<Value>(line).unwrap());
    let known = lines.map(|line| {
        let is_tap = line["event"].get("sealed").is_none();
        (line["id"].as_str().unwrap().to_owned(), is_tap)
    });
    known.collect()
}

/// What came of the work.
#[derive(Debug)]
pub struct Outcome {
    tablets: usize,
    acknowledged: usize,
    everywhere: usize,
    seen_after: Duration,
    pub met: Vec<Met>,
}

impl Outcome {
    /// Prints one row, with the sentences that were said; nothing may be lost.
    pub fn say(&self, program: &str, done_to_it: &str) {
        let lost = self.acknowledged - self.everywhere;
        println!(
            "| {program} | {} tablets: {done_to_it} | {} | {} | {:.1} | {lost} |",
            self.tablets,
            self.acknowledged,
            self.everywhere,
            self.seen_after.as_secs_f64(),
        );
        for (at, met) in self.met.iter().enumerate() {
            let longest = met.longest.as_secs_f64();
            println!(
                "  {}: {} rounds, longest {longest:.1} s",
                NAMES[at], met.rounds
            );
            for (fault, times) in &met.faults {
                println!("    said {times} times: {fault}");
            }
            for fault in &met.file_faults {
                println!("    of a file: {fault}");
            }
            for left in &met.left_alone {
                println!("    left alone: {left}");
            }
        }
        figures::say("acknowledged lost", lost as u64);
        assert_eq!(lost, 0, "{program}");
    }
}
