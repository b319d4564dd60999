//! Backups made while taps go on, and what comes out of them elsewhere.

use std::fs;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::thread;

use trayzero::data::backup::{BackupError, back_up, restore};
use trayzero::data::crew::{CodeCost, Crew};
use trayzero::data::pictures::{Found, find_copy, find_taken, keep};
use trayzero::data::store::Store;
use trayzero_core::job::{Event, JobState, PictureOf};
use trayzero_core::journal::{check_folder, job_path, journal_path, pictures_path};
use trayzero_tests::photos;

use super::{START, ada, later, made, opening};

type ByHand = dyn Fn(&Path, &Path);

/// Links of every journal, each line and seal checked by the program's own checker.
fn is_clean(folder: &Path) {
    let report = check_folder(folder).unwrap();
    assert!(report.is_clean(), "{report:#?}");
    assert!(report.lines() > 0);
}

#[test]
fn a_backup_while_taps_go_on_restores_to_a_state_that_was_shown() {
    let root = tempfile::tempdir().unwrap();
    let (store, mut open) = made(root.path());
    let job = open.id();
    let (is_over, count) = (AtomicBool::new(false), AtomicUsize::new(0));
    let out = tempfile::tempdir().unwrap();
    let shown: Vec<JobState> = thread::scope(|scope| {
        let tapping = scope.spawn(|| {
            let mut shown = vec![open.state().clone()];
            while !is_over.load(Ordering::Relaxed) {
                let text = format!("tap {}", shown.len());
                let seconds = i64::try_from(shown.len()).unwrap();
                open.propose(later(seconds), &ada(), &[Event::Noted { text }])
                    .unwrap();
                shown.push(open.state().clone());
                count.store(shown.len(), Ordering::Relaxed);
            }
            shown
        });
        for round in 0..10 {
            let before = count.load(Ordering::Relaxed);
            while count.load(Ordering::Relaxed) < before + 5 {
                thread::yield_now();
            }
            let done = back_up(&store, out.path(), later(round * 10)).unwrap();
            assert_eq!(done.faults, []);
            assert!(done.lines as usize > before, "what was shown is in it");
        }
        is_over.store(true, Ordering::Relaxed);
        tapping.join().unwrap()
    });
    let mut backups = 0;
    for name in fs::read_dir(out.path()).unwrap() {
        let elsewhere = tempfile::tempdir().unwrap();
        let into = elsewhere.path().join("data");
        let restored = restore(&name.unwrap().path(), &into, later(9_000)).unwrap();
        is_clean(&into);
        assert_ne!(restored.store.tablet().id(), store.tablet().id());
        assert_eq!(restored.from, store.tablet().id());
        let mut again = restored.store.open_job(job).unwrap();
        assert!(shown.contains(again.state()), "a state that was shown");
        let text = "goes on".to_owned();
        again
            .propose(later(9_001), &ada(), &[Event::Noted { text }])
            .unwrap();
        let own = journal_path(&into, job, restored.store.tablet().id());
        assert!(own.exists(), "the new tablet writes a journal of its own");
        is_clean(&into);
        backups += 1;
    }
    assert_eq!(backups, 10);
}

/// A store with a job, a crew, settings and a layout, backed up.
fn whole(root: &Path, out: &Path) -> (Store, std::path::PathBuf) {
    let store = Store::open(root, START).unwrap();
    store.create_job(opening(), START).unwrap();
    let light = CodeCost {
        memory_kib: 64,
        passes: 1,
    };
    let mut crew = Crew::open(root, store.tablet().clone(), light);
    crew.add_first_foreman("Mira", &"forge-71".into(), START)
        .unwrap();
    let mut settings = trayzero::data::settings::SettingsFile::read(root);
    settings.settings.text_percent = 130;
    settings.write().unwrap();
    fs::write(root.join("layouts/own.json"), "{}").unwrap();
    let folder = back_up(&store, out, later(60)).unwrap().folder;
    (store, folder)
}

#[test]
fn everything_but_the_key_is_in_a_backup_and_serves_elsewhere() {
    let (root, out) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let (store, backup) = whole(root.path(), out.path());
    let name = backup.file_name().unwrap().to_str().unwrap();
    assert!(name.starts_with("trayzero-backup-2026-11-"), "{name}");
    assert!(!backup.join("tablet.key").exists());
    let into = out.path().join("new");
    let restored = restore(&backup, &into, later(70)).unwrap();
    assert_eq!((restored.journals, restored.lines), (1, 2));
    let settings = trayzero::data::settings::SettingsFile::read(&into).settings;
    assert_eq!(settings.text_percent, 130);
    assert_eq!(fs::read(into.join("layouts/own.json")).unwrap(), b"{}");
    let mut crew = Crew::open(&into, restored.store.tablet().clone(), CodeCost::default());
    assert_eq!(crew.tries_fault(), None);
    assert_eq!(crew.fault(), None);
    let mira = trayzero_core::job::Person::new("Mira");
    crew.enter_code(&mira, &"forge-71".into(), later(80))
        .unwrap();
    let jobs = |s: &Store| s.jobs().unwrap().jobs.into_iter().map(|j| j.summary);
    assert!(
        jobs(&store).eq(jobs(&restored.store)),
        "the same list of jobs"
    );
}

