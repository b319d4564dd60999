//! One row for every refusal: what leads there, and the event that is refused. Beside them
//! what the tablet's own settings refuse.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

mod events;
mod leads;
mod objections;
mod ratings;
mod rows;

use trayzero::ui::words::{DE, EN};
use trayzero_core::job::Refusal;

use rows::{ENGINE_ROWS, GATE_ROWS, JOB_ROWS, PART_ROWS, Row, VALVE_ROWS};

fn rows() -> impl Iterator<Item = &'static Row> {
    [JOB_ROWS, ENGINE_ROWS, VALVE_ROWS, PART_ROWS, GATE_ROWS]
        .into_iter()
        .flatten()
}

/// A sentence a person can read: it starts like one, ends like one, and says something in so
/// many words.
fn is_a_sentence(text: &str, words_least: usize) -> bool {
    let starts = text
        .chars()
        .next()
        .is_some_and(|c| c.is_uppercase() || c.is_ascii_digit());
    let ends = text.ends_with('.') && !text.ends_with("..");
    let words = text.split_whitespace().count();
    starts && ends && words >= words_least && !text.contains(['{', '}']) && !text.contains("  ")
}

fn check_sentences(refusal: &Refusal) {
    let code = refusal.code();
    // German says "Weiterarbeiten." in one.
    for (words, words_least) in [(&EN, 3), (&DE, 1)] {
        let (why, way_out) = (words.refusal_why(refusal), words.refusal_way_out(refusal));
        assert!(is_a_sentence(&why, words_least), "{code}: why: {why}");
        assert!(
            is_a_sentence(&way_out, words_least),
            "{code}: way out: {way_out}"
        );
        // A faulty layout is told by the names in its file; all else by the shop's words.
        let by_file = matches!(refusal, Refusal::BadLayout { .. });
        assert!(by_file || !why.contains('_'), "{code}: why: {why}");
        assert_ne!(why, way_out);
        assert!(!why.contains(code), "{code} has no words");
    }
    assert_ne!(EN.refusal_why(refusal), DE.refusal_why(refusal), "{code}");
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
        check_sentences(&refusal);
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
