//! The commands `air` and `leak` as a script meets them: output, messages, exit codes.

#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::{Value, json};

/// Exit code, output and messages of one call.
struct Called {
    code: i32,
    out: String,
    err: String,
}

impl Called {
    fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap()
    }
}

fn call(args: &[&str]) -> Called {
    let done = Command::new(env!("CARGO_BIN_EXE_trayzero"))
        .args(args)
        .output()
        .unwrap();
    Called {
        code: done.status.code().unwrap(),
        out: String::from_utf8(done.stdout).unwrap(),
        err: String::from_utf8(done.stderr).unwrap(),
    }
}

/// Bore and stroke 86 mm, rod 143 mm, seats 31 and 27 mm, breakaway torque 18 Nm, rating
/// 7 bar, push 60 N. Worked out apart from this program, it needs 2.096 bar to hold an
/// exhaust valve; at 5 degrees air turns it from 3.181 bar on, at 12 degrees from 1.339
/// bar, at 90 degrees from 0.360 bar.
fn engine() -> Value {
    json!({ "format": 1, "name": "test engine",
        "banks": [ {"name": "A", "cylinders": [1, 2, 3, 4]} ], "bank_angle_deg": 0,
        "firing_order": [1, 3, 4, 2], "intake_valves": 2, "exhaust_valves": 2,
        "locks_per_valve": 2, "springs_per_valve": 1, "follower": "finger",
        "bore_mm": 86.0, "stroke_mm": 86.0, "rod_mm": 143.0,
        "intake_seat_mm": 31.0, "exhaust_seat_mm": 27.0,
        "breakaway_torque_nm": 18.0, "pressure_rating_bar": 7.0,
        "handling_min": {"turn_360": 4.0, "bank_change": 10.0, "adaptor_change": 0.5} })
}

/// Writes a layout for one test; `name` keeps tests that run at once apart.
fn file(name: &str, layout: &Value) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    fs::write(&path, layout.to_string()).unwrap();
    path
}

fn air(path: &Path, off_tdc_deg: &str, pressure_bar: Option<&str>) -> Called {
    let mut args = vec!["air", path.to_str().unwrap(), "--json"];
    args.extend(["--off-tdc-deg", off_tdc_deg]);
    args.extend(pressure_bar.iter().flat_map(|p| ["--pressure-bar", p]));
    call(&args)
}

#[test]
fn air_gives_the_right_verdict_and_exit_code_everywhere() {
    let usual = file("usual.json", &engine());
    let mut weak = engine();
    weak["pressure_rating_bar"] = json!(2.0);
    let weak = file("weak.json", &weak);
    // Layout, degrees off TDC, pressure in bar, verdict, exit code.
    let table = [
        (&usual, "0", None, "window", 0),
        (&usual, "0", Some("3"), "hold", 0),
        (&usual, "0", Some("7"), "hold", 0),
        (&usual, "0", Some("2.0"), "too low", 1),
        (&usual, "0", Some("7.1"), "over rating", 1),
        (&usual, "5", None, "window", 0),
        (&usual, "5", Some("2.6"), "hold", 0),
        (&usual, "5", Some("3.3"), "may turn", 1),
        (&usual, "-5", None, "window", 0),
        (&usual, "-5", Some("2.6"), "hold", 0),
        (&usual, "-5", Some("3.3"), "may turn", 1),
        (&usual, "12", None, "no window", 1),
        (&usual, "-12", None, "no window", 1),
        (&usual, "-12", Some("3"), "may turn", 1),
        (&usual, "-12", Some("1.3"), "too low", 1),
        (&usual, "90", None, "no window", 1),
        (&usual, "90", Some("3"), "may turn", 1),
        (&usual, "-90", Some("3"), "may turn", 1),
        (&usual, "90", Some("0.3"), "too low", 1),
        (&usual, "90", Some("8"), "over rating", 1),
        (&weak, "0", None, "no window", 1),
        (&weak, "0", Some("2.05"), "over rating", 1),
        (&weak, "0", Some("1.9"), "too low", 1),
        (&weak, "90", Some("1.9"), "may turn", 1),
    ];
    for (path, off, pressure, verdict, code) in table {
        let called = air(path, off, pressure);
        assert_eq!(called.json()["verdict"], verdict, "{off} {pressure:?}");
        assert_eq!(called.code, code, "{off} {pressure:?}");
    }
}

