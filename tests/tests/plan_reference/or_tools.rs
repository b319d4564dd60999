//! The working order of 12 and 16 cylinders equals the optimum that OR-Tools proved.
//!
//! Source: OR-Tools 9.15 (CP-SAT), run once by `tests/reference/working_order.py`.

use serde_json::Value;
use trayzero_core::engine::Layout;
use trayzero_core::plan::{OrderQuestion, working_order};

const ANSWERS: &str = include_str!("../../reference/working_order.json");

#[test]
fn twelve_and_sixteen_cylinders_take_the_minutes_that_or_tools_proved_least() {
    let answers: Vec<Value> = serde_json::from_str(ANSWERS).unwrap();
    let mut sizes = Vec::new();
    for answer in &answers {
        let text = answer["layout"].to_string();
        let layout = Layout::from_json("working_order.json", text.as_bytes()).unwrap();
        let order = working_order(&OrderQuestion {
            from_deg: answer["from_deg"].as_f64().unwrap(),
            ..OrderQuestion::at_start(&layout)
        })
        .unwrap();
        let proved =
            answer["optimum_units"].as_f64().unwrap() / answer["units_a_minute"].as_f64().unwrap();
        println!("{}: {} min, proved {proved}", layout.name, order.minutes);
        assert!((order.minutes - proved).abs() <= 1e-9, "{}", layout.name);
        assert_eq!(order.stops.len(), layout.cylinder_count());
        sizes.push(order.stops.len());
    }
    assert!(sizes.contains(&12) && sizes.contains(&16), "{sizes:?}");
}
