//! The page in the shop folder: off until it is wanted, whole at every moment, and made no
//! oftener than is said, however many tablets keep it.

use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant, SystemTime};

use trayzero::cli;
use trayzero::data::settings::{SETTINGS_FILE, SettingsFile};
use trayzero::data::store::{Clock, Store, SystemClock};
use trayzero::desk::Desk;
use trayzero::desk::page_keeper::{EVERY, PAGE_FILE};
use trayzero::shop::ExchangePace;
use trayzero::ui::intent::Intent;
use trayzero_tests::yard;

fn desk(root: &Path, shop: &Path, keeps_page: bool) -> Desk {
    let clock: Arc<dyn Clock> = Arc::new(SystemClock);
    let store = Store::open(root, clock.now()).unwrap();
    let mut desk = Desk::open(store, clock).unwrap();
    let mut settings = desk.settings().clone();
    settings.shop_folder = Some(shop.to_owned());
    settings.board_page = keeps_page;
    desk.carry_out(Intent::Settings(Box::new(settings)));
    desk.join_shop(ExchangePace::default(), Box::new(|| {}));
    desk
}

fn written(page: &Path) -> Option<SystemTime> {
    Some(page.metadata().ok()?.modified().unwrap())
}

#[test]
fn two_tablets_keep_one_whole_page_and_one_that_does_not_want_it_makes_none() {
    let scratch = tempfile::tempdir().unwrap();
    let shop = scratch.path().join("shop");
    std::fs::create_dir(&shop).unwrap();
    let page = shop.join(PAGE_FILE);
    let without = desk(&scratch.path().join("none"), &shop, false);
    std::thread::sleep(Duration::from_secs(6));
    assert!(!page.exists(), "nobody has asked for it");
    let first = scratch.path().join("one");
    let bays = yard::bays(3);
    for bay in &bays {
        bay.write(&first);
    }
    let desks = [
        desk(&first, &shop, true),
        desk(&scratch.path().join("two"), &shop, true),
    ];
    let begun = Instant::now();
    let mut times: Vec<SystemTime> = Vec::new();
    while begun.elapsed() < EVERY * 5 / 2 {
        if let Some(at) = written(&page) {
            if times.last() != Some(&at) {
                times.push(at);
            }
            let text = std::fs::read_to_string(&page).unwrap();
            assert!(text.starts_with("<!DOCTYPE html>") && text.ends_with("</html>"));
        }
        std::thread::sleep(Duration::from_millis(20));
    }
    assert!(times.len() >= 2, "it is made, and made anew: {times:?}");
    for pair in times.windows(2) {
        let between = pair[1].duration_since(pair[0]).unwrap();
        assert!(between >= EVERY, "made again after {between:?}");
    }
    let left: Vec<_> = std::fs::read_dir(&shop)
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.starts_with(PAGE_FILE))
        .collect();
    assert_eq!(left, [PAGE_FILE], "nothing half made is left");
    drop((without, desks));
}

#[test]
fn the_command_line_makes_the_same_page() {
    let scratch = tempfile::tempdir().unwrap();
    let root = scratch.path().join("data");
    for bay in yard::bays(4) {
        bay.write(&root);
    }
    drop(Store::open(&root, SystemClock.now()).unwrap());
    assert!(
        SettingsFile::read(&root).faults.is_empty(),
        "{SETTINGS_FILE}"
    );
    let out = scratch.path().join("board.html");
    let (mut said, mut faults) = (Vec::new(), Vec::new());
    let args = [
        "trayzero",
        "board",
        root.to_str().unwrap(),
        "--html",
        out.to_str().unwrap(),
    ];
    let code = cli::run(args, &mut said, &mut faults);
    assert_eq!(code, cli::EXIT_DONE, "{}", String::from_utf8_lossy(&faults));
    let text = std::fs::read_to_string(&out).unwrap();
    assert!(text.starts_with("<!DOCTYPE html>") && text.ends_with("</html>"));
    assert_eq!(text.matches("class=\"tile ").count(), 4);
    assert!(!text.contains("<script"));
    let nowhere = scratch.path().join("no/such/folder/board.html");
    let args = [
        "trayzero",
        "board",
        root.to_str().unwrap(),
        "--html",
        nowhere.to_str().unwrap(),
    ];
    let code = cli::run(args, &mut said, &mut faults);
    assert_eq!(code, cli::EXIT_BAD_INPUT);
    assert!(String::from_utf8_lossy(&faults).contains("no/such/folder"));
}
