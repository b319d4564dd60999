//! A folder as others may leave it, and the check of all its journals.

use std::fs;
use std::os::unix::fs::symlink;
use std::process::Command;

use trayzero_core::journal::{
    EndSeal, JournalRead, Limits, Writer, check_folder, job_path, journal_path, list_jobs,
    read_journal,
};
use uuid::Uuid;

use crate::support::{JOB, Shop, TABLET, entries, entry, small_event};

#[test]
fn only_jobs_and_journals_are_listed_and_links_are_never_followed() {
    let shop = Shop::with(3);
    let outside = tempfile::tempdir().unwrap();
    Writer::open(outside.path(), JOB, TABLET).unwrap();
    let jobs = shop.path().join("jobs");
    let folder = job_path(shop.path(), JOB);
    let other = Uuid::from_u128(3);

    symlink(job_path(outside.path(), JOB), jobs.join(other.to_string())).unwrap();
    symlink(
        journal_path(outside.path(), JOB, TABLET),
        folder.join(format!("{other}.jsonl")),
    )
    .unwrap();
    fs::create_dir(jobs.join("..holiday photos")).unwrap();
    fs::create_dir(jobs.join(TABLET.to_string().to_uppercase())).unwrap();
    fs::write(jobs.join(Uuid::from_u128(4).to_string()), "a file").unwrap();
    fs::write(folder.join("notes.txt"), "hello").unwrap();
    fs::write(folder.join(format!("{TABLET} (copy).jsonl")), "hello").unwrap();
    let pipe = folder.join(format!("{}.jsonl", Uuid::from_u128(6)));
    assert!(
        Command::new("mkfifo")
            .arg(&pipe)
            .status()
            .unwrap()
            .success()
    );

    let listing = list_jobs(shop.path()).unwrap();
    assert_eq!(listing.jobs.len(), 1);
    assert_eq!(listing.jobs[0].journals.len(), 1);
    assert_eq!(listing.jobs[0].journals[0].tablet, TABLET);
    assert_eq!(listing.left_alone.len(), 8, "{:?}", listing.left_alone);
    let why = |path: &std::path::Path| {
        let left = listing.left_alone.iter().find(|l| l.path == path).unwrap();
        left.why.clone()
    };
    assert_eq!(why(&pipe), "it is no plain file");
    assert_eq!(why(&jobs.join(other.to_string())), "it is no plain folder");

    // A link or a pipe is not read by name either; a pipe would wait for ever.
    for path in [pipe, folder.join(format!("{other}.jsonl"))] {
        let error = read_journal(&path, JOB, other, Limits::FOREIGN).unwrap_err();
        assert!(error.to_string().contains("no plain file"), "{error}");
    }
}

#[test]
fn a_folder_without_jobs_is_empty_and_one_that_is_not_there_an_error() {
    let data = tempfile::tempdir().unwrap();
    assert!(list_jobs(data.path()).unwrap().jobs.is_empty());
    assert!(check_folder(data.path()).unwrap().is_clean());
    let error = check_folder(&data.path().join("missing")).unwrap_err();
    assert!(error.to_string().contains("missing"), "{error}");
}

#[test]
fn the_check_names_every_journal_that_does_not_hold() {
    let shop = Shop::with(10);
    let torn = Uuid::from_u128(21);
    let faulty = Uuid::from_u128(22);
    for tablet in [torn, faulty] {
        let mut writer = Writer::open(shop.path(), JOB, tablet).unwrap().writer;
        writer.append(&entries(tablet, 4)).unwrap();
    }
    assert!(check_folder(shop.path()).unwrap().is_clean());
    let jobs = shop.path().join("jobs");
    for folder in [shop.path(), &jobs, &job_path(shop.path(), JOB)] {
        assert_eq!(check_folder(folder).unwrap().lines(), 11 + 5 + 5);
    }

    let path = journal_path(shop.path(), JOB, torn);
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, &text[..text.len() - 5]).unwrap();
    let path = journal_path(shop.path(), JOB, faulty);
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text.replace("\"n\":3", "\"n\":8")).unwrap();

    let report = check_folder(shop.path()).unwrap();
    assert!(!report.is_clean());
    assert_eq!((report.jobs, report.journals.len()), (1, 3));
    let of = |tablet: Uuid| report.journals.iter().find(|j| j.tablet == tablet).unwrap();
    assert!(of(TABLET).is_clean());
    assert_eq!(of(torn).end.torn.as_ref().unwrap().line, 5);
    let fault = of(faulty).end.fault.as_ref().unwrap();
    assert_eq!((fault.line, fault.field.as_str()), (4, "link"));

    // The command says the same: exit 1, and the file, the line and the field.
    let (code, said) = trayzero_check(&shop, &[]);
    assert_eq!(code, 1, "{said}");
    assert!(
        said.contains(&format!("{faulty}.jsonl, line 4, field \"link\": ")),
        "{said}"
    );
    assert!(said.contains(&format!("{torn}.jsonl, line 5: ")), "{said}");
    assert!(
        said.contains("1 jobs, 3 journals, 18 lines: 2 journals do not hold"),
        "{said}"
    );
    let (code, said) = trayzero_check(&shop, &["--json"]);
    let answer: serde_json::Value = serde_json::from_str(&said).unwrap();
    assert_eq!((code, &answer["clean"]), (1, &false.into()));
    assert_eq!(answer["journals"][0]["torn"]["line"], 5);
    assert_eq!(answer["journals"][1]["fault"]["line"], 4);

    // Its own tablet sets the torn line aside; from then on the check only mentions it.
    Writer::open(shop.path(), JOB, torn).unwrap();
    let report = check_folder(shop.path()).unwrap();
    assert_eq!(report.set_aside.len(), 1);
    let torn = report.journals.iter().find(|j| j.tablet == torn).unwrap();
    assert!(torn.is_clean());
}

