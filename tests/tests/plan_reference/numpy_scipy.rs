//! Quantiles, and the robust slope of the yardstick, against numpy and scipy.
//!
//! Source: numpy 2.4.6 `quantile` (linear) and scipy 1.17.1 `stats.theilslopes`
//! (joint), run once by `tests/reference/robust.py`.

use serde_json::Value;
use trayzero_core::plan::quantile;

use super::yardstick::{LEARNING_RATE_MAX, LEARNING_RATE_MIN, LearningCurve, exponent, theil_sen};

const ANSWERS: &str = include_str!("../../reference/robust.json");

fn floats(list: &Value) -> Vec<f64> {
    let values = list.as_array().unwrap().iter();
    values.map(|v| v.as_f64().unwrap()).collect()
}

fn near(ours: f64, theirs: f64) -> bool {
    (ours - theirs).abs() <= 1e-12 * theirs.abs().max(1.0)
}

#[test]
fn quantiles_are_those_of_numpy() {
    let answers: Value = serde_json::from_str(ANSWERS).unwrap();
    let cases = answers["quantiles"].as_array().unwrap();
    assert_eq!(cases.len(), 56);
    for case in cases {
        let ours = quantile(&floats(&case["values"]), case["q"].as_f64().unwrap()).unwrap();
        assert!(
            near(ours, case["quantile"].as_f64().unwrap()),
            "{case}: {ours}"
        );
    }
}

#[test]
fn slopes_and_levels_are_those_of_scipy() {
    let answers: Value = serde_json::from_str(ANSWERS).unwrap();
    let cases = answers["slopes"].as_array().unwrap();
    assert_eq!(cases.len(), 8);
    let believed = exponent(LEARNING_RATE_MIN)..=exponent(LEARNING_RATE_MAX);
    let mut levels = 0;
    for case in cases {
        let points: Vec<(f64, f64)> = floats(&case["x"])
            .into_iter()
            .zip(floats(&case["y"]))
            .collect();
        let slope = case["slope"].as_f64().unwrap();
        let ours = theil_sen(&points).unwrap();
        assert!(near(ours, slope), "{case}: {ours}");
        let curve = LearningCurve::fit(&points).unwrap();
        assert!(near(
            curve.slope,
            slope.clamp(*believed.start(), *believed.end())
        ));
        if believed.contains(&slope) {
            assert!(near(curve.level, case["level"].as_f64().unwrap()), "{case}");
            levels += 1;
        }
    }
    assert!(levels >= 3, "only {levels} slopes are believed");
}
