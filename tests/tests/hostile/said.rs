//! What does not hold in the tablet's own folder is said at the start, in the language of
//! whoever reads it.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use trayzero::data::crew::Role;
use trayzero::data::store::{Clock, SetClock, Store};
use trayzero::desk::{Desk, Outcome};
use trayzero::ui::intent::{Intent, TypedCode};
use trayzero::ui::view::Notice;
use trayzero::ui::words::{DE, EN, Language};

use super::desk::START;

fn desk_at(root: &Path) -> Desk {
    let clock: Arc<dyn Clock> = Arc::new(SetClock::at(START));
    Desk::open(Store::open(root, START).unwrap(), clock).unwrap()
}

/// A folder with a foreman, for somebody who reads a language.
fn settled(language: Language) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let mut desk = desk_at(folder.path());
    let mut settings = desk.settings().clone();
    settings.language = language;
    desk.carry_out(Intent::Settings(Box::new(settings)));
    let added = desk.carry_out(Intent::AddPerson {
        name: "Mira".into(),
        role: Role::Foreman,
        code: TypedCode("714025".to_owned()),
        by: None,
    });
    assert_eq!(added, Outcome::Taken);
    folder
}

fn said(root: &Path) -> String {
    match desk_at(root).view().notice {
        Some(Notice::Fault { what, .. }) => what.clone(),
        other => panic!("{other:?}"),
    }
}

fn log_of(root: &Path) -> PathBuf {
    let names = fs::read_dir(root.join("log")).unwrap();
    let mut paths = names.map(|name| name.unwrap().path());
    paths
        .find(|path| path.extension().is_some_and(|e| e == "jsonl"))
        .unwrap()
}

fn with(path: &Path, change: impl FnOnce(String) -> String) {
    let text = fs::read_to_string(path).unwrap();
    fs::write(path, change(text)).unwrap();
}

type Row = (&'static str, fn(&Path), &'static str, &'static str);

/// What is spoilt, and what is said of it in English and in German.
const ROWS: [Row; 8] = [
    (
        "a line of the log changed",
        |root| with(&log_of(root), |text| text.replace("Mira", "Nira")),
        "line 1: the tablet's signature does not hold",
        "Zeile 1: die Unterschrift des Tablets stimmt nicht",
    ),
    (
        "rubbish in the log",
        |root| with(&log_of(root), |text| text + "rubbish\n"),
        "line 2: ",
        "Zeile 2: sie ist nicht zu lesen",
    ),
    (
        "which shop it is, gone",
        |root| fs::remove_file(root.join("log/shop.json")).unwrap(),
        "shop.json: it is missing",
        "shop.json: sie fehlt",
    ),
    (
        "the whole log, gone",
        |root| fs::remove_dir_all(root.join("log")).unwrap(),
        "log: it is missing",
        "log: sie fehlt",
    ),
    (
        "the keys changed",
        |root| with(&root.join("keys.json"), |text| text.replace("Mira", "Nira")),
        "changed by hand",
        "nach dem Versiegeln von Hand geändert",
    ),
    (
        "the crew of the version before, rubbish",
        |root| {
            for name in ["log", "keys.json"] {
                let path = root.join(name);
                let _ = fs::remove_dir_all(&path);
                let _ = fs::remove_file(&path);
            }
            fs::write(root.join("crew.json"), "rubbish").unwrap();
        },
        "crew.json: ",
        "crew.json: sie ist nicht zu lesen",
    ),
    (
        "the tries, rubbish",
        |root| fs::write(root.join("attempts.json"), "rubbish").unwrap(),
        "everybody's next try of a code has to wait longer",
        "der nächste Versuch eines Codes muss bei allen länger warten",
    ),
    (
        "the tablet's key, gone",
        |root| fs::remove_file(root.join("tablet.key")).unwrap(),
        "tablet.key is missing",
        "tablet.key fehlt",
    ),
];

#[test]
fn what_does_not_hold_at_the_start_is_said_in_the_language_of_the_reader() {
    for (what, spoil, en, de) in ROWS {
        let [english, german] = [Language::English, Language::German].map(|language| {
            let folder = settled(language);
            spoil(folder.path());
            said(folder.path())
        });
        println!("{what}:\n  {english}\n  {german}");
        assert!(english.contains(en), "{what}: {english}");
        assert!(german.contains(de), "{what}: {german}");
        let alike = |text: &str| text.split(' ').filter(|word| *word == "the").count();
        assert_eq!(alike(&german), 0, "{what}: {german}");
    }
    assert_ne!(EN.crew_does_not_hold, DE.crew_does_not_hold);
}