#[test]
fn air_json_has_every_field_by_name_and_null_for_what_is_not_there() {
    let path = file("fields.json", &engine());
    let fields = [
        "piston_drop_mm",
        "torque_nm",
        "hold_intake_n",
        "hold_exhaust_n",
        "lowest_bar",
        "highest_bar",
        "suggested_bar",
        "widest_off_tdc_deg",
        "verdict",
    ];
    let whole = air(&path, "5", Some("2.6"));
    let answer = whole.json();
    let mut names: Vec<&String> = answer.as_object().unwrap().keys().collect();
    names.sort();
    let mut sorted = fields;
    sorted.sort_unstable();
    assert_eq!(names, sorted);
    assert!(fields.iter().all(|f| !answer[f].is_null()), "{answer}");
    assert_eq!(whole.err, "");
    let bare = air(&path, "12", None);
    assert_eq!(bare.err, "", "what was not asked for is not left out");
    let bare = bare.json();
    assert_eq!(bare.as_object().unwrap().len(), fields.len());
    for field in [
        "torque_nm",
        "hold_intake_n",
        "hold_exhaust_n",
        "suggested_bar",
    ] {
        assert!(bare[field].is_null(), "{field}");
    }
    let widest = bare["widest_off_tdc_deg"].as_f64().unwrap();
    assert!((widest - 7.6094).abs() < 2e-4);
}

#[test]
fn air_without_a_seat_says_what_is_left_out_and_why() {
    let mut layout = engine();
    layout.as_object_mut().unwrap().remove("intake_seat_mm");
    let path = file("no_seat.json", &layout);
    let called = air(&path, "5", Some("2.6"));
    let answer = called.json();
    for field in ["hold_intake_n", "lowest_bar", "suggested_bar", "verdict"] {
        assert!(answer[field].is_null(), "{field}");
        let line = format!("{field}: the layout gives no intake_seat_mm\n");
        assert!(called.err.contains(&line), "{}", called.err);
    }
    assert!(answer["torque_nm"].is_f64() && answer["hold_exhaust_n"].is_f64());
    assert_eq!(called.code, 1);
}

#[test]
fn air_in_words_says_that_the_breakaway_torque_is_assumed() {
    let path = file("words.json", &engine());
    let path_text = path.to_str().unwrap();
    let called = call(&["air", path_text, "--off-tdc-deg", "-5"]);
    assert_eq!(called.code, 0);
    assert!(called.out.contains("lowest pressure             2.10 bar"));
    assert!(called.out.contains("18 Nm is assumed"));
    assert!(
        called
            .out
            .contains("valve springs acting through the cams are not in")
    );
    let weak = call(&[
        "air",
        path_text,
        "--off-tdc-deg",
        "5",
        "--pressure-bar",
        "0.3",
    ]);
    assert!(weak.out.contains("turns the crank nowhere"));
    let mut layout = engine();
    layout["breakaway_measured"] = json!(true);
    let path = file("measured.json", &layout);
    let called = call(&["air", path.to_str().unwrap(), "--off-tdc-deg", "0"]);
    assert!(!called.out.contains("assumed"));
}