#[test]
fn pictures_are_in_a_backup_as_taken_and_one_changed_there_is_refused() {
    let (root, out) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let store = Store::open(root.path(), START).unwrap();
    let mut open = store.create_job(opening(), START).unwrap();
    let from = out.path().join("one.jpg");
    fs::write(&from, photos::as_taken(photos::QUADRANTS, 6)).unwrap();
    let picture = keep(root.path(), open.id(), &from, PictureOf::Job {}).unwrap();
    let event = Event::PictureAdded(Box::new(picture.clone()));
    open.propose(later(1), &ada(), &[event]).unwrap();
    // Another file in the folder, or one that is not what its name says, stays behind.
    let folder = pictures_path(root.path(), open.id());
    fs::write(folder.join("note.txt"), "no picture").unwrap();
    fs::write(folder.join(format!("{}.jpg", "0".repeat(64))), photos::GREY).unwrap();
    let backup = back_up(&store, out.path(), later(60)).unwrap().folder;
    let into = out.path().join("new");
    restore(&backup, &into, later(70)).unwrap();
    assert!(matches!(
        find_copy(&into, open.id(), &picture),
        Found::Whole(_)
    ));
    assert!(matches!(
        find_taken(&into, open.id(), &picture),
        Found::Whole(_)
    ));
    assert_eq!(
        fs::read_dir(pictures_path(&into, open.id()))
            .unwrap()
            .count(),
        2
    );
    let copy = pictures_path(&backup, open.id()).join(picture.copy_name());
    let mut bytes = fs::read(&copy).unwrap();
    bytes[300] ^= 1;
    fs::write(&copy, bytes).unwrap();
    let again = out.path().join("again");
    let error = restore(&backup, &again, later(80)).unwrap_err().to_string();
    assert!(error.contains(&picture.copy_name()), "{error}");
    assert!(!again.exists());
}

#[test]
fn a_backup_changed_by_hand_is_refused_and_nothing_is_written() {
    let root = tempfile::tempdir().unwrap();
    let mut rows = 0;
    let changes: [(&str, &ByHand); 6] = [
        ("a line", &|backup, journal| {
            let path = backup.join(journal);
            let text = fs::read_to_string(&path).unwrap();
            fs::write(path, text.replace("Van 12", "Van 21")).unwrap();
        }),
        ("a line less", &|backup, journal| {
            let path = backup.join(journal);
            let text = fs::read_to_string(&path).unwrap();
            let first = text.split_inclusive('\n').next().unwrap();
            fs::write(path, first).unwrap();
        }),
        ("a journal missing", &|backup, journal| {
            fs::remove_file(backup.join(journal)).unwrap();
        }),
        ("a setting", &|backup, _| {
            let path = backup.join("settings.json");
            let text = fs::read_to_string(&path).unwrap();
            fs::write(path, text.replace("130", "140")).unwrap();
        }),
        ("a path out of the folder", &|backup, _| {
            let path = backup.join("manifest.json");
            let text = fs::read_to_string(&path).unwrap();
            fs::write(path, text.replace("layouts/own.json", "../own.json")).unwrap();
        }),
        ("no manifest", &|backup, _| {
            fs::remove_file(backup.join("manifest.json")).unwrap();
        }),
    ];
    for (what, change) in changes {
        let out = tempfile::tempdir().unwrap();
        let data = root.path().join(what);
        let (store, backup) = whole(&data, out.path());
        let job = store.jobs().unwrap().jobs[0].job;
        let journal = journal_path(Path::new(""), job, store.tablet().id());
        change(&backup, &journal);
        let into = out.path().join("new");
        let error = restore(&backup, &into, later(70)).unwrap_err();
        assert!(
            error.to_string().contains(&*backup.to_string_lossy()),
            "{what}: the message names the file: {error}"
        );
        assert!(!into.exists(), "{what}: nothing is written");
        rows += 1;
    }
    assert_eq!(rows, 6);
}

#[test]
fn a_backup_is_not_restored_over_a_folder_in_use() {
    let (root, out) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let (_, backup) = whole(root.path(), out.path());
    let error = restore(&backup, root.path(), later(70)).unwrap_err();
    assert!(matches!(error, BackupError::NotEmpty { .. }), "{error}");
}

#[test]
fn a_journal_that_does_not_hold_is_backed_up_as_far_as_it_does_and_named() {
    let (root, out) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let (store, mut open) = made(root.path());
    let text = "to be changed".to_owned();
    open.propose(later(1), &ada(), &[Event::Noted { text }])
        .unwrap();
    let job = open.id();
    drop(open);
    let path = journal_path(root.path(), job, store.tablet().id());
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text.replace("to be changed", "changed")).unwrap();
    let done = back_up(&store, out.path(), later(2)).unwrap();
    assert_eq!(done.faults[0].line, 3, "{:?}", done.faults);
    let into = out.path().join("new");
    let restored = restore(&done.folder, &into, later(3)).unwrap();
    assert_eq!(restored.lines, 2);
    assert!(job_path(&into, job).is_dir());
}
