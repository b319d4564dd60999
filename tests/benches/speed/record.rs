//! The record of a large job: gathered, and made into a PDF.

use std::hint::black_box;
use std::time::Instant;

use trayzero::record::pdf::{Paper, render};
use trayzero::ui::words::Language;
use trayzero_core::bench::UnitSystem;
use trayzero_core::record::Record;
use trayzero_tests::bay::Bay;
use trayzero_tests::engines::shipped_engine;

use super::table::{Row, median};

const ROUNDS: usize = 25;

pub fn rows() -> Vec<Row> {
    let mut bay = Bay::open(shipped_engine("v16-45-64v"));
    bay.work_to_the_end();
    let mut times: Vec<f64> = (0..ROUNDS)
        .map(|_| {
            let start = Instant::now();
            let record = Record::of(black_box(&bay.job), &bay.entries, "").unwrap();
            let (paper, system) = (Paper::A4, UnitSystem::Metric);
            black_box(render(&record, Language::English, paper, system).unwrap());
            start.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    vec![Row::at_most(
        "record of 64 valves as PDF",
        median(&mut times),
        "ms",
        500.0,
    )]
}
