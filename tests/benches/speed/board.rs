//! The foreman's board over 200 jobs with 100,000 events: the first one, and after one
//! tap on another tablet.

use std::time::Instant;

use trayzero::shop::Board;
use trayzero_core::job::{Event, JobPhase, JobState};
use trayzero_core::journal::{Limits, Writer};
use trayzero_core::shop_log::Proofs;
use uuid::Uuid;

use super::jobs::{TABLET, keep, lengthened, noted, one_job, stamped};
use super::table::{Row, least, median};

const JOBS: u16 = 200;
const EVENTS: usize = 500;
const ROUNDS: usize = 5;
const TAPS: usize = 25;

pub fn rows() -> Vec<Row> {
    let events = half_done();
    let data = tempfile::tempdir().unwrap();
    keep(data.path(), &events, JOBS);
    let mut firsts = Vec::new();
    let mut board = Board::default();
    for _ in 0..ROUNDS {
        let start = Instant::now();
        board = Board::of_folder(data.path(), Limits::FOREIGN, Proofs::default()).unwrap();
        board.work_out_to_go();
        firsts.push(start.elapsed().as_secs_f64() * 1e3);
        assert_eq!(board.cards().len(), usize::from(JOBS));
    }
    let mut updates = Vec::new();
    for tap in 0..TAPS {
        let job = tap_elsewhere(data.path(), &events, tap);
        let start = Instant::now();
        assert_eq!(board.read_on().unwrap(), [job]);
        board.work_out_to_go();
        updates.push(start.elapsed().as_secs_f64() * 1e3);
    }
    let first = least(&firsts);
    vec![
        Row::at_most(
            "first board: 200 jobs, 100,000 events, times to go in it",
            first,
            "ms",
            1000.0,
        ),
        Row::ratio(
            "board after one foreign tap / first board",
            median(&mut updates),
            first,
            "ms",
            0.02,
        ),
    ]
}

/// A job of so many events that is not finished yet, so that all of it has to be read.
fn half_done() -> Vec<Event> {
    let mut events = one_job("v8-cross-plane-32v");
    events.truncate(events.len() * 4 / 5);
    let events = lengthened(events, EVENTS);
    let mut state = JobState::new();
    for entry in stamped(&events, 0, 0) {
        state.apply(&entry).unwrap();
    }
    assert_ne!(state.phase(), JobPhase::Closed);
    assert!(state.verified_count() > 8);
    events
}

/// One more line in one of the journals.
fn tap_elsewhere(data: &std::path::Path, events: &[Event], tap: usize) -> Uuid {
    let number = (tap * 7 + 3) as u16 % JOBS;
    let job = Uuid::from_u128(u128::from(number) + 1);
    let mut writer = Writer::open(data, job, TABLET).unwrap().writer;
    let line = stamped(&[noted(tap)], events.len(), number);
    writer.append(&line).unwrap();
    job
}
