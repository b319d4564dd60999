//! Jobs that are over: counted and never read, until somebody asks or they change.

use std::fs;
use std::path::Path;

use serde_json::json;
use trayzero::data::store::{FinishedJobs, JobSummary, Store};
use trayzero::demo::create_demo_data;
use trayzero_core::job::{Event, SignOff};
use trayzero_core::journal::{
    Limits, Writer, find_job, job_path, journal_path, read_journal, read_summary, write_summary,
};
use trayzero_core::plan::ShopPace;
use uuid::Uuid;

use super::{ada, later, made, opening};

/// A folder with a job that was stopped and listed once, and one under way.
fn one_over(root: &Path) -> (Store, Uuid) {
    let (store, mut open) = made(root);
    let by = SignOff {
        person: ada(),
        entering: Uuid::from_u128(9),
        proof: None,
    };
    let why = "Sold as it is".to_owned();
    open.propose(later(5), &ada(), &[Event::JobStopped { by, why }])
        .unwrap();
    let job = open.id();
    open.close(later(6), &ada());
    store.create_job(opening(), later(10)).unwrap();
    let list = store.jobs().unwrap();
    assert_eq!((list.jobs.len(), list.finished), (1, 1));
    (store, job)
}

fn counts(store: &Store) -> (usize, usize) {
    let list = store.jobs().unwrap();
    assert!(list.faults.is_empty(), "{:?}", list.faults);
    (list.jobs.len(), list.finished)
}

#[test]
fn nothing_of_a_job_that_is_over_is_read_for_the_list() {
    let root = tempfile::tempdir().unwrap();
    let (store, job) = one_over(root.path());
    let file = journal_path(root.path(), job, store.tablet().id());
    let length = fs::metadata(&file).unwrap().len() as usize;
    fs::remove_file(job_path(root.path(), job).join("summary.json")).unwrap();
    // Whoever read this would find that it does not hold.
    fs::write(&file, vec![b'x'; length]).unwrap();
    assert_eq!(counts(&store), (1, 1));
}

#[test]
fn whoever_asks_is_shown_the_jobs_that_are_over() {
    let root = tempfile::tempdir().unwrap();
    let (store, job) = one_over(root.path());
    let shown = store.finished(0, 10);
    assert_eq!(shown.len(), 1);
    assert_eq!(shown[0].job, job);
    assert_eq!(shown[0].summary.vehicle, "Van 12");
    assert!(shown[0].summary.phase.is_over());
    assert!(store.finished(1, 10).is_empty());
}

#[test]
fn a_job_that_gets_more_lines_is_found_and_listed_again() {
    let root = tempfile::tempdir().unwrap();
    let (store, job) = one_over(root.path());
    let finished = FinishedJobs::read(root.path());
    assert!(finished.changed(root.path()).is_empty());
    // Another tablet's journal comes.
    Writer::open(root.path(), job, Uuid::from_u128(5)).unwrap();
    assert_eq!(finished.changed(root.path()), [job]);
    assert!(store.forget_finished(job));
    assert!(!store.forget_finished(job), "once");
    assert_eq!(counts(&store), (1, 1), "read, and still over");
    assert!(
        FinishedJobs::read(root.path())
            .changed(root.path())
            .is_empty()
    );
}

#[test]
fn names_that_do_not_hold_are_made_anew_from_the_journals() {
    let root = tempfile::tempdir().unwrap();
    let (store, job) = one_over(root.path());
    for (file, text) in [
        (
            "finished.txt",
            "trayzero finished jobs 2\njudged \nnonsense",
        ),
        ("finished.txt", "trayzero finished jobs 2\nnonsense\n"),
        ("finished.txt", "trayzero finished jobs 1\n"),
        ("finished.txt", "trayzero finished jobs 3\njudged \n"),
        ("learned.json", "{"),
    ] {
        fs::write(root.path().join(file), text).unwrap();
        assert_eq!(FinishedJobs::read(root.path()).count(), 0, "{text}");
        assert_eq!(counts(&store), (1, 1), "{text}");
        assert!(FinishedJobs::read(root.path()).contains(job), "{text}");
    }
}

/// What the version before kept of a finished job: the minutes of its valves, in a summary
/// without hours and in a list by layout.
fn as_the_version_before_left_it(root: &Path, job: Uuid) -> Vec<f64> {
    let folder = find_job(root, job).unwrap().unwrap();
    let summary: JobSummary = read_summary(&folder).unwrap();
    let hours = summary.finished_hours().unwrap();
    let minutes: Vec<f64> = hours.valves.iter().map(|valve| valve.minutes).collect();
    let mut old = serde_json::to_value(&summary).unwrap();
    old.as_object_mut().unwrap().remove("hours").unwrap();
    old["valve_minutes"] = json!(minutes);
    let marks: Vec<_> = folder
        .journals
        .iter()
        .map(|file| {
            let read = read_journal(&file.path, job, file.tablet, Limits::OWN).unwrap();
            (file.tablet, read.mark)
        })
        .collect();
    write_summary(&folder.path, job, &marks, &old).unwrap();
    let learned = json!({ &*summary.layout: [
        { "job": job, "last_ms": summary.last_ms, "valve_minutes": minutes }
    ] });
    fs::write(root.join("learned.json"), learned.to_string()).unwrap();
    minutes
}

#[test]
fn a_shop_that_updates_keeps_its_history() {
    let root = tempfile::tempdir().unwrap();
    let store = Store::open(root.path(), later(0)).unwrap();
    let closed = create_demo_data(&store, later(0)).unwrap()[4];
    store.jobs().unwrap();
    let minutes = as_the_version_before_left_it(root.path(), closed);
    assert!(!minutes.is_empty());
    drop(store);
    let store = Store::open(root.path(), later(1)).unwrap();
    assert_eq!(store.jobs().unwrap().finished, 1);
    let known = FinishedJobs::read(root.path()).into_learned().into_hours();
    let [(job, hours)] = &known[..] else {
        panic!("{known:?}");
    };
    assert_eq!(*job, closed);
    let kept: Vec<f64> = hours.valves.iter().map(|valve| valve.minutes).collect();
    assert_eq!(kept, minutes);
    let pace = ShopPace::learn(&[hours], &[]);
    assert_eq!(pace.jobs_on(&hours.engine), 1);
    assert_eq!(
        pace.spent(),
        &[],
        "its other phases are not known, not nothing"
    );
}
