//! `trayzero record` on a data folder.

use std::fs;
use std::path::Path;

use serde_json::Value;
use trayzero::cli;
use trayzero_core::journal::{Writer, journal_path};
use trayzero_tests::bay::Bay;
use uuid::Uuid;

use crate::play::{eventful_job_closed, job_mid_valve};

pub const JOB: Uuid = Uuid::from_u128(0x0b);

fn tablet_of(bay: &Bay) -> Uuid {
    bay.entries[0].tablet
}

/// A data folder with the job's journal; the journal's last link.
pub fn folder_with(play: &Bay) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let mut writer = Writer::open(folder.path(), JOB, tablet_of(play))
        .unwrap()
        .writer;
    for entries in play.entries.chunks(64) {
        writer.append(entries).unwrap();
    }
    let link = writer.link().to_string();
    // The folder is this tablet's own; of anybody else's lines nothing would be told.
    let card = format!(
        r#"{{"format":1,"tablet":"{}","name":"one","public_key":"{}"}}"#,
        tablet_of(play),
        "00".repeat(32)
    );
    fs::write(folder.path().join("tablet.json"), card).unwrap();
    (folder, link)
}

/// Exit code, output and messages of `trayzero record` with these arguments.
fn record(folder: &Path, args: &[&str]) -> (u8, String, String) {
    let mut line = vec!["trayzero", "record", folder.to_str().unwrap()];
    line.extend(args);
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = cli::run(line, &mut out, &mut err);
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (code, text(out), text(err))
}

fn job() -> String {
    JOB.to_string()
}

#[test]
fn it_writes_a_pdf_and_json_with_the_journals_check_value() {
    let (folder, link) = folder_with(&eventful_job_closed());
    let pdf = folder.path().join("record.pdf");
    let pdf_name = pdf.to_str().unwrap();
    let (code, out, err) = record(
        folder.path(),
        &["--job", &job(), "--out", pdf_name, "--json"],
    );
    assert_eq!(code, cli::EXIT_DONE);
    assert!(
        err.contains("taken on trust") && err.lines().count() == 2,
        "{err}"
    );
    assert!(err.contains("the record is not signed"), "{err}");
    let value: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(value["check_value"], link[..12]);
    assert_eq!(value["finished"], true);
    assert!(fs::read(&pdf).unwrap().starts_with(b"%PDF-"));

    let json = folder.path().join("record.json");
    let json_name = json.to_str().unwrap();
    let (code, out, _) = record(folder.path(), &["--job", &job(), "--out", json_name]);
    assert_eq!((code, out.as_str()), (cli::EXIT_DONE, ""));
    let written: Value = serde_json::from_slice(&fs::read(&json).unwrap()).unwrap();
    assert_eq!(written, value);
    let args = [
        "--job",
        &job(),
        "--out",
        pdf_name,
        "--paper",
        "letter",
        "--language",
        "de",
    ];
    assert_eq!(record(folder.path(), &args).0, cli::EXIT_DONE);
    let written = |more: [&str; 2]| {
        let job = job();
        let args = [&["--job", &job, "--out", pdf_name], &more[..]].concat();
        assert_eq!(record(folder.path(), &args).0, cli::EXIT_DONE);
        let pdf = fs::read(&pdf).unwrap();
        let is_letter = pdf.windows(7).any(|part| part == b"612 792");
        (pdf, is_letter)
    };
    let (metric, us) = (written(["--paper", "letter"]), written(["--units", "us"]));
    assert!(metric.1 && us.1, "the usual paper goes with the units");
    assert!(!written(["--units", "metric"]).1);
    assert_ne!(metric.0, us.0);
}

#[test]
fn a_changed_line_is_named_and_the_record_says_so() {
    let play = job_mid_valve();
    let (folder, _) = folder_with(&play);
    let journal = journal_path(folder.path(), JOB, tablet_of(&play));
    let text = fs::read_to_string(&journal).unwrap();
    let changed: Vec<String> = text
        .lines()
        .enumerate()
        .map(|(i, l)| match i {
            40 => l.replace("Ilse", "Olse"),
            _ => l.to_owned(),
        })
        .collect();
    fs::write(&journal, changed.join("\n") + "\n").unwrap();
    let pdf = folder.path().join("record.pdf");
    let args = ["--job", &job(), "--out", pdf.to_str().unwrap(), "--json"];
    let (code, out, err) = record(folder.path(), &args);
    assert_eq!(code, cli::EXIT_NO);
    assert!(
        err.contains(journal.to_str().unwrap()) && err.contains("line 41"),
        "{err}"
    );
    let value: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(value["journal_faults"][0]["line"], 41);
    assert!(pdf.exists());
}

#[test]
fn bad_input_is_named_and_nothing_is_written() {
    let (folder, _) = folder_with(&job_mid_valve());
    let pdf = folder.path().join("no/such/folder/record.pdf");
    let missing = Uuid::from_u128(7).to_string();
    let cases: [(&Path, Vec<&str>, &str); 4] = [
        (folder.path(), vec!["--job", &missing, "--json"], &missing),
        (
            Path::new("/no/such/folder"),
            vec!["--job", &missing, "--json"],
            "/no/such/folder",
        ),
        (folder.path(), vec!["--job", "seven", "--json"], "seven"),
        (folder.path(), vec!["--job"], "--job"),
    ];
    for (at, args, named) in cases {
        let (code, out, err) = record(at, &args);
        assert_eq!((code, out.as_str()), (cli::EXIT_BAD_INPUT, ""), "{err}");
        assert!(err.contains(named), "{err}");
    }
    let args = ["--job", &job(), "--out", pdf.to_str().unwrap()];
    let (code, _, err) = record(folder.path(), &args);
    assert_eq!(code, cli::EXIT_BAD_INPUT);
    assert!(err.contains("record.pdf"), "{err}");
    let (code, _, err) = record(folder.path(), &["--job", &job()]);
    assert_eq!(code, cli::EXIT_BAD_INPUT);
    assert!(err.contains("--out"), "{err}");
}
