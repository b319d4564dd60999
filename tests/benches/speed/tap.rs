//! One tap: check, encode, link, append, fdatasync, fold.
//!
//! Beside it, in turns and on the same disk: a bare write and fdatasync of the very same
//! bytes, and, with `--features yardsticks`, the same line as a row of `SQLite` (WAL,
//! synchronous FULL).

use std::fs::{self, File};
use std::hint::black_box;
use std::io::Write;
use std::path::Path;
use std::thread::sleep;
use std::time::{Duration, Instant};

use trayzero_core::job::{Entry, JobState};
use trayzero_core::journal::Writer;
use uuid::Uuid;

use super::jobs::{TABLET, one_job, stamped};
#[cfg(feature = "yardsticks")]
use super::sqlite::Rows;
use super::table::{Row, median};

const JOB: Uuid = Uuid::from_u128(1);
/// How long a hand takes to the next tap, shortened so that the bench has an end; long
/// enough for the disk to come to rest.
const HUMAN_PACE: Duration = Duration::from_millis(60);
const TAPS_AT_HUMAN_PACE: usize = 300;

pub fn rows() -> Vec<Row> {
    let entries = stamped(&one_job("v8-cross-plane-32v"), 0, 0);
    let fast = Taps::measure(&entries, Duration::ZERO);
    let human = Taps::measure(&entries[..TAPS_AT_HUMAN_PACE], HUMAN_PACE);
    let mut rows = vec![
        Row::ratio(
            "tap, back to back / write + fdatasync",
            fast.tap,
            fast.bare,
            "us",
            1.10,
        ),
        Row::ratio(
            "tap, at human pace / write + fdatasync",
            human.tap,
            human.bare,
            "us",
            1.10,
        ),
    ];
    if let Some(sqlite) = human.sqlite {
        rows.push(Row::ratio(
            "tap, at human pace / SQLite, WAL, FULL",
            human.tap,
            sqlite,
            "us",
            0.75,
        ));
    }
    rows
}

/// Median times in microseconds.
struct Taps {
    tap: f64,
    bare: f64,
    /// `None` where the bench was built without it.
    sqlite: Option<f64>,
}

impl Taps {
    fn measure(entries: &[Entry], pause: Duration) -> Self {
        let data = tempfile::tempdir().unwrap();
        let mut writer = Writer::open(data.path(), JOB, TABLET).unwrap().writer;
        let mut state = JobState::new();
        let mut bare = File::create(data.path().join("bare")).unwrap();
        let (mut taps, mut bares) = (Vec::new(), Vec::new());
        #[cfg(feature = "yardsticks")]
        let (sqlite, mut rows) = (Rows::open(&data.path().join("rows.sqlite")), Vec::new());
        let (memory, mut glances) = (Memory::new(), Vec::new());
        let mut read_to = writer.mark().bytes;
        for entry in entries {
            sleep(pause);
            taps.push(timed(|| {
                let foreseen = state.would_take(entry).unwrap();
                writer.append(std::slice::from_ref(entry)).unwrap();
                state.apply_foreseen(entry, foreseen).unwrap();
            }));
            let line = new_bytes(writer.file(), &mut read_to);
            sleep(pause);
            bares.push(timed(|| {
                bare.write_all(&line).unwrap();
                bare.sync_data().unwrap();
            }));
            #[cfg(feature = "yardsticks")]
            {
                let text = str::from_utf8(&line).unwrap();
                sleep(pause);
                rows.push(timed(|| sqlite.insert(text)));
            }
            if !pause.is_zero() {
                sleep(pause);
                glances.push(timed(|| memory.glance()));
            }
        }
        if !pause.is_zero() {
            tell(&mut glances);
        }
        Self {
            tap: median(&mut taps),
            bare: median(&mut bares),
            #[cfg(feature = "yardsticks")]
            sqlite: Some(median(&mut rows)),
            #[cfg(not(feature = "yardsticks"))]
            sqlite: None,
        }
    }
}

/// As much memory as the program of a tap and its data are: lines of a processor's cache on
/// pages, as an emulator that lists every access counts them.
struct Memory(Vec<u8>);

impl Memory {
    const PAGES: usize = 75;
    const LINES_A_PAGE: usize = 6;
    const PAGE: usize = 4096;

    fn new() -> Self {
        // Pages of nothing but noughts would all be the same one.
        Self(vec![2; Self::PAGES * Self::PAGE])
    }

    /// Reads a byte of every line, one after the other.
    fn glance(&self) {
        let mut found = 0;
        for line in 0..Self::LINES_A_PAGE {
            for page in 0..Self::PAGES {
                let at = (line * 11 + page) % (Self::PAGE / 64) * 64;
                // Where the next one lies is known when this one is read.
                found = usize::from(black_box(self.0[page * Self::PAGE + at + found])) & 1;
            }
        }
    }
}

/// What the machine takes for memory alone: no tap can be sooner at hand after a pause.
fn tell(glances: &mut [f64]) {
    let held_up = glances.iter().filter(|us| **us > 100.0).count() * 100 / glances.len();
    println!(
        "tap: reading {} lines on {} pages after the same pause takes {:.1} us here, and in {held_up} of 100 times more than 100 us",
        Memory::PAGES * Memory::LINES_A_PAGE,
        Memory::PAGES,
        median(glances),
    );
}

fn timed(work: impl FnOnce()) -> f64 {
    let start = Instant::now();
    work();
    start.elapsed().as_secs_f64() * 1e6
}

/// What was appended since, so that the yardstick writes the same bytes.
fn new_bytes(file: &Path, read_to: &mut u64) -> Vec<u8> {
    let all = fs::read(file).unwrap();
    let new = all[*read_to as usize..].to_vec();
    *read_to = all.len() as u64;
    new
}
