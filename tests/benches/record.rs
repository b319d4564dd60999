//! How long the record of a large job takes. Aim: 64 valves, gathered and made into a
//! PDF, within 500 ms (median).

#![allow(missing_docs, clippy::unwrap_used)]

use divan::{Bencher, black_box};
use trayzero::pdf::{Paper, render};
use trayzero::words::Language;
use trayzero_core::record::Record;
use trayzero_tests::bay::Bay;
use trayzero_tests::engines::shipped_engine;

fn main() {
    divan::main();
}

/// A whole job with 64 valves.
fn large_job() -> Bay {
    let mut bay = Bay::open(shipped_engine("v16-45-64v"));
    bay.work_to_the_end();
    bay
}

#[divan::bench(sample_count = 100)]
fn data_of_64_valves(bencher: Bencher<'_, '_>) {
    let bay = large_job();
    bencher.bench_local(|| Record::of(black_box(&bay.job), &bay.entries, "").unwrap());
}

#[divan::bench(sample_count = 50)]
fn data_and_pdf_of_64_valves(bencher: Bencher<'_, '_>) {
    let bay = large_job();
    bencher.bench_local(|| {
        let record = Record::of(black_box(&bay.job), &bay.entries, "").unwrap();
        render(&record, Language::English, Paper::A4).unwrap()
    });
}
