//! One row for every refusal: what leads there, and the event that is refused. Beside them
//! what the tablet's own settings refuse.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

mod about;
mod edges;
mod edges_of_parts;
mod events;
mod leads;
mod objections;
mod ratings;
mod rows;
mod sentences;

use trayzero_core::job::Refusal;

use rows::{ENGINE_ROWS, GATE_ROWS, JOB_ROWS, PART_ROWS, Row, VALVE_ROWS};

fn rows() -> impl Iterator<Item = &'static Row> {
    [JOB_ROWS, ENGINE_ROWS, VALVE_ROWS, PART_ROWS, GATE_ROWS]
        .into_iter()
        .flatten()
}

#[test]
fn every_row_is_refused_with_its_code_and_leaves_no_trace() {
    for (code, lead, event) in rows() {
        let mut bay = lead();
        let event = event(&mut bay);
        let before = bay.job.clone();
        let refusal = bay.refused(event.clone());
        assert_eq!(refusal.code(), *code, "{event:?}: {refusal:?}");
        assert_eq!(bay.job, before, "{code} left a trace");
    }
    trayzero_tests::figures::say("refusal codes reached", rows().count() as u64);
}

#[test]
fn every_code_has_one_row_and_every_row_a_code() {
    let mut codes: Vec<&str> = rows().map(|(code, ..)| *code).collect();
    let count = codes.len();
    codes.sort_unstable();
    codes.dedup();
    assert_eq!(codes.len(), count, "a code has two rows");
    assert_eq!(
        codes,
        Refusal::CODES,
        "codes without a row, or rows without a code"
    );
}
