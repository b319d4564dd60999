//! The board on an office screen, of one shop and of several, in its real window: it reads
//! alone, leaves every byte of the folder as it is, and takes no part in a shop as a tablet.

use std::fs;
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::Duration;

use egui::vec2;
use trayzero::data::store::{Clock, Store, SystemClock};
use trayzero::demo::create_demo_data;
use trayzero::shop::Exchange;
use trayzero_core::job::{Event, Person};
use trayzero_tests::mute::Mute;

use super::display::{Display, wait_for};
use super::trouble::{dots, files, unlike};

/// Longer than it takes to look at the folder again.
const LOOKS_AGAIN: Duration = Duration::from_secs(5);

/// Longer than one that does not answer is waited for.
const SILENT_AFTER: Duration = Duration::from_secs(15);

/// Every file and folder with what it holds and when it was written.
fn stands(folder: &Path) -> Vec<(std::path::PathBuf, Vec<u8>)> {
    let mut all = Vec::new();
    files(folder, &mut all);
    all
}

#[test]
fn the_office_screen_shows_the_shop_and_writes_nothing() {
    let scratch = tempfile::tempdir().unwrap();
    let path = |name: &str| scratch.path().join(name);
    let (tablet, shop, home) = (path("tablet"), path("shop"), path("home"));
    for folder in [&tablet, &shop, &home] {
        std::fs::create_dir(folder).unwrap();
    }
    let now = SystemClock.now();
    let store = Store::open(&tablet, now).unwrap();
    let jobs = create_demo_data(&store, now).unwrap();
    let mirror = || {
        let round = Exchange::new(&store.for_exchange(), &shop).round();
        assert!(round.fault.is_none(), "{:?}", round.fault);
    };
    mirror();
    let before = stands(&shop);
    assert!(before.len() > 5, "the shop's journals lie there");

    let size = vec2(1280.0, 800.0);
    let display = Display::start(size);
    let mut window = display.open_office(&shop, &home);
    let shown = |name: &str| {
        let picture = scratch.path().join(format!("{name}.png"));
        display.picture(&picture);
        dots(&picture)
    };
    let empty = vec![0_u8; shown("start").len()];
    wait_for("the board", || unlike(&shown("board"), &empty) > 0.5);
    sleep(LOOKS_AGAIN);
    let first = shown("first");
    assert!(stands(&shop) == before, "it has written into the folder");
    assert_eq!(stands(&home), [], "it has made itself no tablet");

    // A tap of the tablet comes to it by itself.
    let mut job = store.open_job(jobs[2]).unwrap();
    let who = Person::new("Ilka");
    let why = "waits for a gasket".to_owned();
    job.propose(SystemClock.now(), &who, &[Event::Paused { why }])
        .unwrap();
    job.close(SystemClock.now(), &who);
    mirror();
    let after_tap = stands(&shop);
    assert!(after_tap != before);
    wait_for("the tap on the wall", || {
        unlike(&shown("then"), &first) > 0.002
    });
    sleep(LOOKS_AGAIN);
    assert!(stands(&shop) == after_tap, "it has written into the folder");
    assert_eq!(stands(&home), []);
    display.press("Escape");
    wait_for("the end", || window.try_wait().unwrap().is_some());
    assert!(window.wait().unwrap().success());
}

/// A shop folder with the demo's bays.
fn demo_shop(scratch: &Path, name: &str) -> PathBuf {
    let (tablet, shop) = (scratch.join(format!("{name} tablet")), scratch.join(name));
    fs::create_dir(&tablet).unwrap();
    fs::create_dir(&shop).unwrap();
    let now = SystemClock.now();
    let store = Store::open(&tablet, now).unwrap();
    create_demo_data(&store, now).unwrap();
    let round = Exchange::new(&store.for_exchange(), &shop).round();
    assert!(round.fault.is_none(), "{:?}", round.fault);
    shop
}

#[test]
fn several_shops_stand_on_one_screen_and_one_that_hangs_or_goes_hides_no_other() {
    let scratch = tempfile::tempdir().unwrap();
    let root = scratch.path();
    let shops = [demo_shop(root, "north"), demo_shop(root, "south")];
    let (home, hangs) = (root.join("home"), root.join("hangs"));
    fs::create_dir(&home).unwrap();
    fs::create_dir(&hangs).unwrap();
    let mute = Mute::mount(&hangs);
    if mute.is_none() {
        println!("NOT RUN: this user may not mount a file system of a program's own");
    }
    let file = root.join("region.json");
    let listed = serde_json::json!({"shops": [
        {"name": "East", "where": hangs},
        {"name": "North", "where": shops[0]},
        {"name": "South", "where": shops[1]},
    ]});
    fs::write(&file, listed.to_string()).unwrap();
    let before: Vec<_> = shops.iter().map(|shop| stands(shop)).collect();

    let display = Display::start(vec2(1280.0, 800.0));
    let mut window = display.open_board(&["--shops".as_ref(), file.as_os_str()], &home);
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../target/pictures/office");
    fs::create_dir_all(&folder).unwrap();
    let shown = |name: &str| {
        let picture = folder.join(format!("{name}.png"));
        display.picture(&picture);
        dots(&picture)
    };
    let empty = vec![0_u8; shown("start").len()];
    // Long before it is said that one does not answer, the others stand there.
    wait_for("the boards", || unlike(&shown("both"), &empty) > 0.5);
    sleep(LOOKS_AGAIN);
    let both = shown("both");
    let away = root.join("away");
    fs::rename(&shops[1], &away).unwrap();
    sleep(LOOKS_AGAIN);
    let gone = shown("gone");
    assert!(unlike(&gone, &both) > 0.02, "it is said that one is gone");
    sleep(SILENT_AFTER);
    let silent = shown("silent");
    if mute.is_some() {
        assert!(
            unlike(&silent, &gone) > 0.02,
            "it is said that one is silent"
        );
    }
    fs::rename(&away, &shops[1]).unwrap();
    drop(mute);
    fs::remove_dir(&hangs).unwrap();
    sleep(LOOKS_AGAIN);
    assert!(unlike(&shown("back"), &silent) > 0.02);
    let after: Vec<_> = shops.iter().map(|shop| stands(shop)).collect();
    assert!(after == before, "it has written into a folder");
    assert_eq!(stands(&home), [], "it has made itself no tablet");
    display.press("Escape");
    wait_for("the end", || window.try_wait().unwrap().is_some());
    assert!(window.wait().unwrap().success());
}
