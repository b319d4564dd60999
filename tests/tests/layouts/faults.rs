//! Faulty layouts: each fault is named, and all of them at once.

use serde_json::{Value, json};
use trayzero_core::engine::Layout;

use crate::{faults_of, good, lines, load};

/// Sets the value at a JSON pointer, or takes the field away if it is given none.
fn spoil(value: &mut Value, pointer: &str, with: Option<Value>) {
    let (parent, key) = pointer.rsplit_once('/').unwrap();
    match (value.pointer_mut(parent).unwrap(), with) {
        (Value::Object(fields), Some(with)) => {
            fields.insert(key.to_owned(), with);
        }
        (Value::Object(fields), None) => {
            fields.remove(key).unwrap();
        }
        (Value::Array(entries), Some(with)) => {
            let place: usize = key.parse().unwrap();
            match entries.get_mut(place) {
                Some(entry) => *entry = with,
                None => entries.push(with),
            }
        }
        (parent, _) => panic!("{pointer}: {parent} has no fields"),
    }
}

/// Pointer, the bad value (none: the field is left out), the field as the fault names
/// it, and words that its rule says.
type BadField = (&'static str, Option<Value>, &'static str, &'static str);

#[rustfmt::skip] // one row a line
fn wrong_types_and_ranges() -> Vec<BadField> {
    let long = "x".repeat(501);
    vec![
        ("/format", Some(json!(0)), "format", "number 1"),
        ("/format", Some(json!("1")), "format", "number 1"),
        ("/format", Some(json!(2)), "format", "newer program"),
        ("/format", None, "format", "is missing"),
        ("/name", None, "name", "is missing"),
        ("/name", Some(json!("")), "name", "1 to 80"),
        ("/name", Some(json!(" ")), "name", "1 to 80"),
        ("/name", Some(json!("a\nb")), "name", "one line"),
        ("/name", Some(json!(4)), "name", "text"),
        ("/note", Some(json!("x".repeat(2_001))), "note", "up to 2000"),
        ("/note", Some(json!("bell \u{7}")), "note", "control"),
        ("/colour", Some(json!("red")), "colour", "is no field of a layout; allowed here: format, name"),
        ("/banks", Some(json!({})), "banks", "list of 1 to 16"),
        ("/banks", Some(json!([])), "banks", "list of 1 to 16"),
        ("/banks/0/side", Some(json!(1)), "banks[0].side", "allowed here: name, cylinders"),
        ("/banks/0/name", Some(json!("a name far too long for a bank")), "banks[0].name", "1 to 20"),
        ("/banks/0", Some(json!(7)), "banks[0]", "object with the fields name, cylinders"),
        ("/bank_angle_deg", Some(json!(-1)), "bank_angle_deg", "0 to 360"),
        ("/bank_angle_deg", Some(json!(360.5)), "bank_angle_deg", "0 to 360"),
        ("/bank_angle_deg", Some(json!(null)), "bank_angle_deg", "0 to 360"),
        ("/may_turn_back", Some(json!("no")), "may_turn_back", "true or false"),
        ("/intake_valves", Some(json!(0)), "intake_valves", "1 to 3"),
        ("/intake_valves", Some(json!(4)), "intake_valves", "1 to 3"),
        ("/locks_per_valve", Some(json!(2.5)), "locks_per_valve", "whole number from 1 to 4"),
        ("/locks_per_valve", Some(json!(5)), "locks_per_valve", "1 to 4"),
        ("/springs_per_valve", Some(json!(4)), "springs_per_valve", "1 to 3"),
        ("/follower", Some(json!("spoon")), "follower", "\"finger\", \"rocker\", \"bucket\", \"none\""),
        ("/bore_mm", Some(json!(350)), "bore_mm", "20 to 300"),
        ("/stroke_mm", Some(json!(19.9)), "stroke_mm", "20 to 300"),
        ("/stroke_mm", Some(json!("86")), "stroke_mm", "20 to 300"),
        ("/rod_mm", Some(json!(10)), "rod_mm", "20 to 1000"),
        ("/intake_seat_mm", Some(json!(4.0)), "intake_seat_mm", "5 to 200"),
        ("/intake_seat_mm", Some(json!(null)), "intake_seat_mm", "5 to 200"),
        ("/breakaway_torque_nm", Some(json!(0)), "breakaway_torque_nm", "1 to 500"),
        ("/breakaway_measured", Some(json!(1)), "breakaway_measured", "true or false"),
        ("/pressure_rating_bar", Some(json!(0.4)), "pressure_rating_bar", "0.5 to 40"),
        ("/pressure_rating_bar", Some(json!(60)), "pressure_rating_bar", "0.5 to 40"),
        ("/fitting_push_n", Some(json!(0)), "fitting_push_n", "1 to 1000"),
        ("/spring/rate_n_per_mm", None, "spring.rate_n_per_mm", "is missing"),
        ("/spring/travel_to_locks_mm", Some(json!(0)), "spring.travel_to_locks_mm", "above 0"),
        ("/rim_diameter_mm", Some(json!(10)), "rim_diameter_mm", "20 to 1000"),
        ("/guide/length_mm", Some(json!(0)), "guide.length_mm", "5 to 300"),
        ("/order_list/0/count", Some(json!(0)), "order_list[0].count", "1 to 999"),
        ("/order_list/0/item", Some(json!("")), "order_list[0].item", "1 to 80"),
        ("/remarks/0/text", Some(json!(long.clone())), "remarks[0].text", "1 to 500"),
        ("/remarks/0/valve", Some(json!("inlet 1")), "remarks[0].valve", "such as \"intake 1\""),
        ("/remarks/0/valve", Some(json!("intake 01")), "remarks[0].valve", "such as \"intake 1\""),
        ("/working_positions/0/offsets_deg", Some(json!([])), "working_positions[0].offsets_deg", "1 to 16"),
        ("/working_positions/0/offsets_deg/1", Some(json!(181)), "working_positions[0].offsets_deg[1]", "-180 to 180"),
        ("/working_positions/0/why", Some(json!(long)), "working_positions[0].why", "0 to 500"),
        ("/adaptors/0/adaptor", Some(json!("")), "adaptors[0].adaptor", "1 to 40"),
        ("/kit/0/count", Some(json!(1_000)), "kit[0].count", "1 to 999"),
        ("/kit/0/item", Some(json!("lock")), "kit[0].item", "\"vented cover\", \"stopper\""),
        ("/kit/0/item", Some(json!("")), "kit[0].item", "1 to 40"),
        ("/handling_min/turn_360", Some(json!(-0.1)), "handling_min.turn_360", "0 to 1440"),
        ("/handling_min", None, "handling_min", "is missing"),
    ]
}

#[rustfmt::skip] // one row a line
fn fields_that_disagree() -> Vec<BadField> {
    vec![
        ("/banks/1/name", Some(json!("A")), "banks[1].name", "banks[0] already"),
        ("/banks/1/cylinders", Some(json!([4, 5, 6, 4])), "banks[1].cylinders[3]", "banks[1].cylinders[0] already"),
        ("/banks/1/cylinders/3", Some(json!(7)), "firing_order", "leaves out cylinder 7"),
        ("/firing_order", Some(json!([1, 4, 2, 5, 3])), "firing_order", "leaves out cylinder 6"),
        ("/firing_order/6", Some(json!(4)), "firing_order[6]", "fires twice"),
        ("/firing_order/6", Some(json!(9)), "firing_order[6]", "no bank"),
        ("/firing_intervals_deg", Some(json!([120, 120, 120, 120, 240])), "firing_intervals_deg", "each of the 6"),
        ("/firing_intervals_deg", Some(json!([120, 120, 120, 120, 120, 119])), "firing_intervals_deg", "sums to 719"),
        ("/firing_intervals_deg", Some(json!([120, 120, 120, 120, 120, 120.00001])), "firing_intervals_deg", "sum to 720"),
        ("/firing_intervals_deg", Some(json!([120, 240, 120, 120, 120, 0])), "firing_intervals_deg[5]", "above 0"),
        ("/rod_mm", Some(json!(43.0)), "rod_mm", "half the stroke, 43"),
        ("/intake_seat_mm", Some(json!(86.0)), "intake_seat_mm", "less than the bore, 86"),
        ("/exhaust_seat_mm", Some(json!(90.0)), "exhaust_seat_mm", "less than the bore, 86"),
        ("/spring/solid_height_mm", Some(json!(36.0)), "spring.solid_height_mm", "seated height, 36"),
        ("/spring/travel_to_locks_mm", Some(json!(13.6)), "spring.travel_to_locks_mm", "solid after 13.5"),
        ("/working_positions/0/cylinder", Some(json!(8)), "working_positions[0].cylinder", "no bank"),
        ("/working_positions/1/cylinder", Some(json!(3)), "working_positions[1].cylinder", "entry already"),
        ("/working_positions/0/offsets_deg/1", Some(json!(-7)), "working_positions[0].offsets_deg[1]", "already"),
        ("/adaptors/0/valve", Some(json!("intake 3")), "adaptors[0].valve", "has 2 intake valves"),
        ("/adaptors/0/cylinder", Some(json!(9)), "adaptors[0].cylinder", "no bank"),
        ("/adaptors/2/valve", Some(json!("intake 2")), "adaptors[2].valve", "cylinder 6 already"),
        ("/remarks/0/valve", Some(json!("exhaust 3")), "remarks[0].valve", "has 2 exhaust valves"),
        ("/kit/1/bank", Some(json!("C")), "kit[1].bank", "the banks are \"A\", \"B\""),
        ("/kit/2/bank", Some(json!("A")), "kit[2].item", "already"),
    ]
}

#[test]
fn one_bad_field_gives_one_fault_that_names_file_field_value_and_rule() {
    assert_eq!(lines(&faults_of(&good())), "");
    for (pointer, with, field, words) in wrong_types_and_ranges()
        .into_iter()
        .chain(fields_that_disagree())
    {
        let mut value = good();
        spoil(&mut value, pointer, with.clone());
        let mut faults = faults_of(&value);
        // A fault of a list's own may add the one that other fields now miss.
        faults.retain(|f| f.field == field);
        let [fault] = faults.as_slice() else {
            panic!("{pointer} {with:?}: {}", lines(&faults_of(&value)));
        };
        assert!(fault.rule.to_string().contains(words), "{pointer}: {fault}");
        assert_eq!(fault.file, "shop.json");
        assert_eq!(fault.value.is_empty(), with.is_none(), "{pointer}: {fault}");
        assert!(
            fault
                .to_string()
                .starts_with(&format!("shop.json: {field}"))
        );
    }
}

#[test]
fn a_bad_field_that_nothing_refers_to_gives_no_second_fault() {
    let alone = |pointer: &str| !pointer.starts_with("/banks") && !pointer.starts_with("/firing");
    for (pointer, with, _, _) in wrong_types_and_ranges()
        .into_iter()
        .chain(fields_that_disagree())
    {
        if alone(pointer) {
            let mut value = good();
            spoil(&mut value, pointer, with);
            assert_eq!(
                faults_of(&value).len(),
                1,
                "{pointer}: {}",
                lines(&faults_of(&value))
            );
        }
    }
}

/// Twenty faults of every sort in one file: wrong types beside rules between fields.
pub const TWENTY: &str = r#"{
  "format": 1, "name": "", "colour": "red", "colour": "blue",
  "banks": [{"name": "A", "cylinders": [1, 2, 3]}, {"name": "A", "cylinders": [4, 5, 3]}],
  "bank_angle_deg": "sixty", "firing_order": [1, 4, 2, 5, 9],
  "firing_intervals_deg": [120, 120, 120, 120],
  "intake_valves": 2, "exhaust_valves": 0, "locks_per_valve": -2, "follower": "spoon",
  "bore_mm": 86.0, "stroke_mm": 86.0, "rod_mm": 40.0, "intake_seat_mm": 99.0,
  "breakaway_torque_nm": 1e9, "pressure_rating_bar": null,
  "spring": {"seated_load_n": 200, "rate_n_per_mm": 30, "seated_height_mm": 30,
             "solid_height_mm": 31, "travel_to_locks_mm": 10},
  "working_positions": [{"cylinder": 8, "offsets_deg": [4, 4], "why": "frame"}],
  "kit": [{"item": "stopper", "count": 0, "bank": "Z"}],
  "handling_min": {"turn_360": 4.0, "bank_change": 10.0, "adaptor_change": 0.5}
}"#;

