//! Opening a store of finished jobs, which are told by their checked summaries.
//!
//! The yardstick is the same list over jobs a tenth as long. The work must follow the
//! number of jobs alone, so the two take the same time.

use std::path::Path;
use std::time::Instant;

use trayzero::data::store::{JobSummary, Store};
use trayzero_core::job::{Entry, JobState};
use trayzero_core::journal::{job_path, write_summary};

use super::jobs::{NOW, TABLET, keep, lengthened, one_job, stamped};
use super::table::{Row, least};

const JOBS: u16 = 500;
const EVENTS: usize = 500;
const ROUNDS: usize = 9;

pub fn rows() -> Vec<Row> {
    let events = lengthened(one_job("v8-cross-plane-32v"), EVENTS);
    let entries = stamped(&events, 0, 0);
    let long = tempfile::tempdir().unwrap();
    let short = tempfile::tempdir().unwrap();
    prepare(long.path(), &entries);
    prepare(short.path(), &entries[..entries.len() / 10]);
    println!(
        "store: {JOBS} jobs, {} events",
        usize::from(JOBS) * events.len()
    );
    let (mut figure, mut yardstick) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        yardstick.push(open(short.path()));
        figure.push(open(long.path()));
    }
    vec![Row::ratio(
        "opening a store of 500 finished jobs / of jobs a tenth as long",
        least(&figure),
        least(&yardstick),
        "ms",
        1.20,
    )]
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
