//! The work sheet on paper, read back with poppler and qpdf and held against the engine's
//! own file and the command line's working order.

use std::path::{Path, PathBuf};

use serde_json::Value;
use trayzero::cli;
use trayzero_core::engine::shipped;

use crate::pdf::{check, inside_margins, pages_of, text_of};

fn run(args: &[&str]) -> (u8, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = cli::run(["trayzero"].iter().chain(args), &mut out, &mut err);
    (code, String::from_utf8([out, err].concat()).unwrap())
}

/// Writes an engine's file and its sheet.
fn sheet(engine: &str, json: &str, more: &[&str]) -> (PathBuf, PathBuf) {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("sheets");
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join(format!("{engine}.json"));
    std::fs::write(&file, json).unwrap();
    let out = folder.join(format!("{engine}{}.pdf", more.concat()));
    let paths = [file.to_str().unwrap(), "--out", out.to_str().unwrap()];
    let (code, said) = run(&[&["sheet"], &paths[..], more].concat());
    assert_eq!((code, said.as_str()), (0, ""), "{engine}");
    (file, out)
}

#[test]
fn every_shipped_engine_has_its_valves_in_the_working_order_and_its_kit() {
    for engine in shipped() {
        let (file, out) = sheet(engine.key, engine.json, &[]);
        check(&out);
        inside_margins(&out, (595.28, 841.89));
        let text = pages_of(&out).join(" ");
        let own: Value = serde_json::from_str(engine.json).unwrap();
        let (_, order) = run(&["order", file.to_str().unwrap(), "--json"]);
        let order: Value = serde_json::from_str(&order).unwrap();
        let mut rest = text.as_str();
        for (place, stop) in order["stops"].as_array().unwrap().iter().enumerate() {
            let named = format!(
                "{}. Cylinder {}, {}",
                place + 1,
                stop["cylinder"],
                name(stop)
            );
            let at = rest.find(&named);
            rest = &rest[at.unwrap_or_else(|| panic!("{}: {named} in {rest}", engine.key))..];
            let turn = format!("turn {:.0}°", stop["turn_deg"].as_f64().unwrap());
            assert!(
                rest[..120.min(rest.len())].contains(&turn),
                "{named}: {turn}"
            );
        }
        let banks = own["banks"].as_array().unwrap();
        let cylinders: usize = banks
            .iter()
            .map(|b| b["cylinders"].as_array().unwrap().len())
            .sum();
        let layout = text_of(&out);
        for (side, valves) in [("intake", "intake_valves"), ("exhaust", "exhaust_valves")] {
            let count = usize::try_from(own[valves].as_u64().unwrap()).unwrap();
            for valve in 1..=count {
                let named = format!("{side} {valve}");
                let rows = layout.lines().filter(|line| line.trim() == named).count();
                assert_eq!(rows, cylinders, "{}: {named}", engine.key);
            }
        }
        for line in own["kit"].as_array().into_iter().flatten() {
            let count = line["count"].to_string();
            let is_there = layout
                .lines()
                .any(|row| row.trim_end().ends_with(&format!(" {count}")));
            assert!(is_there, "{}: {line}", engine.key);
        }
    }
}

fn name(stop: &Value) -> &str {
    stop["bank"].as_str().unwrap()
}

#[test]
fn both_papers_languages_and_units_are_whole_and_the_same_twice() {
    let engine = shipped()
        .iter()
        .find(|e| e.key == "v8-cross-plane-32v")
        .unwrap();
    let us = ["--units", "us", "--language", "de"];
    let (_, out) = sheet(engine.key, engine.json, &us);
    check(&out);
    inside_margins(&out, (612.0, 792.0));
    let text = text_of(&out);
    assert!(
        text.contains("Arbeitsblatt") && text.contains("psi"),
        "{text}"
    );
    assert!(!text.contains('\u{FFFD}'));
    let once = std::fs::read(&out).unwrap();
    sheet(engine.key, engine.json, &us);
    assert_eq!(once, std::fs::read(&out).unwrap());
}

/// Where the file says nothing of the seats, the sheet does not make a pressure up.
#[test]
fn an_engine_without_seats_gets_no_pressure_that_holds() {
    let engine = shipped().iter().find(|e| e.key == "inline-4-16v").unwrap();
    let mut own: Value = serde_json::from_str(engine.json).unwrap();
    let fields = own.as_object_mut().unwrap();
    fields.remove("intake_seat_mm");
    fields.remove("exhaust_seat_mm");
    let (_, out) = sheet("no-seats", &own.to_string(), &[]);
    let text = pages_of(&out).join(" ");
    assert!(text.contains("The layout has no seat diameters"), "{text}");
    let air = text.find("no seat diameters").unwrap();
    assert!(text[air.saturating_sub(200)..air].contains("– –"), "{text}");
}

#[test]
fn a_file_that_is_no_engine_and_a_place_that_is_no_file_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("engine.json");
    std::fs::write(&file, "{}").unwrap();
    let out = folder.path().join("out.pdf");
    let (file, out) = (file.to_str().unwrap(), out.to_str().unwrap());
    let (code, said) = run(&["sheet", file, "--out", out]);
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("engine.json"), "{said}");
    let engine = shipped().iter().find(|e| e.key == "inline-3-12v").unwrap();
    std::fs::write(file, engine.json).unwrap();
    let (code, said) = run(&["sheet", file, "--out", folder.path().to_str().unwrap()]);
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("no plain file"), "{said}");
}
