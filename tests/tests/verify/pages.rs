//! What the pages print: held against what they printed when the list was made, whoever has
//! saved the file since.

use std::fs;
use std::path::Path;
use std::process::Command;

use super::attached::failing;
use super::depot::{depot, verified};

fn qpdf(args: &[&str]) {
    let done = Command::new("qpdf").args(args).output().unwrap();
    assert!(done.status.success(), "{done:?}");
}

fn path(folder: &Path, name: &str) -> String {
    folder.join(name).to_str().unwrap().to_owned()
}

/// Saved anew by another program, packed otherwise, numbered otherwise: the pages are the same.
#[test]
fn a_copy_that_another_program_has_saved_still_holds_and_one_that_is_packed_is_sent_back() {
    let depot = depot();
    let folder = tempfile::tempdir().unwrap();
    let record = depot.records[0].to_str().unwrap();
    for (name, how) in [
        ("plain.pdf", &["--stream-data=uncompress"][..]),
        (
            "tight.pdf",
            &["--recompress-flate", "--compression-level=9"],
        ),
        ("again.pdf", &["--qdf", "--normalize-content=n"]),
    ] {
        let copy = path(folder.path(), name);
        let args = [how, &[record, copy.as_str()]].concat();
        qpdf(&args);
        let (code, answer) = verified(Path::new(&copy), &[]);
        assert_eq!(code, 0, "{name}: {answer:#}");
        assert!(
            answer.to_string().contains("saved anew by another program"),
            "{answer:#}"
        );
    }
    let packed = path(folder.path(), "packed.pdf");
    qpdf(&["--object-streams=generate", record, &packed]);
    let (code, answer) = verified(Path::new(&packed), &[]);
    assert_eq!(code, 2);
    assert!(
        answer["error"]
            .as_str()
            .unwrap()
            .contains("--object-streams=disable"),
        "{answer}"
    );
}

/// The attachments of one record under the pages of another.
#[test]
fn pages_of_another_record_pages_that_are_missing_and_a_changed_figure_are_found() {
    let depot = depot();
    let folder = tempfile::tempdir().unwrap();
    let record = depot.records[0].to_str().unwrap();
    let check = |file: &str, page: &str| {
        let (code, answer) = verified(Path::new(file), &[]);
        assert_eq!(code, 1, "{answer:#}");
        let lines = failing(&answer);
        assert!(
            lines.iter().all(|line| line["about"] == "pages"),
            "{answer:#}"
        );
        assert!(
            lines[0]["words"].as_str().unwrap().starts_with(page),
            "{answer:#}"
        );
    };
    let fewer = path(folder.path(), "fewer.pdf");
    qpdf(&[record, "--pages", ".", "1-r2", "--", &fewer]);
    let pages = |file: &str| {
        let done = Command::new("qpdf")
            .args(["--show-npages", file])
            .output()
            .unwrap();
        String::from_utf8(done.stdout)
            .unwrap()
            .trim()
            .parse::<usize>()
            .unwrap()
    };
    check(&fewer, &format!("page {} ", pages(record)));
    let swapped = path(folder.path(), "swapped.pdf");
    qpdf(&[record, "--pages", ".", "2,1,3-z", "--", &swapped]);
    check(&swapped, "page 1 ");
    // One glyph of a page another: a digit, a letter, whatever stands there.
    let plain = path(folder.path(), "plain.pdf");
    qpdf(&["--qdf", "--normalize-content=n", record, &plain]);
    let mut bytes = fs::read(&plain).unwrap();
    let glyph = b"Tm[(\\000\\00";
    let shown = bytes.windows(glyph.len()).position(|w| w == glyph).unwrap();
    let digit = &mut bytes[shown + glyph.len()];
    *digit = if *digit == b'1' { b'2' } else { b'1' };
    fs::write(&plain, bytes).unwrap();
    check(&plain, "page 1 ");
}
