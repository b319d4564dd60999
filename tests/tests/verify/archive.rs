//! The file as an archive has it: PDF/A-3 by a checker of its own, and by general readers.
//!
//! The checker is that of pikepdf (MPL-2.0, the Python package index), which approves only what
//! it knows to conform to ISO 19005-3, level B, and names the rules of veraPDF; fetched by
//! `tests/pikepdf` and used here alone. Level A adds tags and words, which are held against
//! PDF/UA when the file is written.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use super::depot::{depot, run};

/// The exit of `tests/pikepdf` where the index is not reached.
const NOT_REACHED: i32 = 75;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// What the checker says of files; none, and it is said, where it cannot be fetched.
fn checked(files: &[PathBuf]) -> Option<Output> {
    let done = Command::new("bash")
        .arg("tests/pikepdf")
        .args(files)
        .current_dir(root())
        .output()
        .unwrap();
    if done.status.code() == Some(NOT_REACHED) {
        let fault = String::from_utf8_lossy(&done.stderr);
        println!("NOT RUN: the checker of PDF/A cannot be fetched: {fault}");
        return None;
    }
    Some(done)
}

#[test]
fn a_record_is_pdf_a_3_and_a_work_sheet_which_claims_nothing_is_found_not_to_be() {
    let depot = depot();
    let Some(done) = checked(&depot.records) else {
        return;
    };
    let said = String::from_utf8_lossy(&done.stdout);
    let fault = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{said}{fault}");
    let good = said
        .lines()
        .filter(|line| line.ends_with("PDF/A-3: passed"))
        .count();
    assert_eq!(good, depot.records.len(), "{said}");

    let sheet = depot.root().join("sheet.pdf");
    let engine = root().join("assets/engines/inline-4-16v.json");
    let (engine, file) = (engine.to_str().unwrap(), sheet.to_str().unwrap());
    let (code, said) = run(&["sheet", engine, "--out", file]);
    assert_eq!(code, 0, "{said}");
    let done = checked(&[sheet]).unwrap();
    let said = String::from_utf8_lossy(&done.stdout);
    assert!(
        !done.status.success() && said.contains("PDF/A-3: FAILED"),
        "{said}"
    );
}

#[test]
fn general_readers_find_no_fault_and_say_what_it_is() {
    for record in &depot().records {
        let tool = |name: &str, args: &[&str]| {
            let done = Command::new(name).args(args).arg(record).output().unwrap();
            let said = String::from_utf8_lossy(&done.stdout).into_owned();
            let faults = String::from_utf8_lossy(&done.stderr).into_owned();
            assert!(done.status.success(), "{name}: {said}{faults}");
            said
        };
        let said = tool("qpdf", &["--check"]);
        assert!(
            said.contains("No syntax or stream encoding errors found"),
            "{said}"
        );
        let said = tool("pdfinfo", &[]);
        for wanted in ["Tagged:          yes", "PDF version:     1.7"] {
            assert!(said.contains(wanted), "{said}");
        }
        let said = tool("pdfinfo", &["-meta"]);
        for wanted in [
            "<pdfaid:part>3</pdfaid:part>",
            "<pdfaid:conformance>A</pdfaid:conformance>",
            "<pdfuaid:part>1</pdfuaid:part>",
        ] {
            assert!(said.contains(wanted), "{said}");
        }
    }
}
