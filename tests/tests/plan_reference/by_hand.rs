//! The working order on engines small enough to follow by hand.

use trayzero_core::engine::{AdaptorRule, Layout, WorkingPosition};
use trayzero_core::plan::{OrderFault, OrderQuestion, WorkingOrder, working_order};

fn engine(banks: &[(&str, &[u8])], firing_order: &[u8]) -> Layout {
    let banks: Vec<_> = banks
        .iter()
        .map(|(name, cylinders)| serde_json::json!({"name": name, "cylinders": cylinders}))
        .collect();
    let text = serde_json::json!({
        "format": 1, "name": "test", "banks": banks, "bank_angle_deg": 90.0,
        "firing_order": firing_order, "intake_valves": 1, "exhaust_valves": 1,
        "locks_per_valve": 2, "springs_per_valve": 1, "follower": "finger",
        "bore_mm": 86.0, "stroke_mm": 86.0, "rod_mm": 143.0, "breakaway_torque_nm": 18.0,
        "pressure_rating_bar": 7.0,
        "handling_min": {"turn_360": 4.0, "bank_change": 10.0, "adaptor_change": 0.5}
    });
    serde_json::from_value(text).expect("the test's layout has every field")
}

fn v8() -> Layout {
    engine(
        &[("A", &[1, 2, 3, 4]), ("B", &[5, 6, 7, 8])],
        &[1, 5, 4, 8, 6, 3, 7, 2],
    )
}

fn plan(question: &OrderQuestion<'_>) -> WorkingOrder {
    working_order(question).expect("the question has an answer")
}

fn cylinders(order: &WorkingOrder) -> Vec<u8> {
    order.stops.iter().map(|s| s.cylinder).collect()
}

#[test]
fn on_the_v8s_first_bank_cylinder_4_is_at_the_top_next_after_cylinder_1() {
    // Common practice, no source.
    let layout = v8();
    let order = plan(&OrderQuestion {
        done: &[5, 6, 7, 8],
        ..OrderQuestion::at_start(&layout)
    });
    assert_eq!(cylinders(&order), [1, 4, 3, 2]);
    let turns: Vec<f64> = order.stops.iter().map(|s| s.turn_deg).collect();
    assert_eq!(turns, [0.0, 180.0, 270.0, 180.0]);
}

#[test]
fn the_v8_is_worked_bank_by_bank_from_the_bank_that_closes_the_cycle() {
    // By hand: tops at 0 (1), 90 (5), 180 (4), 270 (8), 360 (6), 450 (3), 540 (7),
    // 630 (2). Bank A first ends at 630 and turns on to 540: 1260 degrees; bank B
    // first ends at 540, and A then follows from 2 on to 3: 1170 degrees.
    let layout = v8();
    let order = plan(&OrderQuestion::at_start(&layout));
    assert_eq!(cylinders(&order), [5, 8, 6, 7, 2, 1, 4, 3]);
    assert_eq!(order.turn_deg, 1170.0);
    assert_eq!((order.bank_changes, order.adaptor_changes), (1, 0));
    assert!((order.minutes - (1170.0 / 90.0 + 10.0)).abs() < 1e-9);
    assert_eq!(order.stops[4].bank, "A");
    assert_eq!(order.stops[1].crank_deg, 270.0);
    assert_eq!(order.stops[1].adaptors, ["standard"]);
}

#[test]
fn without_the_price_of_a_bank_change_the_firing_order_is_followed() {
    let mut layout = v8();
    layout.handling_min.bank_change = 0.0;
    let order = plan(&OrderQuestion::at_start(&layout));
    assert_eq!(cylinders(&order), [1, 5, 4, 8, 6, 3, 7, 2]);
    assert_eq!((order.turn_deg, order.bank_changes), (630.0, 6));
}

#[test]
fn with_nothing_to_pay_the_lowest_numbers_offsets_and_names_come_first() {
    let mut layout = v8();
    layout.handling_min.turn_360 = 0.0;
    layout.handling_min.bank_change = 0.0;
    layout.handling_min.adaptor_change = 0.0;
    layout.working_positions = vec![WorkingPosition {
        cylinder: 3,
        offsets_deg: vec![12.0, -12.0],
        why: "in the way".to_owned(),
    }];
    layout.adaptors = vec![AdaptorRule {
        cylinder: 2,
        valve: "intake 1".to_owned(),
        adaptor: "zigzag".to_owned(),
    }];
    let order = plan(&OrderQuestion::at_start(&layout));
    assert_eq!(cylinders(&order), [1, 2, 3, 4, 5, 6, 7, 8]);
    assert_eq!(order.stops[2].offset_deg, -12.0);
    assert_eq!(order.stops[1].adaptors, ["standard", "zigzag"]);
    assert_eq!(order.adaptor_changes, 2);
}

#[test]
fn adaptors_are_ordered_so_that_the_next_cylinder_goes_on_with_the_last() {
    let mut layout = engine(&[("A", &[1, 2])], &[1, 2]);
    let short = |cylinder, valve: &str| AdaptorRule {
        cylinder,
        valve: valve.to_owned(),
        adaptor: "short".to_owned(),
    };
    layout.adaptors = vec![short(1, "intake 1"), short(2, "exhaust 1")];
    let order = plan(&OrderQuestion::at_start(&layout));
    assert_eq!(order.stops[0].adaptors, ["short", "standard"]);
    assert_eq!(order.stops[1].adaptors, ["standard", "short"]);
    assert_eq!(order.adaptor_changes, 2);
    let fitted = plan(&OrderQuestion {
        from_adaptor: Some("long"),
        ..OrderQuestion::at_start(&layout)
    });
    assert_eq!(fitted.adaptor_changes, 3);
}

