//! The record, read as a person reads it from the paper, held against the oracle.

use std::path::Path;
use std::process::Command;

use super::oracle::Truth;

/// The words of the record that lies in a data folder.
fn words(data: &Path) -> String {
    let mut all = std::fs::read_dir(data.join("records")).unwrap().flatten();
    let paper = all.next().unwrap().path();
    let mut read = Command::new("pdftotext");
    let out = read.arg(&paper).arg("-").output();
    let text = String::from_utf8(out.unwrap().stdout).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

pub fn tells_the_truth(data: &Path, t: &Truth) {
    let words = words(data);
    let must = |what: &str| assert!(words.contains(what), "the record lacks {what:?}: {words}");
    for what in [&t.vehicle, &t.bay, &t.number, &t.technician] {
        must(what);
    }
    for leak in t.leaks.values() {
        must(&format!("{:.0} %", leak.loss_percent()));
        let heard = leak.heard.iter().map(|h| h.replace('_', " "));
        heard.for_each(|h| must(&h));
    }
    for (_, _, kind, text) in &t.findings {
        must(&kind.replace('_', " "));
        must(text);
    }
    for (_, person) in &t.signed {
        must(person);
    }
    for said in &t.said {
        must(said);
    }
    must(&format!("{} of {}", t.verified(), t.stages.len()));
    assert_eq!((t.verified(), t.phase), (t.stages.len(), "closed"));
    assert!(t.losses.iter().all(|loss| loss.is_found));
}
