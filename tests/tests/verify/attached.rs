//! What goes along within a record, taken out by poppler, and what `verify` says of it.

use std::fs;
use std::path::Path;

use ed25519_dalek::{Signature, SigningKey};
use serde_json::Value;
use trayzero_core::journal::pictures_path;

use super::depot::{depot, run, taken_out, verified};

/// Which lines of an answer do not hold.
pub fn failing(answer: &Value) -> Vec<&Value> {
    let lines = answer["lines"].as_array().unwrap().iter();
    lines
        .filter(|line| line["verdict"] == "does_not_hold")
        .collect()
}

/// All journals byte for byte, the log, the record: as they lie in the folder.
#[test]
fn everything_that_the_record_was_made_from_goes_along_byte_for_byte() {
    let depot = depot();
    for (job, record) in depot.jobs.iter().zip(&depot.records) {
        let files = taken_out(record);
        let mut journals = 0;
        for name in fs::read_dir(depot.root().join(format!("jobs/{job}"))).unwrap() {
            let path = name.unwrap().path();
            if path.extension().is_some_and(|e| e == "jsonl") {
                let name = path.file_name().unwrap().to_str().unwrap();
                assert_eq!(files[&format!("journal-{name}")], fs::read(&path).unwrap());
                journals += 1;
            }
        }
        let mut logs = 0;
        for name in fs::read_dir(depot.root().join("log")).unwrap() {
            let path = name.unwrap().path();
            if path.extension().is_some_and(|e| e == "jsonl") {
                let name = path.file_name().unwrap().to_str().unwrap();
                assert_eq!(files[&format!("log-{name}")], fs::read(&path).unwrap());
                logs += 1;
            }
        }
        assert!(journals > 0 && logs > 0);
        // Of a photograph goes along what tells neither its place nor its device.
        let is_picture = |name: &&String| name.starts_with("picture-");
        let pictures: Vec<&String> = files.keys().filter(is_picture).collect();
        for name in &pictures {
            let folder = pictures_path(depot.root(), *job);
            let copy = folder.join(name.trim_start_matches("picture-"));
            assert_eq!(files[*name], fs::read(copy).unwrap());
        }
        let others = [
            "record.json",
            "made.json",
            "signer.pem",
            "SHA256SUMS",
            "SHA256SUMS.sig",
        ];
        assert!(others.iter().all(|name| files.contains_key(*name)));
        let beside = |name: &&String| name.contains(".seal") || name.starts_with("ends-");
        let beside = files.keys().filter(beside).count();
        assert_eq!(
            files.len(),
            journals + logs + pictures.len() + others.len() + beside
        );
        // The list is signed with the tablet's key (RFC 8032), and says who belongs together.
        let key = SigningKey::from_bytes(&depot.tablet_key()).verifying_key();
        let signature = Signature::from_slice(&files["SHA256SUMS.sig"]).unwrap();
        key.verify_strict(&files["SHA256SUMS"], &signature).unwrap();
        let (root, job) = (depot.root().to_str().unwrap(), job.to_string());
        let (code, said) = run(&["record", root, "--job", &job, "--json"]);
        assert_eq!(code, 0);
        let said = said.lines().next().unwrap();
        assert_eq!(files["record.json"], format!("{said}\n").into_bytes());
    }
}

#[test]
fn every_record_of_the_demo_holds_and_its_shop_is_known_by_its_key() {
    let depot = depot();
    let mut keys = Vec::new();
    let (mut signed, mut ended) = (0, 0);
    for record in &depot.records {
        let (code, answer) = verified(record, &[]);
        assert_eq!(code, 0, "{answer:#}");
        assert_eq!(answer["holds"], true);
        let lines = answer["lines"].as_array().unwrap();
        let said = |about: &str, verdict: &str| {
            lines
                .iter()
                .any(|l| l["about"] == about && l["verdict"] == verdict)
        };
        for about in [
            "list",
            "signature",
            "signer",
            "log",
            "journal",
            "people",
            "figures",
            "value",
            "pages",
        ] {
            assert!(said(about, "holds"), "{about}: {answer:#}");
        }
        assert!(
            said("shop", "not_known"),
            "the shop is taken on trust: {answer:#}"
        );
        ended += usize::from(said("ends", "holds"));
        signed += usize::from(answer.to_string().contains("each with a key of their own"));
        keys.push(answer["shop_key"].as_str().unwrap().to_owned());
        let (code, answer) = verified(record, &["--shop-key", keys.last().unwrap()]);
        assert_eq!(code, 0, "{answer:#}");
        let lines = answer["lines"].as_array().unwrap();
        assert!(
            lines.iter().all(|line| line["verdict"] == "holds"),
            "{answer:#}"
        );
        let other = "ab".repeat(32);
        let (code, answer) = verified(record, &["--shop-key", &other]);
        assert_eq!(code, 1);
        assert!(
            failing(&answer).iter().any(|line| line["about"] == "shop"),
            "{answer:#}"
        );
    }
    assert!(signed > 0, "people have signed in some of them");
    assert_eq!(
        ended, 1,
        "and one of them has signed the ends of a closed job's journals"
    );
    keys.dedup();
    assert_eq!(keys.len(), 1);
    let record = depot.records[0].to_str().unwrap();
    let (code, said) = run(&["verify", record]);
    assert_eq!(code, 0);
    assert!(
        said.contains("everything that can be checked holds"),
        "{said}"
    );
    println!("{said}");
}

