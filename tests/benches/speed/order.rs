//! The exact working order. `cargo bench --bench plan` tells of its memory.

use std::hint::black_box;
use std::time::Instant;

use trayzero_core::plan::{OrderQuestion, working_order};
use trayzero_tests::engines::with_offsets;

use super::table::{Row, median};

pub fn rows() -> Vec<Row> {
    vec![
        row(
            "working order, V8 with 3 offsets a cylinder",
            "v8-cross-plane-32v",
            false,
            200,
            1.0,
        ),
        row(
            "working order, V16 with 3 offsets a cylinder and 3 adaptors",
            "v16-45-64v",
            true,
            15,
            500.0,
        ),
    ]
}

fn row(what: &str, key: &str, adaptors: bool, rounds: usize, goal: f64) -> Row {
    let layout = with_offsets(key, 3, adaptors);
    let mut times: Vec<f64> = (0..rounds)
        .map(|_| {
            let start = Instant::now();
            black_box(working_order(black_box(&OrderQuestion::at_start(&layout))).unwrap());
            start.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    Row::at_most(what, median(&mut times), "ms", goal)
}
