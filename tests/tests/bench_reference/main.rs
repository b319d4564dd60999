//! The bench arithmetic against published tables, handbook values, numerical solutions
//! and reference libraries. Every check names its source; "memory" marks a value that was
//! written down from memory, "common practice" a fact of the trade without a source.

#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

mod after;
mod air;
mod crank;
mod leak;
mod oil;
mod random;
mod small;
mod swept;
mod trade;
mod units;

use trayzero_core::engine::Layout;

/// The engine of these tests: bore and stroke 86 mm, rod 143 mm, seats 31 and 27 mm,
/// breakaway torque 18 Nm assumed, rating 7 bar, push 60 N. Spring, rim and guide left out.
fn engine() -> Layout {
    let text = r#"{ "format": 1, "name": "test engine",
        "banks": [ {"name": "A", "cylinders": [1, 2, 3, 4]} ], "bank_angle_deg": 0,
        "firing_order": [1, 3, 4, 2], "intake_valves": 2, "exhaust_valves": 2,
        "locks_per_valve": 2, "springs_per_valve": 1, "follower": "finger",
        "bore_mm": 86.0, "stroke_mm": 86.0, "rod_mm": 143.0,
        "intake_seat_mm": 31.0, "exhaust_seat_mm": 27.0,
        "breakaway_torque_nm": 18.0, "breakaway_measured": false,
        "pressure_rating_bar": 7.0, "fitting_push_n": 60.0,
        "handling_min": {"turn_360": 4.0, "bank_change": 10.0, "adaptor_change": 0.5} }"#;
    Layout::from_json("test engine", text.as_bytes()).unwrap()
}

/// Asserts that two figures agree to a share of the expected one.
#[track_caller]
fn agree(found: f64, expected: f64, share: f64) {
    let off = (found - expected).abs();
    assert!(
        off <= share * expected.abs(),
        "{found} is not {expected} within {share}"
    );
}
