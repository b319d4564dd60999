//! The board on an office screen, in its real window: it reads alone, leaves every byte of the
//! folder as it is, and takes no part in the shop as a tablet.

use std::path::Path;
use std::thread::sleep;
use std::time::Duration;

use egui::vec2;
use trayzero::data::store::{Clock, Store, SystemClock};
use trayzero::demo::create_demo_data;
use trayzero::shop::Exchange;
use trayzero_core::job::{Event, Person};

use super::display::{Display, wait_for};
use super::trouble::{dots, files, unlike};

/// Longer than it takes to look at the folder again.
const LOOKS_AGAIN: Duration = Duration::from_secs(5);

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
