//! Facts of the trade as check values: common practice, no source.

use trayzero_core::bench::{AirQuestion, Verdict};
use trayzero_core::engine::Layout;

/// A V8 with cylinders 1 to 4 on one bank, firing 1-5-4-8-6-3-7-2, four valves a cylinder;
/// cylinder 3 is worked a little before or after the top.
fn v8() -> Layout {
    let text = r#"{ "format": 1, "name": "test V8",
        "banks": [ {"name": "A", "cylinders": [1, 2, 3, 4]},
                   {"name": "B", "cylinders": [5, 6, 7, 8]} ], "bank_angle_deg": 90,
        "firing_order": [1, 5, 4, 8, 6, 3, 7, 2], "intake_valves": 2, "exhaust_valves": 2,
        "locks_per_valve": 2, "springs_per_valve": 1, "follower": "finger",
        "bore_mm": 92.0, "stroke_mm": 85.0, "rod_mm": 145.0,
        "intake_seat_mm": 34.0, "exhaust_seat_mm": 29.0,
        "breakaway_torque_nm": 30.0, "pressure_rating_bar": 7.0,
        "working_positions": [ {"cylinder": 3, "offsets_deg": [-3, 3], "why": "a bracket"} ],
        "handling_min": {"turn_360": 4.0, "bank_change": 10.0, "adaptor_change": 0.5} }"#;
    Layout::from_json("test V8", text.as_bytes()).unwrap()
}

#[test]
fn after_cylinder_1_cylinder_4_is_at_the_top_next_on_its_bank() {
    let v8 = v8();
    let bank = v8.bank_of(1);
    let mut by_angle: Vec<u8> = v8.cylinders().filter(|c| v8.bank_of(*c) == bank).collect();
    by_angle.sort_by(|a, b| v8.tdc_deg(*a).unwrap().total_cmp(&v8.tdc_deg(*b).unwrap()));
    assert_eq!(by_angle, [1, 4, 3, 2]);
    assert_eq!(v8.tdc_deg(4), Some(180.0));
}

#[test]
fn thirty_two_valves_make_sixty_four_locks_to_count() {
    let v8 = v8();
    assert_eq!(v8.valve_count(), 32);
    assert_eq!(v8.valve_count() * usize::from(v8.locks_per_valve), 64);
}

#[test]
fn a_cylinder_may_be_worked_a_little_before_or_after_the_top() {
    let v8 = v8();
    assert_eq!(v8.offsets_deg(3), [-3.0, 3.0]);
    for off_tdc_deg in v8.offsets_deg(3) {
        let question = AirQuestion {
            off_tdc_deg,
            ..AirQuestion::default()
        };
        let answer = question.answer(&v8).unwrap();
        assert_eq!(answer.verdict, Some(Verdict::Window));
    }
}