#[test]
fn a_file_with_many_faults_names_them_all_at_once() {
    let faults = Layout::from_json("twenty.json", TWENTY.as_bytes()).unwrap_err();
    let mut fields: Vec<&str> = faults.iter().map(|f| f.field.as_str()).collect();
    fields.sort_unstable();
    let mut expected = vec![
        "name",
        "colour",
        "colour",
        "banks[1].name",
        "banks[1].cylinders[2]",
        "bank_angle_deg",
        "firing_order",
        "firing_order[4]",
        "firing_intervals_deg",
        "firing_intervals_deg",
        "exhaust_valves",
        "locks_per_valve",
        "springs_per_valve",
        "follower",
        "rod_mm",
        "intake_seat_mm",
        "breakaway_torque_nm",
        "pressure_rating_bar",
        "spring.solid_height_mm",
        "working_positions[0].cylinder",
        "working_positions[0].offsets_deg[1]",
        "kit[0].count",
        "kit[0].bank",
    ];
    expected.sort_unstable();
    assert_eq!(fields, expected, "{}", lines(&faults));
    assert!(
        faults
            .iter()
            .all(|f| f.file == "twenty.json" && !f.rule.to_string().is_empty())
    );
}

#[test]
fn optional_fields_may_all_be_left_out() {
    let mut value = good();
    let optional = [
        "note",
        "firing_intervals_deg",
        "may_turn_back",
        "intake_seat_mm",
        "exhaust_seat_mm",
        "breakaway_measured",
        "fitting_push_n",
        "spring",
        "rim_diameter_mm",
        "guide",
        "order_list",
        "remarks",
        "working_positions",
        "adaptors",
        "kit",
    ];
    for key in optional {
        value.as_object_mut().unwrap().remove(key);
    }
    let layout = Layout::from_json("bare.json", value.to_string().as_bytes()).unwrap();
    assert_eq!(layout.fitting_push_n, 60.0);
    assert_eq!(layout.offsets_deg(3), [0.0]);
    assert_eq!(layout.faults("bare.json"), Vec::new());
}