#[test]
fn the_plan_goes_on_from_where_the_job_stands() {
    let layout = v8();
    let order = plan(&OrderQuestion {
        from_deg: 450.0,
        from_bank: Some(0),
        done: &[1, 4, 3],
        ..OrderQuestion::at_start(&layout)
    });
    assert_eq!(cylinders(&order), [2, 5, 8, 6, 7]);
    assert_eq!(order.stops[0].turn_deg, 180.0);
    let put_off = plan(&OrderQuestion {
        from_deg: 450.0,
        from_bank: Some(0),
        done: &[1, 4, 3],
        put_off: &[2, 5],
        ..OrderQuestion::at_start(&layout)
    });
    assert_eq!(cylinders(&put_off), [7, 8, 6, 5, 2]);
    let wanted = plan(&OrderQuestion {
        put_off: &[2, 5],
        wanted_next: Some(2),
        ..OrderQuestion::at_start(&layout)
    });
    assert_eq!(wanted.stops[0].cylinder, 2);
    assert_eq!(wanted.stops.last().map(|s| s.cylinder), Some(5));
    let done = plan(&OrderQuestion {
        done: &[1, 2, 3, 4, 5, 6, 7, 8],
        ..OrderQuestion::at_start(&layout)
    });
    assert!(done.stops.is_empty() && done.minutes == 0.0);
}

#[test]
fn turning_back_is_signed_and_counted_without_its_sign() {
    let mut layout = engine(&[("A", &[1, 2, 3])], &[1, 2, 3]);
    layout.may_turn_back = true;
    let order = plan(&OrderQuestion {
        from_deg: 10.0,
        done: &[2],
        ..OrderQuestion::at_start(&layout)
    });
    assert_eq!(cylinders(&order), [1, 3]);
    assert_eq!(order.stops[0].turn_deg, -10.0);
    assert_eq!(order.stops[1].turn_deg, -240.0);
    assert_eq!(order.stops[1].crank_deg, 480.0);
    assert_eq!(order.turn_deg, 250.0);
}

#[test]
fn a_rounding_error_is_not_taken_for_a_whole_cycle() {
    let layout = engine(&[("A", &[1, 2, 3, 4, 5, 6, 7])], &[1, 2, 3, 4, 5, 6, 7]);
    for nudge in [-1e-11, 0.0, 1e-11] {
        let order = plan(&OrderQuestion {
            from_deg: 3.0 * (720.0 / 7.0) + nudge,
            ..OrderQuestion::at_start(&layout)
        });
        assert_eq!(order.stops[0].cylinder, 4);
        assert_eq!(order.stops[0].turn_deg, 0.0);
    }
}

#[test]
#[expect(clippy::too_many_lines, reason = "a table: one row a fault")]
fn what_cannot_be_planned_is_said_with_its_field_and_value() {
    let numbers: Vec<u8> = (1..=17).collect();
    let too_many = engine(&[("A", &numbers)], &numbers);
    let layout = v8();
    let start = OrderQuestion::at_start(&layout);
    let mut endless = layout.clone();
    endless.handling_min.turn_360 = f64::INFINITY;
    let mut nowhere = layout.clone();
    nowhere.working_positions = vec![WorkingPosition {
        cylinder: 3,
        offsets_deg: vec![],
        why: String::new(),
    }];
    let mut crowded = layout.clone();
    crowded.working_positions = vec![WorkingPosition {
        cylinder: 3,
        offsets_deg: (0..5000).map(|i| f64::from(i) / 100.0).collect(),
        why: String::new(),
    }];
    let table = [
        (OrderQuestion::at_start(&too_many), "cylinders to work = 17"),
        (
            OrderQuestion {
                from_deg: f64::NAN,
                ..start
            },
            "from_deg = NaN",
        ),
        (
            OrderQuestion {
                from_bank: Some(2),
                ..start
            },
            "from_bank = 2",
        ),
        (
            OrderQuestion {
                done: &[9],
                ..start
            },
            "done = 9",
        ),
        (
            OrderQuestion {
                put_off: &[0],
                ..start
            },
            "put_off = 0",
        ),
        (
            OrderQuestion {
                wanted_next: Some(12),
                ..start
            },
            "wanted_next = 12",
        ),
        (
            OrderQuestion {
                wanted_next: Some(1),
                done: &[1],
                ..start
            },
            "wanted_next = 1: this cylinder is done",
        ),
        (
            OrderQuestion::at_start(&endless),
            "handling_min.turn_360 = inf",
        ),
        (
            OrderQuestion::at_start(&nowhere),
            "cylinder 3 has no offset",
        ),
        (OrderQuestion::at_start(&crowded), "5007 ways"),
    ];
    for (question, words) in table {
        let fault: OrderFault = working_order(&question).expect_err(words);
        assert!(fault.to_string().contains(words), "{fault}");
    }
}

#[test]
fn the_answer_is_written_with_the_field_names_of_the_command_line() {
    let layout = engine(&[("A", &[1, 2])], &[1, 2]);
    let order = plan(&OrderQuestion::at_start(&layout));
    let expected = serde_json::json!({
        "stops": [
            {"cylinder": 1, "bank": "A", "offset_deg": 0.0, "turn_deg": 0.0,
             "crank_deg": 0.0, "adaptors": ["standard"]},
            {"cylinder": 2, "bank": "A", "offset_deg": 0.0, "turn_deg": 360.0,
             "crank_deg": 360.0, "adaptors": ["standard"]},
        ],
        "turn_deg": 360.0, "bank_changes": 0, "adaptor_changes": 0, "minutes": 4.0
    });
    assert_eq!(serde_json::to_value(order).expect("plain data"), expected);
}
