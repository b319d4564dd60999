//! The data folder of a tablet: jobs kept through the app, and who the tablet is.
#![allow(clippy::print_stdout, clippy::unwrap_used, missing_docs)]

mod backups;
mod codes;
mod finished;

use std::fs;
use std::path::Path;

use trayzero::data::store::{OpenJob, ProposeError, Stamp, Store};
use trayzero_core::engine::{Layout, shipped};
use trayzero_core::job::{Event, JobState, Opening, Person, Refusal, SignOff, Step};
use trayzero_core::journal::{Limits, journal_path, read_journal};
use trayzero_tests::entries::weighed;
use uuid::Uuid;

const START: Stamp = Stamp {
    at_ms: 1_796_000_000_000,
    offset_min: 60,
};

fn later(seconds: i64) -> Stamp {
    Stamp {
        at_ms: START.at_ms + seconds * 1_000,
        ..START
    }
}

fn ada() -> Person {
    Person::new("Ada")
}

fn opening() -> Opening {
    let one = shipped().iter().find(|s| s.key == "inline-4-8v").unwrap();
    Opening {
        order_number: None,
        layout: Layout::from_json(one.key, one.json.as_bytes()).unwrap(),
        vehicle: "Van 12".to_owned(),
        bay: "Bay 1".to_owned(),
        technician: ada(),
    }
}

fn seen(step: Step) -> Event {
    Event::StepSeen { step }
}

fn store(root: &Path) -> Store {
    Store::open(root, START).unwrap()
}

/// What the journals on disk give, read without the store.
fn replayed(root: &Path, job: Uuid, tablet: Uuid) -> JobState {
    let file = journal_path(root, job, tablet);
    let read = read_journal(&file, job, tablet, Limits::OWN).unwrap();
    assert_eq!((read.fault, read.torn), (None, None));
    let mut state = JobState::new();
    for entry in &read.entries {
        state.apply(entry).unwrap();
    }
    state
}

fn made(root: &Path) -> (Store, OpenJob) {
    let store = store(root);
    let open = store.create_job(opening(), START).unwrap();
    (store, open)
}

#[test]
fn a_tablet_stays_who_it_is_and_its_key_is_for_this_user_alone() {
    let root = tempfile::tempdir().unwrap();
    let first = store(root.path());
    let again = store(root.path());
    assert_eq!(first.tablet().id(), again.tablet().id());
    assert_eq!(first.tablet().public_key(), again.tablet().public_key());
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let known = fs::metadata(root.path().join("tablet.key")).unwrap();
        assert_eq!(known.permissions().mode() & 0o777, 0o600);
    }
    let secret = fs::read_to_string(root.path().join("tablet.key")).unwrap();
    assert_eq!(secret.len(), 64);
    assert!(
        !format!("{first:?}").contains(&secret),
        "not in a crash text"
    );
}

#[test]
fn a_lost_key_makes_another_tablet_that_says_so() {
    let root = tempfile::tempdir().unwrap();
    let (before, open) = made(root.path());
    let job = open.id();
    drop(open);
    fs::remove_file(root.path().join("tablet.key")).unwrap();
    let after = store(root.path());
    assert_ne!(after.tablet().id(), before.tablet().id());
    assert!(
        after
            .goes_on_as_new()
            .unwrap()
            .to_string()
            .contains("tablet.key is missing")
    );
    assert_eq!(after.open_job(job).unwrap().state().vehicle(), "Van 12");
}

#[test]
fn what_was_proposed_is_on_the_disk_and_opens_to_the_same_state() {
    let root = tempfile::tempdir().unwrap();
    let (store, mut open) = made(root.path());
    open.propose(later(1), &ada(), &[seen(Step::EngineCold)])
        .unwrap();
    open.propose(
        later(2),
        &ada(),
        &[seen(Step::BatteryOff), seen(Step::ConnectorsOff)],
    )
    .unwrap();
    let tablet = store.tablet().id();
    assert_eq!(*open.state(), replayed(root.path(), open.id(), tablet));
    let (job, shown) = (open.id(), open.state().clone());
    drop(open);
    assert_eq!(*store.open_job(job).unwrap().state(), shown);
    let list = store.jobs().unwrap();
    assert_eq!(list.jobs.len(), 1);
    assert!(list.jobs[0].is_own && list.faults.is_empty());
    assert_eq!(list.jobs[0].summary.vehicle, "Van 12");
}

