//! A backup made and brought back by the settings while the tablet is in use.

use std::path::{Path, PathBuf};

use egui::vec2;
use trayzero::data::store::Store;
use trayzero::demo::open_demo_folder;
use trayzero::ui::intent::{Intent, Screen};
use trayzero::ui::words::EN;
use trayzero_core::job::{Event, JobState};
use trayzero_core::journal::check_folder;
use uuid::Uuid;

use super::tablet::{NOW, Tablet};

fn states(data: &Path, jobs: &[Uuid]) -> Vec<JobState> {
    let store = Store::open(data, NOW).unwrap();
    jobs.iter()
        .map(|job| store.open_job(*job).unwrap().state().clone())
        .collect()
}

/// The one folder in a folder.
fn only_folder(within: &Path) -> PathBuf {
    let mut all = std::fs::read_dir(within).unwrap();
    let first = all.next().unwrap().unwrap().path();
    assert!(all.next().is_none());
    first
}

#[test]
fn a_backup_by_the_screen_with_a_job_open_comes_back_by_the_screen_to_the_same_states() {
    let demo = open_demo_folder(NOW).unwrap();
    let out = tempfile::tempdir().unwrap();
    let mut tablet = Tablet::open(demo.path(), vec2(1280.0, 800.0));
    tablet.ask(Intent::OpenJob(demo.jobs()[0]));
    let tap = |tablet: &mut Tablet, text: &str| {
        let text = text.to_owned();
        tablet.ask(Intent::Tap(vec![Event::Noted { text }]));
    };
    tap(&mut tablet, "before the backup");
    let shown = tablet.shell().desk.state().unwrap().clone();
    tablet.go(Screen::Settings);
    tablet.write(EN.backup_to, &out.path().display().to_string());
    tablet.tap(EN.backup_now);
    let backup = only_folder(out.path());
    assert!(
        tablet.says(&backup.display().to_string()),
        "{:#?}",
        tablet.spoken()
    );
    tap(&mut tablet, "after the backup");
    assert_ne!(*tablet.shell().desk.state().unwrap(), shown);
    drop(tablet);

    // Another tablet, with data of its own that has to stay.
    let other = out.path().join("other");
    let mut second = Tablet::open(&other, vec2(800.0, 1280.0));
    second.go(Screen::Settings);
    second.write(EN.restore_from, &backup.display().to_string());
    second.tap(EN.restore_word);
    let restored = out.path().join("other-restored-1");
    assert!(
        second.says(&restored.display().to_string()),
        "{:#?}",
        second.spoken()
    );
    drop(second);
    assert_eq!(
        Store::open(&other, NOW).unwrap().jobs().unwrap().jobs.len(),
        0
    );
    let report = check_folder(&restored).unwrap();
    assert!(report.is_clean() && report.lines() > 500, "{report:#?}");
    let again = states(&restored, demo.jobs());
    assert_eq!(again[0], shown);
    assert_eq!(again[1..], states(demo.path(), demo.jobs())[1..]);
}

#[test]
fn a_backup_that_cannot_be_made_or_read_says_which_folder() {
    let root = tempfile::tempdir().unwrap();
    let data = root.path().join("data");
    let mut tablet = Tablet::open(&data, vec2(1280.0, 800.0));
    tablet.go(Screen::Settings);
    let file = root.path().join("a file");
    std::fs::write(&file, "in the way").unwrap();
    tablet.write(EN.backup_to, &file.display().to_string());
    tablet.tap(EN.backup_now);
    assert!(tablet.says("a file"), "{:#?}", tablet.spoken());
    tablet.write(EN.restore_from, "/nowhere at all");
    tablet.tap(EN.restore_word);
    assert!(tablet.says("/nowhere at all"), "{:#?}", tablet.spoken());
    assert!(!root.path().join("data-restored-1").exists());
    assert_eq!(std::fs::read(&file).unwrap(), b"in the way");
}
