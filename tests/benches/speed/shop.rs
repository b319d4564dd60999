//! Taps while the exchange with a shop folder goes on, in turns with taps of a tablet
//! that has none: one folder serves, one is a disk that is full, one is not there.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;
use std::thread::sleep;
use std::time::{Duration, Instant};

use trayzero::data::store::{Clock, OpenJob, Store, SystemClock};
use trayzero::shop::{ExchangePace, SharedShop};
use trayzero_core::job::{Event, Opening, Person};
use trayzero_tests::engines::shipped_engine;

use super::table::{Row, median};

/// As in the group of the taps.
const HUMAN_PACE: Duration = Duration::from_millis(60);
const TAPS: usize = 200;

pub fn rows() -> Vec<Row> {
    let scratch = tempfile::tempdir().unwrap();
    let serving = scratch.path().join("shop");
    std::fs::create_dir(&serving).unwrap();
    let full = FullDisk::mount(&scratch.path().join("full"));
    let mut alone = Tablet::new(&scratch.path().join("alone"), None);
    let mut with = Tablet::new(&scratch.path().join("with"), Some(&serving));
    let mut failing = Vec::new();
    if let Some(disk) = &full {
        failing.push(Tablet::new(
            &scratch.path().join("with-full"),
            Some(&disk.path),
        ));
    } else {
        println!("shop: no small disk can be mounted here; that folder is left out");
    }
    let gone = scratch.path().join("not/there");
    failing.push(Tablet::new(&scratch.path().join("with-gone"), Some(&gone)));
    for _ in 0..TAPS {
        alone.tap();
        with.tap();
        for tablet in &mut failing {
            tablet.tap();
        }
    }
    let bare = median(&mut alone.times);
    assert!(with.shop.flush(Duration::from_secs(20)), "all was mirrored");
    let mut rows = vec![Row::ratio(
        "tap with a shop folder / without",
        median(&mut with.times),
        bare,
        "us",
        1.05,
    )];
    let mut folders = vec!["full", "missing"];
    if full.is_none() {
        folders.remove(0);
    }
    for (mut tablet, folder) in failing.into_iter().zip(folders) {
        assert!(
            !tablet.shop.flush(Duration::from_secs(1)),
            "that folder fails"
        );
        rows.push(Row::ratio(
            &format!("tap with a {folder} shop folder / without"),
            median(&mut tablet.times),
            bare,
            "us",
            1.10,
        ));
    }
    rows
}

/// A tablet at work.
struct Tablet {
    job: OpenJob,
    shop: SharedShop,
    clock: Arc<dyn Clock>,
    times: Vec<f64>,
    _store: Store,
}

impl Tablet {
    fn new(root: &Path, folder: Option<&Path>) -> Self {
        let clock: Arc<dyn Clock> = Arc::new(SystemClock);
        let store = Store::open(root, clock.now()).unwrap();
        let pace = ExchangePace::default();
        let shop = SharedShop::start(&store, folder, Arc::clone(&clock), pace, Box::new(|| {}));
        let opening = Opening {
            order_number: None,
            layout: shipped_engine("v8-cross-plane-32v"),
            vehicle: "Van 12".to_owned(),
            bay: "Bay 2".to_owned(),
            technician: Person::new("Zoë Ferro"),
        };
        let job = store.create_job(opening, clock.now()).unwrap();
        Self {
            job,
            shop,
            clock,
            times: Vec::new(),
            _store: store,
        }
    }

    fn tap(&mut self) {
        sleep(HUMAN_PACE);
        let event = Event::Noted {
            text: format!("seen {}", self.times.len()),
        };
        let who = Person::new("Zoë Ferro");
        let start = Instant::now();
        self.job.propose(self.clock.now(), &who, &[event]).unwrap();
        self.shop.tapped(self.job.id());
        self.times.push(start.elapsed().as_secs_f64() * 1e6);
    }
}

/// A disk of a few pages that something else has filled.
struct FullDisk {
    path: PathBuf,
}

impl FullDisk {
    fn mount(path: &Path) -> Option<Self> {
        std::fs::create_dir(path).unwrap();
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", "size=16k", "tmpfs"])
            .arg(path)
            .status()
            .is_ok_and(|status| status.success());
        if !mounted {
            return None;
        }
        // As much as goes in.
        let _ = std::fs::write(path.join("other"), vec![0; 64 * 1024]);
        Some(Self {
            path: path.to_owned(),
        })
    }
}

impl Drop for FullDisk {
    fn drop(&mut self) {
        // Lazily, for the exchange may just be at it.
        let _ = Command::new("umount").arg("-l").arg(&self.path).status();
    }
}
