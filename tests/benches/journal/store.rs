//! Listing finished jobs from their checked summaries.
//!
//! The yardstick is the same list over jobs a tenth as long. The work must follow the
//! number of jobs alone, so the two take the same time.

use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

use serde_json::{Value, json};
use trayzero_core::job::Event;
use trayzero_core::journal::{job_path, list_jobs, read_summary, write_summary};

use super::jobs::{TABLET, keep, one_job};
use super::table::{Row, least};

const JOBS: u16 = 500;
const ROUNDS: usize = 9;

pub fn rows() -> Vec<Row> {
    let events = one_job("v8-cross-plane-32v");
    let long = tempfile::tempdir().unwrap();
    let short = tempfile::tempdir().unwrap();
    prepare(long.path(), &events);
    prepare(short.path(), &events[..events.len() / 10]);
    println!(
        "store: {JOBS} jobs, {} events",
        usize::from(JOBS) * events.len()
    );
    let (mut figure, mut yardstick) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        yardstick.push(list(short.path()));
        figure.push(list(long.path()));
    }
    vec![Row {
        what: "list of 500 finished jobs / of jobs a tenth as long".to_owned(),
        figure: least(&figure),
        yardstick: least(&yardstick),
        unit: "ms",
        goal: 1.20,
    }]
}

fn prepare(data: &Path, events: &[Event]) {
    let payload = json!({"vehicle": "Van 12", "bay": "Bay 2", "verified": 32});
    for kept in keep(data, events, JOBS) {
        let folder = job_path(data, kept.job);
        write_summary(&folder, kept.job, &[(TABLET, kept.mark)], &payload).unwrap();
    }
}

/// Milliseconds that the list takes.
fn list(data: &Path) -> f64 {
    let start = Instant::now();
    let jobs = list_jobs(data).unwrap().jobs;
    let found = jobs.iter().filter_map(read_summary::<Value>).map(black_box);
    assert_eq!(found.count(), usize::from(JOBS));
    start.elapsed().as_secs_f64() * 1e3
}
