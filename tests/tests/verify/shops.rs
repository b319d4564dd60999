//! Who signs, and what that is worth: a tablet of no shop, tablets of one, and a folder that
//! has no key.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;

use serde_json::Value;
use trayzero::data::store::{SetClock, Store};
use trayzero::desk::Desk;
use trayzero_core::engine::{Layout, shipped};
use trayzero_core::job::{Event, Opening};
use uuid::Uuid;

use super::attached::failing;
use super::depot::{depot, run, taken_out, verified};
use super::shop::{START, Shop, ada, later};

fn job_on(store: &Store) -> Uuid {
    let layout = shipped().iter().find(|s| s.key == "inline-4-8v").unwrap();
    let opening = Opening {
        layout: Layout::from_json(layout.key, layout.json.as_bytes()).unwrap(),
        vehicle: "Van 12".into(),
        order_number: None,
        bay: "Bay 1".into(),
        technician: ada(),
    };
    let mut open = store.create_job(opening, later(10)).unwrap();
    let text = "oil is off".to_owned();
    open.propose(later(11), &ada(), &[Event::Noted { text }])
        .unwrap();
    let job = open.id();
    open.close(later(12), &ada());
    job
}

fn record(root: &Path, job: Uuid, more: &[&str]) -> (PathBuf, String) {
    let file = root.join("out.pdf");
    let (folder, job) = (root.to_str().unwrap(), job.to_string());
    let args = [
        "record",
        folder,
        "--job",
        &job,
        "--out",
        file.to_str().unwrap(),
    ];
    let (_, said) = run(&[&args, more].concat());
    (file, said)
}

fn verdict<'a>(answer: &'a Value, about: &str) -> &'a str {
    let mut lines = answer["lines"].as_array().unwrap().iter();
    let line = lines.find(|line| line["about"] == about);
    line.unwrap_or_else(|| panic!("{about}: {answer:#}"))["verdict"]
        .as_str()
        .unwrap()
}

/// The first page as poppler reads it, blanks evened out.
fn first_page(file: &Path) -> String {
    let done = Command::new("pdftotext")
        .args(["-layout", "-l", "1", file.to_str().unwrap(), "-"])
        .output()
        .unwrap();
    let text = String::from_utf8(done.stdout).unwrap();
    text.split_whitespace().collect::<Vec<&str>>().join(" ")
}

#[test]
fn a_tablet_of_no_shop_signs_all_the_same_and_nobody_vouches_for_it() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(folder.path(), START).unwrap();
    let job = job_on(&store);
    let (file, said) = record(folder.path(), job, &[]);
    assert!(!said.contains("not signed"), "{said}");
    let (code, answer) = verified(&file, &[]);
    assert_eq!(code, 0, "{answer:#}");
    for (about, wanted) in [
        ("signature", "holds"),
        ("journal", "holds"),
        ("figures", "holds"),
        ("shop", "not_known"),
        ("signer", "not_known"),
        ("people", "not_known"),
    ] {
        assert_eq!(verdict(&answer, about), wanted, "{about}: {answer:#}");
    }
    let page = first_page(&file);
    assert!(
        page.contains(answer["signer_words"].as_str().unwrap()),
        "{page}"
    );
    assert!(page.contains("The tablet belongs to no shop"), "{page}");
    let (code, answer) = verified(&file, &["--shop-key", &"ab".repeat(32)]);
    assert_eq!(code, 1, "{answer:#}");
    assert_eq!(verdict(&answer, "shop"), "does_not_hold");
}

/// The value and the keys in short words stand on page one, in either language, as `verify`
/// says them; and the page says what they prove.
#[test]
fn page_one_shows_the_value_and_the_keys_as_verify_says_them() {
    let depot = depot();
    for (language, proves) in [
        ("en", "does not prove that what was entered is true"),
        ("de", "Das beweist nicht, dass wahr ist"),
    ] {
        let (file, _) = record(depot.root(), depot.jobs[0], &["--language", language]);
        let (code, answer) = verified(&file, &[]);
        assert_eq!(code, 0, "{answer:#}");
        let page = first_page(&file);
        let value = answer["check_value"].as_str().unwrap();
        let groups = [&value[..4], &value[4..8], &value[8..]].join(" ");
        for wanted in [
            &groups,
            answer["signer_words"].as_str().unwrap(),
            answer["shop_words"].as_str().unwrap(),
            proves,
        ] {
            assert!(page.contains(wanted), "{wanted}: {page}");
        }
        let kept = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("verify/{language}.pdf"));
        fs::copy(&file, kept).unwrap();
    }
}

/// Whoever is asked by telephone finds the same words in the settings.
#[test]
fn the_settings_show_the_words_that_stand_on_records() {
    let depot = depot();
    let store = Store::open(depot.root(), START).unwrap();
    let desk = Desk::open(store, Arc::new(SetClock::at(START))).unwrap();
    let (_, answer) = verified(&depot.records[0], &[]);
    let membership = desk.view().membership;
    assert_eq!(answer["signer_words"], membership.key_words.as_str());
    assert_eq!(
        answer["shop_words"],
        membership.shop_words.as_deref().unwrap()
    );
    let apart: std::collections::BTreeSet<&str> = membership.key_words.split(' ').collect();
    assert_eq!(apart.len(), 4, "{}", membership.key_words);
}

/// A member's record of another member's work holds; one from the folder alone is nobody's.
#[test]
fn a_member_signs_for_another_and_the_folder_alone_signs_nothing() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let mut two = shop.admitted(&mut one, "two");
    let job = job_on(&two.store);
    two.meet();
    one.meet();
    let key = one.crew.shop().unwrap().key.to_string();
    for tablet in [&one, &two] {
        let (file, _) = record(&tablet.root, job, &[]);
        let (code, answer) = verified(&file, &["--shop-key", &key]);
        assert_eq!(code, 0, "{answer:#}");
        assert_eq!(verdict(&answer, "signer"), "holds");
        let journal = format!("journal-{}.jsonl", two.id());
        assert!(taken_out(&file).contains_key(&journal));
    }
    let (file, said) = record(&shop.folder, job, &["--shop-key", &key]);
    assert!(said.contains("the record is not signed"), "{said}");
    assert!(first_page(&file).contains("No tablet has signed the list"));
    let (code, answer) = verified(&file, &["--shop-key", &key]);
    assert_eq!(code, 1, "{answer:#}");
    let failing = failing(&answer);
    assert_eq!(failing.len(), 1, "{answer:#}");
    assert_eq!(failing[0]["about"], "signature");

    // Another shop's record holds by itself, and is not this shop's.
    let other = Shop::new();
    let stranger = other.founded();
    let job = job_on(&stranger.store);
    let (file, _) = record(&stranger.root, job, &[]);
    let (code, answer) = verified(&file, &[]);
    assert_eq!(code, 0, "{answer:#}");
    let (code, answer) = verified(&file, &["--shop-key", &key]);
    assert_eq!(code, 1, "{answer:#}");
    assert_eq!(verdict(&answer, "shop"), "does_not_hold");
}
