//! The learning curve against printed tables.
//!
//! Source: Wright (1936), unit and cumulative tables as printed in operations
//! textbooks; from memory.

use trayzero_core::plan::unit_factor;

#[test]
fn the_80_percent_curve_is_the_printed_one() {
    let printed = [
        1.0, 0.8, 0.7021, 0.64, 0.5956, 0.5617, 0.5345, 0.512, 0.4929, 0.4765,
    ];
    for (unit, factor) in (1..).zip(printed) {
        assert!(
            (unit_factor(0.8, unit) - factor).abs() <= 0.5e-4,
            "unit {unit}"
        );
    }
    let total: f64 = (1..=10).map(|unit| unit_factor(0.8, unit)).sum();
    assert!((total - 6.315).abs() <= 0.5e-3, "{total}");
}

#[test]
fn the_90_percent_curve_is_the_printed_one() {
    assert!((unit_factor(0.9, 10) - 0.7047).abs() <= 0.5e-4);
    let total: f64 = (1..=10).map(|unit| unit_factor(0.9, unit)).sum();
    assert!((total - 7.994).abs() <= 0.5e-3, "{total}");
}
