//! Somebody who looks at a folder from outside, with the shop's key and without it.

use std::fs;

use serde_json::Value;
use trayzero::data::store::{JobSummary, Store};
use trayzero_core::engine::{Layout, shipped};
use trayzero_core::job::{JobPhase, Opening};
use trayzero_core::journal::{Limits, job_path, journal_path, read_journal, write_summary};
use uuid::Uuid;

use super::shop::{Shop, Tablet, ada, later};

pub fn run_line(args: &[&str]) -> (u8, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = [&["trayzero"], args].concat();
    let code = trayzero::cli::run(args, &mut out, &mut err);
    let said = [out, err].map(|text| String::from_utf8(text).unwrap());
    (code, said.concat())
}

/// A shop with a job that one tablet works on and both know.
fn at_work(shop: &Shop) -> (Tablet, Uuid, String) {
    let mut one = shop.founded();
    let two = shop.admitted(&mut one, "two");
    let layout = shipped().iter().find(|s| s.key == "inline-4-8v").unwrap();
    let opening = Opening {
        layout: Layout::from_json(layout.key, layout.json.as_bytes()).unwrap(),
        vehicle: "Van 12".into(),
        order_number: None,
        bay: "Bay 1".into(),
        technician: ada(),
    };
    let open = two.store.create_job(opening, later(10)).unwrap();
    let job = open.id();
    open.close(later(11), &ada());
    let mut two = two;
    two.meet();
    one.meet();
    let key = one.crew.shop().unwrap().key.to_string();
    (one, job, key)
}

/// The commands that look at a folder, each with what it needs besides.
fn commands(job: Uuid, folder: &str) -> Vec<Vec<String>> {
    let layout = shipped().iter().find(|s| s.key == "inline-4-8v").unwrap();
    let engine = format!("{folder}.engine.json");
    fs::write(&engine, layout.json).unwrap();
    let job = job.to_string();
    [
        &["check", folder][..],
        &["board", folder],
        &["record", folder, "--job", &job, "--json"],
        &["hours", &engine, "--shop", folder],
    ]
    .map(|line| line.iter().map(|word| (*word).to_owned()).collect())
    .to_vec()
}

#[test]
fn the_shop_key_is_held_against_the_log_from_its_start_and_another_shop_is_no() {
    let shop = Shop::new();
    let (one, job, key) = at_work(&shop);
    let other = Shop::new().founded().crew.shop().unwrap().key.to_string();
    let empty = shop.scratch.path().join("empty");
    fs::create_dir(&empty).unwrap();
    for folder in [&shop.folder, &one.root] {
        for line in commands(job, folder.to_str().unwrap()) {
            let mut args: Vec<&str> = line.iter().map(String::as_str).collect();
            let (code, said) = run_line(&args);
            assert_eq!(code, 0, "{line:?}: {said}");
            assert!(said.contains("taken on trust"), "{line:?}: {said}");
            assert!(said.contains(&key), "the key to ask for: {said}");
            args.extend(["--shop-key", &key]);
            let (code, said) = run_line(&args);
            assert_eq!(code, 0, "{line:?}: {said}");
            assert!(said.contains("checked from its start against"), "{said}");
            assert!(!said.contains("on trust"), "{said}");
            *args.last_mut().unwrap() = &other;
            let (code, said) = run_line(&args);
            let sentence = format!("its shop log begins with {key}, and not with {other}");
            assert_eq!(code, 1, "{line:?}: {said}");
            assert!(said.contains(&sentence), "{line:?}: {said}");
            assert!(!said.contains("Van 12"), "nothing is shown: {said}");
        }
    }
    for line in commands(job, empty.to_str().unwrap()) {
        let args = line.iter().map(String::as_str).chain(["--shop-key", &key]);
        let (code, said) = run_line(&args.collect::<Vec<&str>>());
        assert_eq!(code, 1, "{line:?}: {said}");
        assert!(
            said.contains("there is no shop log in it"),
            "{line:?}: {said}"
        );
    }
    let folder = shop.folder.to_str().unwrap();
    let (code, said) = run_line(&["board", folder, "--json", "--shop-key", &other]);
    let said: Value = serde_json::from_str(&said).unwrap();
    assert_eq!(code, 1);
    assert!(said["error"].as_str().unwrap().contains(&other));
}

/// Whoever has the folder puts a tablet's card into it, and takes the marks of a shop folder
/// away: it would be somebody's data folder, in which every line counts.
#[test]
fn a_planted_card_makes_no_shop_folder_anybodys_own() {
    let shop = Shop::new();
    let (_, job, key) = at_work(&shop);
    let other = Shop::new();
    let thief = other.founded();
    let card = "tablet.json";
    fs::copy(thief.root.join(card), shop.folder.join(card)).unwrap();
    for line in commands(job, shop.folder.to_str().unwrap()) {
        let args: Vec<&str> = line.iter().map(String::as_str).collect();
        let (_, said) = run_line(&args);
        assert!(said.contains("taken on trust; its key is"), "{said}");
        assert!(!said.contains("as they stand"), "{line:?}: {said}");
    }
    fs::remove_dir_all(shop.folder.join("tablets")).unwrap();
    fs::remove_file(shop.folder.join("shop.json")).unwrap();
    for line in commands(job, shop.folder.to_str().unwrap()) {
        let args: Vec<&str> = line.iter().map(String::as_str).collect();
        let (_, said) = run_line(&args);
        assert!(said.contains("taken on trust; its key is"), "{said}");
        let whose = format!("taken for the data folder of tablet {}", thief.id());
        assert!(said.contains(&whose), "{said}");
        let (_, said) = run_line(&[&args[..], &["--shop-key", &key]].concat());
        assert!(!said.contains("data folder of tablet"), "{said}");
    }
}