#[test]
fn limits_themselves_are_allowed() {
    for (pointer, with) in [
        ("/bank_angle_deg", json!(360)),
        ("/bank_angle_deg", json!(0)),
        ("/bore_mm", json!(300)),
        ("/pressure_rating_bar", json!(0.5)),
        ("/breakaway_torque_nm", json!(500)),
        ("/locks_per_valve", json!(4)),
        ("/name", json!("x".repeat(80))),
        ("/banks/0/name", json!("A bank of 20 letters")),
        ("/working_positions/0/offsets_deg", json!([-180, 180, 0])),
        ("/spring/travel_to_locks_mm", json!(13.5)),
        (
            "/firing_intervals_deg",
            json!([120, 120, 120, 120, 120, 120.000_000_9]),
        ),
        ("/handling_min/turn_360", json!(0)),
    ] {
        let mut value = good();
        spoil(&mut value, pointer, Some(with));
        if pointer == "/banks/0/name" {
            value["kit"] = json!([]);
        }
        assert_eq!(lines(&faults_of(&value)), "", "{pointer}");
    }
}

/// One cylinder is the least: its single firing interval is the whole cycle.
#[test]
fn an_engine_of_one_cylinder_is_allowed_and_one_of_seventeen_is_not() {
    let mut value = good();
    for key in ["working_positions", "adaptors", "remarks", "kit"] {
        value.as_object_mut().unwrap().remove(key);
    }
    value["banks"] = json!([{"name": "A", "cylinders": [7]}]);
    value["firing_order"] = json!([7]);
    value["firing_intervals_deg"] = json!([720]);
    let layout = Layout::from_json("one.json", value.to_string().as_bytes()).unwrap();
    assert_eq!(layout.tdc_deg(7), Some(0.0));

    let (a, b): (Vec<u8>, Vec<u8>) = ((1..=9).collect(), (10..=17).collect());
    value["banks"] = json!([{"name": "A", "cylinders": a}, {"name": "B", "cylinders": b}]);
    value["firing_order"] = json!((1..=17).collect::<Vec<u8>>());
    value
        .as_object_mut()
        .unwrap()
        .remove("firing_intervals_deg");
    let faults = faults_of(&value);
    let banks = faults.iter().find(|f| f.field == "banks").unwrap();
    assert_eq!(banks.value, "17 cylinders");
    assert!(
        banks.rule.to_string().contains("1 to 16 cylinders"),
        "{banks}"
    );
}

