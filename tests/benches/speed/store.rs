//! Opening a store of jobs under way, which are told by their checked summaries, and what
//! ten years of finished jobs cost.
//!
//! The yardstick of the first row is the same list over jobs a tenth as long. The work must
//! follow the number of jobs alone, so the two take the same time.

use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use trayzero::data::store::{JobSummary, SetClock, Store};
use trayzero::desk::Desk;
use trayzero::ui::intent::{Intent, Screen};
use trayzero_core::job::{Entry, JobState};
use trayzero_core::journal::{job_path, write_summary};

use super::jobs::{NOW, TABLET, keep, lengthened, one_job, stamped};
use super::table::{Row, least};
use super::ten_years::{FINISHED, UNDER_WAY, ten_years};

const JOBS: u16 = 500;
const EVENTS: usize = 500;
const ROUNDS: usize = 9;

pub fn rows() -> Vec<Row> {
    let events = lengthened(one_job("v8-cross-plane-32v"), EVENTS);
    let entries = stamped(&events, 0, 0);
    let long = tempfile::tempdir().unwrap();
    let short = tempfile::tempdir().unwrap();
    // Neither is over: what is over is only counted.
    prepare(long.path(), &entries[..entries.len() * 9 / 10]);
    prepare(short.path(), &entries[..entries.len() * 9 / 100]);
    println!(
        "store: {JOBS} jobs, {} events",
        usize::from(JOBS) * events.len()
    );
    let (mut figure, mut yardstick) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        yardstick.push(open(short.path()));
        figure.push(open(long.path()));
    }
    vec![
        Row::ratio(
            "opening a store of 500 jobs / of jobs a tenth as long",
            least(&figure),
            least(&yardstick),
            "ms",
            1.20,
        ),
        to_the_bays(),
    ]
}

/// Going to the bays of a folder with 60 jobs under way, after ten years.
fn to_the_bays() -> Row {
    let data = tempfile::tempdir().unwrap();
    ten_years(data.path());
    let store = Store::open(data.path(), NOW).unwrap();
    let mut desk = Desk::open(store, Arc::new(SetClock::at(NOW))).unwrap();
    assert_eq!(desk.view().finished_count, FINISHED);
    let mut figure = Vec::new();
    for _ in 0..ROUNDS {
        desk.carry_out(Intent::Go(Screen::Board));
        let start = Instant::now();
        desk.carry_out(Intent::Go(Screen::Bays));
        figure.push(start.elapsed().as_secs_f64() * 1e3);
        assert_eq!(desk.view().jobs.len(), UNDER_WAY);
    }
    Row::at_most(
        "going to the bays, 10,000 finished jobs and 60 under way",
        least(&figure),
        "ms",
        16.0,
    )
}

fn prepare(data: &Path, entries: &[Entry]) {
    let mut state = JobState::new();
    for entry in entries {
        state.apply(entry).unwrap();
    }
    let summary = JobSummary::of(&state);
    let events: Vec<_> = entries.iter().map(|entry| entry.event.clone()).collect();
    for kept in keep(data, &events, JOBS) {
        let folder = job_path(data, kept.job);
        write_summary(&folder, kept.job, &[(TABLET, kept.mark)], &summary).unwrap();
    }
}

/// Milliseconds until every job is listed.
fn open(data: &Path) -> f64 {
    let start = Instant::now();
    let store = Store::open(data, NOW).unwrap();
    let list = store.jobs().unwrap();
    assert_eq!(list.jobs.len(), usize::from(JOBS));
    assert!(list.jobs.iter().all(|job| job.summary.valves == 32));
    start.elapsed().as_secs_f64() * 1e3
}
