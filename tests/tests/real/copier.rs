//! rclone as the copier: each tablet has a folder of its own, and a timer carries what is new
//! between it and a folder in the middle, in runs of which some are killed halfway.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use trayzero::shop::Surroundings;

use super::parts::scratch;
use super::programs::{Program, find, is_long, output, said};
use super::shift::Shift;

const PATIENCE: Duration = Duration::from_mins(1);
const TAP: Duration = Duration::from_millis(150);
/// Between two runs of the timer.
const TIMER: Duration = Duration::from_secs(1);
/// Every so many runs one is slow, and killed.
const KILLED_EVERY: usize = 4;
const SLOW: &str = "8k";

/// How it is carried.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Way {
    /// `rclone copy --update`, there and back.
    Copy,
    /// `rclone bisync`, and anew with `--resync` where it asks for it.
    Bisync,
}

/// A timer that carries between a tablet's folder and the one in the middle.
struct Timer {
    is_over: Arc<AtomicBool>,
    killed: Arc<AtomicUsize>,
    thread: Option<JoinHandle<()>>,
}

impl Timer {
    fn start(way: Way, folder: PathBuf, middle: PathBuf, work: PathBuf) -> Self {
        let is_over = Arc::new(AtomicBool::new(false));
        let killed = Arc::new(AtomicUsize::new(0));
        let (over, count) = (Arc::clone(&is_over), Arc::clone(&killed));
        let thread = thread::spawn(move || {
            fs::create_dir_all(&work).unwrap();
            let mut run = 0;
            while !over.load(Ordering::Relaxed) {
                run += 1;
                let is_slow = run % KILLED_EVERY == 0;
                let was_killed = carry(way, &folder, &middle, &work, is_slow);
                count.fetch_add(usize::from(was_killed), Ordering::Relaxed);
                thread::sleep(TIMER);
            }
        });
        Self {
            is_over,
            killed,
            thread: Some(thread),
        }
    }

    /// How many runs it has killed so far.
    fn killed(&self) -> usize {
        self.killed.load(Ordering::Relaxed)
    }
}

impl Drop for Timer {
    fn drop(&mut self) {
        self.is_over.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            // What it had to say it has said.
            let _ = thread.join();
        }
    }
}

fn rclone(work: &Path) -> Command {
    let mut command = Command::new("rclone");
    command.env("HOME", work).env("RCLONE_CONFIG", "/dev/null");
    command
}

/// One run of the timer; gives whether it was killed before it was done.
fn carry(way: Way, folder: &Path, middle: &Path, work: &Path, is_slow: bool) -> bool {
    let mut was_killed = false;
    match way {
        Way::Copy => {
            for (from, to) in [(folder, middle), (middle, folder)] {
                let mut copy = rclone(work);
                copy.args(["copy", "--update"]).arg(from).arg(to);
                was_killed |= go(&mut copy, work, is_slow);
            }
        }
        Way::Bisync => {
            let state = work.join("state");
            let bisync = || {
                let mut bisync = rclone(work);
                bisync.arg("bisync").arg(folder).arg(middle);
                bisync.arg("--workdir").arg(&state);
                bisync
            };
            was_killed = go(&mut bisync(), work, is_slow);
            if !was_killed && !output(&mut bisync()).status.success() {
                // The lock of a run that was killed lies there still.
                for name in fs::read_dir(&state).into_iter().flatten().flatten() {
                    if name.path().extension().is_some_and(|e| e == "lck") {
                        fs::remove_file(name.path()).unwrap();
                    }
                }
                // Whatever it says, the timer comes again.
                let _ = output(bisync().arg("--resync"));
            }
        }
    }
    was_killed
}

/// Runs it to its end, or slowly and only for a moment.
fn go(command: &mut Command, work: &Path, is_slow: bool) -> bool {
    if !is_slow {
        // A file that has gone meanwhile is no fault; the timer comes again.
        let _ = output(command);
        return false;
    }
    let slow = command.args(["--bwlimit", SLOW]);
    let mut program = Program::start(slow, &work.join("log.txt"));
    thread::sleep(Duration::from_millis(700));
    let was_killed = program.is_running();
    program.kill();
    was_killed
}

fn version() -> String {
    let said = said(Command::new("rclone").arg("version"));
    said.lines().next().unwrap().to_owned()
}

fn work(way: Way, tablets: usize, times: usize) {
    let scratch = scratch();
    let at = |name: String| scratch.path().join(name);
    let middle = at("middle".to_owned());
    let folders: Vec<PathBuf> = (0..tablets).map(|n| at(format!("shop-{n}"))).collect();
    for folder in folders.iter().chain([&middle]) {
        fs::create_dir(folder).unwrap();
        // A copier that finds nothing at all takes it for a fault.
        fs::write(folder.join("README.txt"), "of a shop").unwrap();
    }
    let timers: Vec<Timer> = folders
        .iter()
        .zip(0..)
        .map(|(folder, n)| {
            let work = at(format!("work-{n}"));
            Timer::start(way, folder.clone(), middle.clone(), work)
        })
        .collect();
    let places: Vec<_> = folders
        .iter()
        .map(|folder| (folder.clone(), Surroundings::default()))
        .collect();
    let mut shift = Shift::begin(scratch.path(), &places, PATIENCE);
    shift.tap(times, TAP);
    let outcome = shift.end(PATIENCE);
    let killed: usize = timers.iter().map(Timer::killed).sum();
    let name = format!("{}, {way:?}", version());
    outcome.say(&name, &format!("{killed} runs killed halfway"));
    assert!(killed > 2, "runs have to be killed");
    assert!(outcome.met.iter().all(|met| met.faults.is_empty()));
}

#[test]
fn copied_there_and_back_by_a_timer() {
    if is_long() && find("rclone").is_some() {
        work(Way::Copy, 3, 150);
    }
}

#[test]
fn synced_both_ways_by_a_timer() {
    if is_long() && find("rclone").is_some() {
        work(Way::Bisync, 2, 150);
    }
}
