//! `trayzero order` on the command line.

use std::collections::BTreeSet;
use std::path::PathBuf;

use serde_json::Value;
use trayzero_core::engine::shipped;

struct Answer {
    code: u8,
    out: String,
    err: String,
}

fn order(args: &[&str]) -> Answer {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = trayzero::cli::run(["trayzero", "order"].iter().chain(args), &mut out, &mut err);
    Answer {
        code,
        out: String::from_utf8(out).unwrap(),
        err: String::from_utf8(err).unwrap(),
    }
}

fn written(folder: &tempfile::TempDir, text: &str) -> String {
    let path: PathBuf = folder.path().join("engine.json");
    std::fs::write(&path, text).unwrap();
    path.display().to_string()
}

fn fields(value: &Value) -> BTreeSet<&str> {
    value
        .as_object()
        .unwrap()
        .keys()
        .map(String::as_str)
        .collect()
}

#[test]
fn every_shipped_engine_has_an_order_with_the_fields_that_scripts_rely_on() {
    let folder = tempfile::tempdir().unwrap();
    assert!(!shipped().is_empty());
    for layout in shipped() {
        let path = written(&folder, layout.json);
        let answer = order(&[&path, "--from-deg", "90", "--json"]);
        assert_eq!(
            (answer.code, answer.err.as_str()),
            (0, ""),
            "{}",
            layout.key
        );
        let value: Value = serde_json::from_str(&answer.out).unwrap();
        assert_eq!(
            fields(&value),
            BTreeSet::from([
                "adaptor_changes",
                "bank_changes",
                "minutes",
                "stops",
                "turn_deg"
            ])
        );
        let engine: Value = serde_json::from_str(layout.json).unwrap();
        let stops = value["stops"].as_array().unwrap();
        assert_eq!(
            stops.len(),
            engine["firing_order"].as_array().unwrap().len()
        );
        for stop in stops {
            assert_eq!(
                fields(stop),
                BTreeSet::from([
                    "adaptors",
                    "bank",
                    "crank_deg",
                    "cylinder",
                    "offset_deg",
                    "turn_deg"
                ])
            );
        }
        let sum: f64 = stops
            .iter()
            .map(|s| s["turn_deg"].as_f64().unwrap().abs())
            .sum();
        assert!((sum - value["turn_deg"].as_f64().unwrap()).abs() < 1e-9);
        let words = order(&[&path]);
        assert_eq!(words.code, 0);
        assert!(words.out.contains("bank changes"), "{}", words.out);
        assert!(words.out.contains("Never turn the crank"), "{}", words.out);
    }
}

#[test]
fn the_crank_starts_at_0_unless_told_and_may_stand_before_it() {
    let folder = tempfile::tempdir().unwrap();
    let inline_4 = shipped().iter().find(|s| s.key == "inline-4-16v").unwrap();
    let path = written(&folder, inline_4.json);
    let first_turn = |args: &[&str]| {
        let answer = order(args);
        let value: Value = serde_json::from_str(&answer.out).unwrap();
        value["stops"][0]["turn_deg"].as_f64().unwrap()
    };
    assert_eq!(first_turn(&[&path, "--json"]), 0.0);
    assert_eq!(first_turn(&[&path, "--json", "--from-deg", "-30"]), 30.0);
    assert_eq!(first_turn(&[&path, "--json", "--from-deg", "690"]), 30.0);
}

#[test]
fn bad_input_is_refused_with_its_file_or_option_and_value() {
    let folder = tempfile::tempdir().unwrap();
    let path = written(&folder, shipped()[0].json);
    let table: [(&[&str], &str); 4] = [
        (&[&path, "--from-deg", "NaN"], "--from-deg: from_deg = NaN"),
        (&[&path, "--from-deg", "far"], "far"),
        (&["no-such-engine.json"], "no-such-engine.json"),
        (&[], "ENGINE.json"),
    ];
    for (args, words) in table {
        let answer = order(args);
        assert_eq!(answer.code, 2, "{args:?}");
        assert!(answer.err.contains(words), "{args:?}: {}", answer.err);
        assert_eq!(answer.out, "");
    }
}
