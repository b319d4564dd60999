//! The record of a large job: gathered from its journal and made into a PDF with its proof; and
//! checked from that file alone.

use std::hint::black_box;
use std::time::Instant;

use trayzero::data::store::{Stamp, Store};
use trayzero::record::load::gather;
use trayzero::record::pdf::{Paper, Print};
use trayzero::record::proof::issue;
use trayzero::record::verify::verify;
use trayzero::ui::words::Language;
use trayzero_core::bench::UnitSystem;
use trayzero_core::journal::Writer;
use trayzero_tests::bay::Bay;
use trayzero_tests::engines::shipped_engine;
use trayzero_tests::entries::MORNING_MS;
use uuid::Uuid;

use super::table::{Row, median};

const ROUNDS: usize = 25;
const JOB: Uuid = Uuid::from_u128(64);
const NOW: Stamp = Stamp {
    at_ms: MORNING_MS,
    offset_min: 60,
};
const PRINT: Print = Print {
    language: Language::English,
    paper: Paper::A4,
    system: UnitSystem::Metric,
};

pub fn rows() -> Vec<Row> {
    let mut bay = Bay::open(shipped_engine("v16-45-64v"));
    bay.work_to_the_end();
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(folder.path(), NOW).unwrap();
    let own = store.tablet().id();
    let mut writer = Writer::open(folder.path(), JOB, own).unwrap().writer;
    for entry in &mut bay.entries {
        entry.tablet = own;
    }
    for part in bay.entries.chunks(64) {
        writer.append(part).unwrap();
    }
    drop(writer);
    let record = || {
        let gathered = gather(folder.path(), JOB, store.proofs()).unwrap();
        issue(&gathered, Some(store.tablet()), PRINT).unwrap()
    };
    let pdf = record();
    let timed = |what: &dyn Fn()| {
        let mut times: Vec<f64> = (0..ROUNDS)
            .map(|_| {
                let start = Instant::now();
                what();
                start.elapsed().as_secs_f64() * 1e3
            })
            .collect();
        median(&mut times)
    };
    let made = timed(&|| drop(black_box(record())));
    let checked = timed(&|| assert!(verify(black_box(&pdf), None).unwrap().holds()));
    vec![
        Row::at_most("record of 64 valves as PDF", made, "ms", 500.0),
        Row::at_most("that record checked", checked, "ms", 1_000.0),
    ]
}
