//! Reading a million events back into states.
//!
//! The yardstick does the two things that no reader of this format can do without: JSON
//! into the wire type, and SHA-256 over the same bytes. The files are in memory for it
//! already; the figure opens and reads them, checks every number, clock and link, and
//! folds every job into its state.

use std::borrow::Cow;
use std::fs;
use std::hint::black_box;
use std::time::Instant;

use serde::Deserialize;
use serde::de::IgnoredAny;
use sha2::{Digest, Sha256};
use trayzero_core::job::{Event, JobPhase, JobState};
use trayzero_core::journal::{Limits, Mark, Reader};
use uuid::Uuid;

use super::jobs::{Kept, TABLET, keep, one_job};
use super::table::{Row, least};

const EVENTS: usize = 1_000_000;
const ROUNDS: usize = 5;
/// Bytes of a line after what its link covers, with the newline.
const TAIL_BYTES: usize = 76;

/// An event line, field for field.
#[derive(Deserialize)]
#[allow(dead_code)] // Only read.
struct Line<'a> {
    n: u64,
    id: Uuid,
    #[serde(borrow)]
    at: Cow<'a, str>,
    clock: (u64, u32),
    #[serde(borrow)]
    who: Cow<'a, str>,
    event: Event,
    link: IgnoredAny,
}

pub fn rows() -> Vec<Row> {
    let events = one_job("v8-cross-plane-32v");
    let jobs = EVENTS.div_ceil(events.len());
    let data = tempfile::tempdir().unwrap();
    let kept = keep(data.path(), &events, jobs as u16);
    let texts: Vec<Vec<u8>> = kept.iter().map(|k| fs::read(&k.file).unwrap()).collect();
    let bytes: usize = texts.iter().map(Vec::len).sum();
    let all = jobs * events.len();
    println!(
        "replay: {all} events in {jobs} jobs, {} bytes a line",
        bytes / all
    );

    let (mut figure, mut yardstick, mut reading) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        yardstick.push(timed(|| texts.iter().map(|text| bare(text)).sum(), all));
        reading.push(timed(|| kept.iter().map(read).sum(), all));
        figure.push(timed(|| kept.iter().map(replay).sum(), all));
    }
    let (figure, reading, yardstick) = (least(&figure), least(&reading), least(&yardstick));
    vec![
        Row::ratio(
            "replay 1,000,000 events: read, check, fold / JSON + SHA-256",
            figure,
            yardstick,
            "s",
            1.20,
        ),
        Row::ratio("the same without the fold", reading, yardstick, "s", 1.20),
    ]
}

fn timed(work: impl FnOnce() -> usize, expected: usize) -> f64 {
    let start = Instant::now();
    let events = work();
    let seconds = start.elapsed().as_secs_f64();
    assert_eq!(events, expected, "all the work was done");
    seconds
}

/// The yardstick on one file: how many events it has.
fn bare(text: &[u8]) -> usize {
    let mut link = [0; 32];
    let mut events = 0;
    for (at, line) in text.split_inclusive(|b| *b == b'\n').enumerate() {
        let body = &line[..line.len() - TAIL_BYTES];
        link = Sha256::new()
            .chain_update(link)
            .chain_update(body)
            .finalize()
            .into();
        if at > 0 {
            let line: Line = serde_json::from_slice(line).unwrap();
            black_box(&line);
            events += 1;
        }
    }
    black_box(link);
    events
}

fn reader(kept: &Kept) -> Reader<fs::File> {
    Reader::open(&kept.file, kept.job, TABLET, Limits::OWN, Mark::START)
        .unwrap()
        .unwrap()
}

fn read(kept: &Kept) -> usize {
    let end = reader(kept).for_each(|entry, _, _| drop(black_box(entry)));
    assert_eq!(end.mark, kept.mark);
    end.mark.n as usize
}

fn replay(kept: &Kept) -> usize {
    let mut state = JobState::new();
    let end = reader(kept).for_each(|entry, _, _| {
        black_box(state.fold(&entry));
    });
    assert_eq!(state.phase(), JobPhase::Closed);
    assert_eq!(end.mark, kept.mark);
    end.mark.n as usize
}