#[test]
fn a_batch_with_one_refused_event_leaves_nothing_behind() {
    let root = tempfile::tempdir().unwrap();
    let (store, mut open) = made(root.path());
    let before = open.state().clone();
    let batch = [seen(Step::EngineCold), Event::WrenchOff {}];
    let error = open.propose(later(1), &ada(), &batch).unwrap_err();
    assert!(
        matches!(
            error,
            ProposeError::Refused {
                at: 1,
                refusal: Refusal::WrenchNotOn
            }
        ),
        "{error}"
    );
    assert_eq!(*open.state(), before);
    assert_eq!(
        before,
        replayed(root.path(), open.id(), store.tablet().id())
    );
}

#[test]
fn a_signature_is_followed_by_the_tablets_seal_and_undo_still_reaches_before_it() {
    let root = tempfile::tempdir().unwrap();
    let (store, mut open) = made(root.path());
    open.propose(later(1), &ada(), &[seen(Step::EngineCold)])
        .unwrap();
    let by = SignOff {
        person: Person::new("Ben"),
        entering: Uuid::from_u128(7),
        proof: None,
    };
    let taken = Event::TakenOver { by: by.clone() };
    open.propose(later(2), &ada(), &[taken]).unwrap();
    let file = journal_path(root.path(), open.id(), store.tablet().id());
    let read = read_journal(&file, open.id(), store.tablet().id(), Limits::OWN).unwrap();
    let key = store.tablet().public_key();
    let report = weighed(&file, open.id(), store.tablet().id());
    assert_eq!((report.good, report.bad), (1, Vec::new()));
    assert_eq!(report.keys, [key]);
    assert!(matches!(
        read.entries.last().unwrap().event,
        Event::Sealed(_)
    ));
    let count = Event::BlindCount {
        by: SignOff {
            entering: Uuid::from_u128(8),
            ..by
        },
        lines: Vec::new(),
    };
    open.propose(later(3), &ada(), &[count]).unwrap();
    assert!(matches!(
        open.state().undo_offer(),
        Some((_, Event::BlindCount { .. }))
    ));
}

#[test]
fn a_second_copy_reads_the_job_and_says_why_it_cannot_write() {
    let root = tempfile::tempdir().unwrap();
    let (_store, mut open) = made(root.path());
    let other = store(root.path());
    let mut second = other.open_job(open.id()).unwrap();
    assert!(
        second
            .read_only()
            .unwrap()
            .to_string()
            .contains("another copy")
    );
    assert!(matches!(
        second.propose(later(1), &ada(), &[seen(Step::EngineCold)]),
        Err(ProposeError::ReadOnly(_))
    ));
    open.propose(later(1), &ada(), &[seen(Step::EngineCold)])
        .unwrap();
    assert!(second.take_foreign().unwrap(), "it follows the first copy");
    assert_eq!(second.state(), open.state());
}

#[test]
fn a_clock_set_back_a_day_keeps_the_order_of_taps() {
    let root = tempfile::tempdir().unwrap();
    let (store, mut open) = made(root.path());
    open.propose(later(10), &ada(), &[seen(Step::EngineCold)])
        .unwrap();
    open.propose(later(-86_400), &ada(), &[seen(Step::BatteryOff)])
        .unwrap();
    assert!(open.ahead_ms(later(-86_400)) > 86_000_000);
    let (job, shown) = (open.id(), open.state().clone());
    drop(open);
    assert_eq!(*store.open_job(job).unwrap().state(), shown);
}

#[test]
fn a_journal_broken_in_the_middle_opens_read_only_up_to_there() {
    let root = tempfile::tempdir().unwrap();
    let (store, mut open) = made(root.path());
    for step in [Step::EngineCold, Step::BatteryOff, Step::ConnectorsOff] {
        open.propose(later(1), &ada(), &[seen(step)]).unwrap();
    }
    let job = open.id();
    drop(open);
    let file = journal_path(root.path(), job, store.tablet().id());
    let text = fs::read_to_string(&file).unwrap();
    fs::write(&file, text.replace("battery_off", "battery_on")).unwrap();
    let open = store.open_job(job).unwrap();
    assert!(open.read_only().unwrap().to_string().contains("line 4"));
    assert!(open.state().step_seen(Step::EngineCold).is_some());
    assert!(open.state().step_seen(Step::ConnectorsOff).is_none());
    assert_eq!(open.faults().count(), 1);
}
