//! Anything at all may stand in a file, and nothing of it makes the reader panic.

use proptest::prelude::*;
use serde_json::Value;
use trayzero_core::engine::{Layout, shipped};
use trayzero_tests::fuzz::layout::read_and_check;

use crate::load;

fn scalar() -> impl Strategy<Value = Value> {
    prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<i64>().prop_map(Value::from),
        (-20i64..400).prop_map(Value::from),
        any::<f64>().prop_map(Value::from),
        "[a-z0-9 ]{0,12}".prop_map(Value::from),
        "\\PC{0,40}".prop_map(Value::from),
    ]
}

fn tree() -> impl Strategy<Value = Value> {
    scalar().prop_recursive(3, 24, 4, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..4).prop_map(Value::from),
            prop::collection::btree_map("[a-z_]{1,12}", inner, 0..4)
                .prop_map(|m| Value::Object(m.into_iter().collect())),
        ]
    })
}

/// Every pointer into a value, the root's first.
fn pointers(value: &Value, at: &str, found: &mut Vec<String>) {
    found.push(at.to_owned());
    match value {
        Value::Object(fields) => {
            for (key, inner) in fields {
                pointers(inner, &format!("{at}/{key}"), found);
            }
        }
        Value::Array(entries) => {
            for (i, inner) in entries.iter().enumerate() {
                pointers(inner, &format!("{at}/{i}"), found);
            }
        }
        _ => {}
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes_are_read_without_panic(bytes in prop::collection::vec(any::<u8>(), 0..512)) {
        read_and_check(&bytes);
    }

    #[test]
    fn any_json_is_read_without_panic(value in tree()) {
        read_and_check(value.to_string().as_bytes());
    }

    #[test]
    fn a_layout_with_anything_in_any_place_is_read_without_panic(
        which in 0..shipped().len(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), tree()), 1..4),
    ) {
        let mut value: Value = serde_json::from_str(shipped()[which].json).unwrap();
        for (place, with) in changes {
            let mut all = Vec::new();
            pointers(&value, "", &mut all);
            let pointer = all[place.index(all.len())].clone();
            *value.pointer_mut(&pointer).unwrap() = with;
        }
        read_and_check(value.to_string().as_bytes());
    }

    #[test]
    fn a_layout_file_cut_or_damaged_anywhere_is_read_without_panic(
        which in 0..shipped().len(),
        cut in any::<prop::sample::Index>(),
        flips in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..6),
        keep_all in any::<bool>(),
    ) {
        let mut bytes = shipped()[which].json.as_bytes().to_vec();
        for (place, with) in flips {
            let i = place.index(bytes.len());
            bytes[i] = with;
        }
        if !keep_all {
            bytes.truncate(cut.index(bytes.len()));
        }
        read_and_check(&bytes);
    }

    #[test]
    fn figures_of_a_layout_come_back_to_the_last_bit(
        bore in 90.0f64..300.0, rod in 160.0f64..600.0, torque in 1.0f64..500.0, turn in 0.0f64..1_440.0,
    ) {
        let mut layout = load("v6-60-24v");
        layout.bore_mm = bore;
        layout.rod_mm = rod;
        layout.breakaway_torque_nm = torque;
        layout.handling_min.turn_360 = turn;
        let text = layout.to_json_pretty().unwrap();
        prop_assert_eq!(Layout::from_json("figures.json", text.as_bytes()), Ok(layout));
    }
}