#[test]
fn bad_input_to_air_is_exit_2_and_names_file_field_and_value() {
    let path = file("good.json", &engine());
    let mut layout = engine();
    layout["bore_mm"] = json!(-3.5);
    let faulty = file("faulty.json", &layout);
    let missing = Path::new(env!("CARGO_TARGET_TMPDIR")).join("missing.json");
    let table: [(&Path, &str, Option<&str>, &[&str]); 7] = [
        (
            &path,
            "200",
            None,
            &["--off-tdc-deg", "angle off TDC = 200 deg", "-180 to 180"],
        ),
        (&path, "nan", None, &["--off-tdc-deg", "NaN"]),
        (&path, "five", None, &["--off-tdc-deg", "five"]),
        (
            &path,
            "5",
            Some("-1"),
            &["--pressure-bar", "pressure = -1 bar"],
        ),
        (&path, "5", Some("inf"), &["--pressure-bar", "inf"]),
        (&faulty, "5", None, &["faulty.json", "bore_mm", "-3.5"]),
        (&missing, "5", None, &["missing.json", "cannot be read"]),
    ];
    for (path, off, pressure, words) in table {
        let called = air(path, off, pressure);
        assert_eq!(called.code, 2, "{off} {pressure:?}");
        assert_eq!(called.out, "");
        for word in words {
            assert!(called.err.contains(word), "{word} not in {}", called.err);
        }
    }
    assert_eq!(call(&["air", path.to_str().unwrap()]).code, 2);
    assert_eq!(call(&["no-such-word"]).code, 2);
    assert_eq!(call(&["--help"]).code, 0);
}

fn leak(supply: &str, cylinder: &str) -> Called {
    call(&[
        "leak",
        "--json",
        "--supply-bar",
        supply,
        "--cylinder-bar",
        cylinder,
    ])
}

#[test]
fn leak_gives_class_and_exit_code() {
    let table = [
        ("6", "6", "good", 0),
        ("7", "6.3", "good", 0),
        ("6", "5", "usable", 0),
        ("6", "4.5", "poor", 0),
        ("6", "3", "find the leak", 1),
        ("6", "0", "find the leak", 1),
    ];
    for (supply, cylinder, class, code) in table {
        let called = leak(supply, cylinder);
        let answer = called.json();
        assert_eq!(answer["class"], class, "{cylinder} of {supply}");
        assert_eq!(called.code, code, "{cylinder} of {supply}");
        assert_eq!(answer.as_object().unwrap().len(), 4);
        assert!(answer["loss_percent"].is_f64() && answer["free_air_l_min"].is_f64());
        assert_eq!(answer["leak_diameter_mm"].is_null(), cylinder == "0");
    }
}

#[test]
fn leak_refuses_a_cylinder_above_its_supply_and_other_slips() {
    let above = leak("5", "5.1");
    assert_eq!((above.code, above.out.as_str()), (2, ""));
    // Asked for with --json, so that what is wrong is JSON, too.
    let message = |called: &Called| {
        let told: serde_json::Value = serde_json::from_str(&called.err).unwrap();
        told["error"].as_str().unwrap().to_owned()
    };
    let expected = "--cylinder-bar: cylinder pressure = 5.1 bar: allowed is 0 to 5 bar";
    assert_eq!(message(&above), expected);
    assert!(message(&leak("0", "0")).starts_with("--supply-bar: supply pressure = 0 bar"));
    assert_eq!(leak("6", "-1").code, 2);
    assert_eq!(leak("x", "1").code, 2);
    let orifice = call(&[
        "leak",
        "--supply-bar",
        "6",
        "--cylinder-bar",
        "5",
        "--orifice-mm",
        "0",
    ]);
    assert_eq!(orifice.code, 2);
    assert!(
        orifice
            .err
            .starts_with("--orifice-mm: orifice diameter = 0 mm")
    );
}

#[test]
fn leak_in_words_tells_the_same() {
    let called = call(&["leak", "--supply-bar", "6", "--cylinder-bar", "3"]);
    assert!(called.out.contains("loss      50.0 %"));
    assert!(called.out.contains("class     find the leak"));
    assert_eq!(called.code, 1);
}
