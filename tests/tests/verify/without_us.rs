//! The README's page for outsiders, done to the letter: its commands are read out of it and
//! run by bash, with qpdf, sha256sum and openssl and nothing of ours.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use super::depot::{depot, verified};

/// The commands of the README whose first line says this.
fn commands(first: &str) -> String {
    let readme = Path::new(env!("CARGO_MANIFEST_DIR")).join("../README.md");
    let readme = fs::read_to_string(readme).unwrap();
    let mut blocks = readme.split("```sh\n").skip(1);
    let found = blocks.find(|block| block.lines().next() == Some(first));
    let block = found.unwrap_or_else(|| panic!("{first}"));
    block.split("```").next().unwrap().to_owned()
}

/// The folders of the system's own programs: ours is in none of them.
const SYSTEM: &str = "/usr/bin:/bin";

fn bash(folder: &Path, commands: &str) -> Output {
    Command::new("bash")
        .args(["-e", "-u", "-o", "pipefail", "-c", commands])
        .current_dir(folder)
        .env("PATH", SYSTEM)
        .output()
        .unwrap()
}

fn said(output: &Output) -> String {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    text(&output.stdout) + &text(&output.stderr)
}

/// A folder with a record in it.
fn folder_with(pdf: &[u8]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("record.pdf"), pdf).unwrap();
    folder
}

const CHECK: &str = "# check a record without Tray Zero";
const WHOSE: &str = "# whose record it is";
const LINES: &str = "# every line of the journals";

#[test]
fn the_readmes_commands_find_a_record_whole_and_say_whose_it_is() {
    let depot = depot();
    let folder = folder_with(&depot.record(0));
    let checked = bash(folder.path(), &commands(CHECK));
    let text = said(&checked);
    assert!(checked.status.success(), "{text}");
    assert!(text.contains("Signature Verified Successfully"), "{text}");
    let good = text.lines().filter(|line| line.ends_with(": OK")).count();
    let proof = folder.path().join("proof");
    assert_eq!(good + 2, fs::read_dir(&proof).unwrap().count(), "{text}");

    let (_, answer) = verified(&depot.records[0], &[]);
    let whose = bash(&proof, &commands(WHOSE));
    let text = said(&whose);
    assert!(whose.status.success(), "{text}");
    for (name, of) in [
        ("signed with the key ", "signer_key"),
        ("shop's key ", "shop_key"),
        ("check value ", "check_value"),
    ] {
        let line = format!("{name}{}", answer[of].as_str().unwrap());
        assert!(text.lines().any(|said| said == line), "{line}: {text}");
    }
    assert!(text.lines().any(|line| line.starts_with("log-")), "{text}");

    let lines = bash(&proof, &commands(LINES));
    assert!(
        lines.status.success() && said(&lines).is_empty(),
        "{}",
        said(&lines)
    );
    let journal = fs::read_dir(&proof)
        .unwrap()
        .map(|name| name.unwrap().path());
    let journal = { journal }.find(|path| {
        let name = path.file_name().unwrap().to_str().unwrap();
        name.starts_with("journal-") && name.contains(".jsonl")
    });
    let journal = journal.unwrap();
    let changed = fs::read_to_string(&journal)
        .unwrap()
        .replacen("\"n\":3,", "\"n\":4,", 1);
    fs::write(&journal, changed).unwrap();
    let text = said(&bash(&proof, &commands(LINES)));
    assert_eq!(
        text.lines()
            .filter(|line| line.contains("does not follow"))
            .count(),
        1,
        "{text}"
    );
}

#[test]
fn the_readmes_commands_say_no_to_a_changed_a_dropped_and_an_added_file() {
    let depot = depot();
    let pdf = &depot.records[0];
    for change in [
        // Taken out and put in by qpdf, which knows nothing of the list.
        "qpdf --remove-attachment=record.json IN record.pdf",
        "echo '{}' >more.json; qpdf --add-attachment more.json -- IN record.pdf",
        "echo '{}' >record.json; qpdf --remove-attachment=record.json IN a.pdf; \
         qpdf --add-attachment record.json -- a.pdf record.pdf",
    ] {
        let folder = tempfile::tempdir().unwrap();
        let done = bash(folder.path(), &change.replace("IN", pdf.to_str().unwrap()));
        assert!(done.status.success(), "{}", said(&done));
        let checked = bash(folder.path(), &commands(CHECK));
        assert!(!checked.status.success(), "{change}: {}", said(&checked));
        let (code, answer) = verified(&folder.path().join("record.pdf"), &[]);
        assert_eq!(code, 1, "{change}: {answer:#}");
        let named = if change.contains("more") {
            "more.json"
        } else {
            "record.json"
        };
        let line = |line: &&serde_json::Value| line["attachment"] == named;
        let failing = super::attached::failing(&answer);
        assert!(failing.iter().any(line), "{change}: {answer:#}");
    }
}