/// Whoever holds the tablet and its key drops the journal's last lines, with the closing in
/// them, and makes a new record. What the closing person signed gives it away.
#[test]
fn the_tablet_alone_cannot_leave_out_what_the_closing_person_has_signed() {
    let depot = depot();
    let copy = tempfile::tempdir().unwrap();
    let copied = std::process::Command::new("cp")
        .args([
            "-r",
            "--",
            depot.root().to_str().unwrap(),
            copy.path().to_str().unwrap(),
        ])
        .status();
    assert!(copied.unwrap().success());
    let root = fs::read_dir(copy.path())
        .unwrap()
        .next()
        .unwrap()
        .unwrap()
        .path();
    let jobs = depot.jobs.iter();
    let closed = jobs
        .map(|job| root.join(format!("jobs/{job}")))
        .find(|folder| {
            let mut names = fs::read_dir(folder)
                .unwrap()
                .map(|name| name.unwrap().path());
            names.any(|path| path.extension().is_some_and(|e| e == "ends"))
        });
    let folder = closed.expect("the demo has a job that somebody has closed");
    let mut names = fs::read_dir(&folder)
        .unwrap()
        .map(|name| name.unwrap().path());
    let journal = names
        .find(|path| path.extension().is_some_and(|e| e == "jsonl"))
        .unwrap();
    let text = fs::read_to_string(&journal).unwrap();
    let closing = text
        .lines()
        .position(|line| line.contains("\"job_closed\""))
        .unwrap();
    let before: String = text.split_inclusive('\n').take(closing).collect();
    fs::write(&journal, before).unwrap();
    let job = folder.file_name().unwrap().to_str().unwrap();
    let file = copy.path().join("record.pdf");
    let record = |with_ends: bool| {
        if !with_ends {
            let tablet = journal.with_extension("ends");
            fs::remove_file(tablet).unwrap();
        }
        let (root, file) = (root.to_str().unwrap(), file.to_str().unwrap());
        let (_, said) = run(&["record", root, "--job", job, "--out", file]);
        assert!(!said.contains("not signed"), "{said}");
        verified(Path::new(file), &[])
    };
    let (code, answer) = record(true);
    assert_eq!(code, 1, "{answer:#}");
    let failing = failing(&answer);
    let name = format!("journal-{}", journal.file_name().unwrap().to_str().unwrap());
    assert_eq!(failing.len(), 1, "{answer:#}");
    assert_eq!(
        (&failing[0]["about"], &failing[0]["attachment"]),
        (&"ends".into(), &name.into())
    );
    // Without that signature it is the tablet's word, and an unfinished job.
    let (code, answer) = record(false);
    assert_eq!(code, 0, "{answer:#}");
}

#[test]
fn what_is_no_record_or_not_there_cannot_be_read() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("x.pdf");
    let file = path.to_str().unwrap();
    assert_eq!(run(&["verify", file]).0, 2);
    let record = depot().record(0);
    let cut = &record[..record.len() / 2];
    let late = [record.as_slice(), b"\n% more\nstartxref\n3\n%%EOF\n"].concat();
    for bytes in [b"".as_slice(), b"hello", b"%PDF-1.7\n", cut, &late] {
        fs::write(&path, bytes).unwrap();
        let (code, said) = run(&["verify", file]);
        assert_eq!(code, 2, "{said}");
        assert!(said.contains(file), "{said}");
        let (code, said) = run(&["verify", file, "--json"]);
        assert_eq!(code, 2);
        assert!(serde_json::from_str::<Value>(&said).unwrap()["error"].is_string());
    }
    assert_eq!(run(&["verify", folder.path().to_str().unwrap()]).0, 2);
}
