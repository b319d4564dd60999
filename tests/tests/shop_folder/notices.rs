//! What is wrong with the files of a tablet, read on its screen: nothing is said to nobody.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use trayzero::data::store::{Clock, SetClock, Store};
use trayzero::desk::Desk;
use trayzero::ui::intent::{Intent, Screen};
use trayzero::ui::words::EN;
use trayzero_core::job::{Entry, Event};
use trayzero_core::journal::{Limits, Writer, journal_path, read_journal};
use uuid::Uuid;

use super::hand::Hand;
use super::parts::{SIZE, START, Tablet};
use super::screens::empty_shop;

/// A tablet with one job of which one line is known, closed again.
fn with_a_job(root: &Path, shop: &Path) -> (Uuid, Uuid) {
    let mut tablet = Tablet::new(root, shop, "Ada");
    let job = tablet.create("inline-4-8v", "Bay 1");
    tablet.note("as it was told");
    (job, tablet.id())
}

/// The window as the program opens it on a data folder.
fn at_the_start(root: &Path) -> Hand {
    let clock: Arc<dyn Clock> = Arc::new(SetClock::at(START));
    let desk = Desk::open(Store::open(root, clock.now()).unwrap(), clock).unwrap();
    Hand::at_the_start(desk, tempfile::tempdir().unwrap(), SIZE)
}

#[test]
fn a_tablet_that_is_no_longer_itself_says_so_at_the_start() {
    let (scratch, shop) = empty_shop();
    let root = scratch.path().join("one");
    with_a_job(&root, &shop);
    fs::remove_file(root.join("tablet.key")).unwrap();
    let mut screen = at_the_start(&root);
    assert!(screen.says("tablet.key is missing"));
    assert!(screen.says("this tablet goes on as a new one"));
    screen.picture("start-new-tablet");
}

#[test]
fn a_sheet_of_tries_that_was_changed_by_hand_is_said_at_the_start() {
    let (scratch, shop) = empty_shop();
    let root = scratch.path().join("one");
    with_a_job(&root, &shop);
    fs::write(root.join("attempts.json"), "{}").unwrap();
    let screen = at_the_start(&root);
    assert!(screen.says("attempts.json"));
}

/// Changes a line of the job's journal by hand; gives the file.
fn change_by_hand(root: &Path, job: Uuid, tablet: Uuid) -> String {
    let path = journal_path(root, job, tablet);
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text.replace("as it was told", "as it was TOLD")).unwrap();
    let _ = fs::remove_file(path.with_file_name("summary.json"));
    path.display().to_string()
}

#[test]
fn a_journal_that_does_not_hold_is_said_at_the_start() {
    let (scratch, shop) = empty_shop();
    let root = scratch.path().join("one");
    let (job, tablet) = with_a_job(&root, &shop);
    let path = change_by_hand(&root, job, tablet);
    let screen = at_the_start(&root);
    assert!(screen.says(&path));
}

#[test]
fn a_journal_that_does_not_hold_any_more_is_said_while_the_program_runs() {
    let (scratch, shop) = empty_shop();
    let root = scratch.path().join("one");
    let (job, tablet) = with_a_job(&root, &shop);
    let mut screen = at_the_start(&root);
    let path = change_by_hand(&root, job, tablet);
    assert!(!screen.says(&path));
    let desk = &mut screen.window.state_mut().desk;
    desk.carry_out(Intent::Go(Screen::Bays));
    screen.window.run();
    assert!(screen.says(&path));
    // Once is enough, until somebody sits down at that job.
    let desk = &mut screen.window.state_mut().desk;
    desk.carry_out(Intent::Go(Screen::Bays));
    screen.window.run();
    assert!(!screen.says(&path));
}

#[test]
fn lines_that_came_with_two_contents_are_said_when_the_job_is_opened() {
    let (scratch, shop) = empty_shop();
    let root = scratch.path().join("one");
    let (job, tablet) = with_a_job(&root, &shop);
    let own = journal_path(&root, job, tablet);
    let read = read_journal(&own, job, tablet, Limits::OWN).unwrap();
    let told = read.entries.last().unwrap().clone();
    let other = Uuid::from_u128(7);
    let forged = Entry {
        tablet: other,
        event: Event::WrenchOff {},
        ..told
    };
    let mut opened = Writer::open(&root, job, other).unwrap();
    opened.writer.append(&[forged]).unwrap();
    drop(opened);
    let mut screen = at_the_start(&root);
    let said = EN.told_twice(1);
    assert!(said.starts_with("One line came"), "{said}");
    assert!(!screen.says(&said));
    screen.window.state_mut().carry_out(Intent::OpenJob(job));
    screen.window.run();
    screen.window.state_mut().screens.bay.sheets.close();
    screen.window.run();
    assert!(screen.says(&said) && screen.says(EN.told_twice_way));
    assert!(!screen.says(EN.try_again), "no tap mends it");
    screen.picture("bay-told-twice");
}