/// A layout built in memory can hold what no file can.
#[test]
fn a_layout_changed_in_memory_is_held_against_the_same_rules() {
    let mut layout = load("v6-60-24v");
    layout.bore_mm = f64::NAN;
    layout.intake_seat_mm = Some(f64::INFINITY);
    layout.intake_valves = 0;
    layout.banks[0].cylinders[0] = 0;
    layout.kit[0].item = "lock".parse().unwrap();
    let faults = layout.faults("editor");
    let mut fields: Vec<&str> = faults.iter().map(|f| f.field.as_str()).collect();
    fields.sort_unstable();
    assert_eq!(
        fields,
        [
            "banks[0].cylinders[0]",
            "bore_mm",
            "intake_seat_mm",
            "intake_valves",
            "kit[0].item",
        ],
        "{}",
        lines(&faults)
    );
}

/// A file of the largest size that is nothing but faults: read in reasonable time and
/// memory, the count of what is not written out said at the end.
#[test]
fn a_file_made_of_faults_alone_does_not_fill_the_memory() {
    let fields: Vec<String> = (0..90_000).map(|i| format!("\"{i}\":0")).collect();
    let text = format!("{{{}}}", fields.join(","));
    let faults = Layout::from_json("flood.json", text.as_bytes()).unwrap_err();
    assert_eq!(faults.len(), 1_001);
    // The required fields are missing besides.
    let required = 16;
    let more = 90_000 + required - 1_000;
    assert_eq!(
        faults[1_000].rule.to_string(),
        format!("has {more} more faults")
    );

    let doubles = vec!["\"banks\":0"; 80_000].join(",");
    let faults = Layout::from_json("flood.json", format!("{{{doubles}}}").as_bytes());
    assert_eq!(faults.unwrap_err().len(), 1_001);

    let banks = vec!["{\"name\":\"A\"}"; 60_000].join(",");
    let faults = Layout::from_json("flood.json", format!("{{\"banks\":[{banks}]}}").as_bytes());
    assert!(faults.unwrap_err().len() < 1_000);
}