/// What lies beside the journals is believed by nobody from outside: each job is judged by
/// its lines.
#[test]
fn what_a_folder_says_of_finished_jobs_is_judged_anew() {
    let shop = Shop::new();
    let (one, job, key) = at_work(&shop);
    for folder in [&shop.folder, &one.root] {
        let journals = fs::read_dir(job_path(folder, job)).unwrap();
        let tablets = journals.filter_map(|name| {
            let path = name.unwrap().path();
            let stem = path.file_stem()?.to_str()?.parse::<Uuid>().ok();
            stem.filter(|_| path.extension().is_some_and(|e| e == "jsonl"))
        });
        let marks: Vec<_> = tablets
            .map(|tablet| {
                let path = journal_path(folder, job, tablet);
                let read = read_journal(&path, job, tablet, Limits::OWN).unwrap();
                (tablet, read.mark)
            })
            .collect();
        let forged = JobSummary {
            vehicle: "Eve's van".into(),
            phase: JobPhase::Closed,
            ..JobSummary::default()
        };
        write_summary(&job_path(folder, job), job, &marks, &forged).unwrap();
        let bytes = fs::metadata(journal_path(folder, job, marks[0].0))
            .unwrap()
            .len();
        let finished = format!(
            "trayzero finished jobs 2\njudged {key}\n{} {bytes} 0\n",
            job.simple()
        );
        fs::write(folder.join("finished.txt"), finished).unwrap();
        fs::write(folder.join("learned.json"), "[]").unwrap();
        for key in [&["--shop-key", &*key][..], &[]] {
            let board = ["board", folder.to_str().unwrap(), "--all"];
            let (code, said) = run_line(&[&board[..], key].concat());
            assert_eq!(code, 0);
            assert!(said.contains("Bay 1, Van 12, Ada"), "{said}");
            assert!(!said.contains("Eve"), "{said}");
        }
    }
}

#[test]
fn the_check_says_what_of_the_shop_log_does_not_hold_and_what_it_has_not_looked_at() {
    let shop = Shop::new();
    let (one, job, key) = at_work(&shop);
    let folder = shop.folder.to_str().unwrap();
    let check = || run_line(&["check", folder, "--shop-key", &key]);
    let (code, said) = check();
    assert_eq!(code, 0, "{said}");
    for name in [
        "keys",
        "members",
        "tablets",
        "summaries beside the journals",
    ] {
        let line = said
            .lines()
            .find(|line| line.starts_with("not looked at: "));
        assert!(line.unwrap().contains(name), "{said}");
    }
    assert!(said.contains("shop log: 3 lines"), "{said}");
    let inside = job_path(&shop.folder, job);
    let (code, said) = run_line(&["check", inside.to_str().unwrap(), "--shop-key", &key]);
    assert_eq!(code, 0, "one job, by the log of its shop: {said}");
    let log = shop.folder.join(format!("log/{}.jsonl", one.id()));
    let honest = fs::read(&log).unwrap();
    let other = Shop::new();
    let mut thief = other.founded();
    thief.meet();
    let forged = other.folder.join(format!("log/{}.jsonl", thief.id()));
    let forged = fs::read(forged).unwrap();
    let lines: Vec<&[u8]> = honest.split_inclusive(|b| *b == b'\n').collect();
    let swapped = [lines[0], lines[2], lines[1]].concat();
    let rows = [
        (
            "rubbish behind",
            [&honest[..], b"{\"rubbish\":1}\n"].concat(),
        ),
        ("half a line behind", [&honest[..], b"{\"body\""].concat()),
        ("a stranger's lines behind", [&honest[..], &forged].concat()),
        ("a line twice", [&honest[..], lines[2]].concat()),
        ("two lines swapped", swapped),
        ("its last line gone", lines[..2].concat()),
    ];
    for (what, bytes) in rows {
        fs::write(&log, bytes).unwrap();
        let (code, said) = check();
        assert_eq!(code, 1, "{what}: {said}");
        let is_log = said.contains(log.to_str().unwrap());
        assert!(
            is_log || said.contains("nobody has admitted"),
            "{what}: {said}"
        );
    }
    fs::write(&log, &honest).unwrap();
    let stranger = shop.folder.join(format!("log/{}.jsonl", thief.id()));
    fs::write(stranger, &forged).unwrap();
    let (code, said) = check();
    assert_eq!(code, 1, "another shop's log beside it: {said}");
    let store = Store::open(&one.root, later(50)).unwrap();
    assert_eq!(store.jobs().unwrap().jobs.len(), 1);
}