/// The command line's answer: exit code and output.
fn trayzero_check(shop: &Shop, more: &[&str]) -> (u8, String) {
    let folder = shop.path().to_str().unwrap();
    let args = ["trayzero", "check", folder]
        .into_iter()
        .chain(more.iter().copied());
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = trayzero::cli::run(args, &mut out, &mut err);
    assert_eq!(String::from_utf8(err).unwrap(), "");
    (code, String::from_utf8(out).unwrap())
}

#[test]
fn the_check_command_answers_yes_for_journals_that_hold_and_names_a_missing_folder() {
    let shop = Shop::with(10);
    let (code, said) = trayzero_check(&shop, &[]);
    assert_eq!(code, 1, "nobody is admitted");
    assert!(said.contains("nobody has admitted this tablet"), "{said}");
    // The tablet's own folder, and its seal beside the journal.
    let key = ed25519_dalek::SigningKey::from_bytes(&[5; 32]);
    let read = read_journal(&shop.journal(), JOB, TABLET, Limits::OWN).unwrap();
    let seal = EndSeal::over(JOB, TABLET, read.mark.bytes, read.mark.link, &key);
    let card = format!(
        r#"{{"format":1,"tablet":"{TABLET}","name":"one","public_key":"{}"}}"#,
        seal.key()
    );
    fs::write(shop.path().join("tablet.json"), card).unwrap();
    let (code, said) = trayzero_check(&shop, &[]);
    assert_eq!(code, 1, "nothing is sealed");
    assert!(said.contains("10 events are not sealed"), "{said}");
    fs::write(EndSeal::path(shop.path(), JOB, TABLET), seal.to_bytes()).unwrap();
    let (code, said) = trayzero_check(&shop, &[]);
    assert_eq!(code, 0, "{said}");
    assert!(
        said.ends_with(
            "1 jobs, 1 journals, 11 lines: every line holds and is sealed by a member\n"
        ),
        "{said}"
    );
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let key = "11".repeat(32);
    let args = [
        "trayzero",
        "check",
        shop.path().to_str().unwrap(),
        "--shop-key",
        &key,
    ];
    let code = trayzero::cli::run(args, &mut out, &mut err);
    assert_eq!(code, 1, "there is no log that begins with it");
    assert!(String::from_utf8(err).unwrap().contains(&key));
    fs::write(shop.journal().with_extension("txt"), "x").unwrap();
    assert_eq!(trayzero_check(&shop, &[]).0, 1, "something was not read");
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = trayzero::cli::run(["trayzero", "check", "/no/such/place"], &mut out, &mut err);
    let err = String::from_utf8(err).unwrap();
    assert_eq!((code, out.as_slice()), (2, &b""[..]));
    assert!(err.contains("/no/such/place: "), "{err}");
}

/// A board reads a growing file again and again: only what is new, and a half-written
/// line becomes whole in its own time.
#[test]
fn a_growing_file_is_read_on_from_where_it_was_left() {
    let shop = Shop::with(10);
    let whole = shop.bytes();
    let mut read = JournalRead::nothing_of(&shop.journal(), JOB, TABLET);
    for end in (0..=whole.len()).step_by(37).chain([whole.len()]) {
        shop.put(&whole[..end]);
        let known = read.entries.len();
        let new = read.read_on(Limits::FOREIGN).unwrap();
        assert_eq!(read.fault, None);
        assert_eq!(read.entries.len(), known + new);
        let in_full = read_journal(&shop.journal(), JOB, TABLET, Limits::FOREIGN).unwrap();
        assert_eq!((&read.entries, read.mark), (&in_full.entries, in_full.mark));
        assert_eq!(read.torn, in_full.torn);
    }
    assert_eq!(read.entries, shop.entries);
}

#[test]
fn a_file_that_lost_lines_read_before_is_faulty_and_they_are_kept() {
    let shop = Shop::with(10);
    let whole = shop.bytes();
    let mut read = read_journal(&shop.journal(), JOB, TABLET, Limits::FOREIGN).unwrap();
    for changed in [whole[..whole.len() - 100].to_vec(), b"short\n".to_vec()] {
        shop.put(&changed);
        assert_eq!(read.read_on(Limits::FOREIGN).unwrap(), 0);
        assert!(
            read.fault
                .as_ref()
                .unwrap()
                .to_string()
                .contains("not what they were")
        );
        assert_eq!(read.entries, shop.entries, "what was seen stays");
    }
    shop.put(&whole);
    let mut writer = Writer::open(shop.path(), JOB, TABLET).unwrap().writer;
    writer
        .append(&[entry(TABLET, 10, writer.clock(), small_event(10))])
        .unwrap();
    assert_eq!(read.read_on(Limits::FOREIGN).unwrap(), 1);
    assert_eq!(read.fault, None);
}
