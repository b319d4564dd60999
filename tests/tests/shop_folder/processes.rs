//! Three programs on one shop folder, each a process of its own with its threads at work,
//! cut off and connected again while they tap.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command};
use std::thread;
use std::time::{Duration, Instant};

use trayzero::shop::{News, SharedShop};
use trayzero_core::journal::journal_path;
use uuid::Uuid;

use super::converge::{acknowledged, tap, technician};
use super::faulty::start;
use super::parts::{Dice, Tablet, scratch};

/// Names the folder of a run to a process that is one of the three.
const RUN: &str = "TRAYZERO_TEST_RUN";
/// Which of the three it is.
const WHICH: &str = "TRAYZERO_TEST_WHICH";
const NAMES: [&str; 3] = ["Ada", "Ben", "Cleo"];
const SEEDS: u64 = 6;
const STEPS: usize = 60;
const PATIENCE: Duration = Duration::from_secs(20);

/// The folder of one run.
struct Run(PathBuf);

impl Run {
    fn shop(&self) -> PathBuf {
        self.0.join("shop")
    }

    fn tablet(&self, which: usize) -> Tablet {
        Tablet::new(&self.0.join(NAMES[which]), &self.shop(), NAMES[which])
    }

    fn say(&self, which: usize, what: &str, text: &str) {
        let path = self.0.join(format!("{which}.{what}"));
        let beside = path.with_extension("part");
        fs::write(&beside, text).unwrap();
        fs::rename(beside, path).unwrap();
    }

    fn said(&self, which: usize, what: &str) -> Option<String> {
        fs::read_to_string(self.0.join(format!("{which}.{what}"))).ok()
    }

    fn job(&self, which: usize) -> Uuid {
        self.said(which, "job").unwrap().parse().unwrap()
    }
}

fn wait<T>(what: &str, mut look: impl FnMut() -> Option<T>) -> T {
    let until = Instant::now() + PATIENCE;
    loop {
        if let Some(seen) = look() {
            return seen;
        }
        assert!(Instant::now() < until, "waited in vain: {what}");
        thread::sleep(Duration::from_millis(3));
    }
}

/// One of the three; does nothing when the tests are run as usual.
#[test]
fn one_of_three() {
    let Some(folder) = std::env::var_os(RUN) else {
        return;
    };
    let which: usize = std::env::var(WHICH).unwrap().parse().unwrap();
    let run = Run(PathBuf::from(folder));
    let mut tablet = run.tablet(which);
    let shop = start(&tablet);
    // The first two share the first job, the third has one of its own.
    let job = run.job(if which == 2 { 2 } else { 0 });
    tablet.open = Some(wait("its job", || tablet.store.open_job(job).ok()));
    let taps = taps_of(&run, which, &mut tablet, &shop);
    let open = tablet.open.as_mut().unwrap();
    open.seal(tablet.clock.advance(1), &tablet.person);
    shop.set_folder(Some(&run.shop()));
    assert!(shop.flush(PATIENCE), "as at a clean exit");
    let own = journal_path(&tablet.root, job, tablet.id());
    let length = fs::metadata(&own).map_or(0, |known| known.len());
    run.say(
        which,
        "done",
        &format!("{} {job} {length} {taps}", tablet.id()),
    );
    for other in 0..NAMES.len() {
        let done = wait("the others", || run.said(other, "done"));
        let words: Vec<&str> = done.split(' ').collect();
        let file = journal_path(
            &tablet.root,
            words[1].parse().unwrap(),
            words[0].parse().unwrap(),
        );
        let length: u64 = words[2].parse().unwrap();
        let have = || fs::metadata(&file).map_or(0, |known| known.len());
        let until = Instant::now() + PATIENCE;
        while have() != length {
            let (status, have) = (shop.status(), have());
            let path = file.display();
            assert!(
                Instant::now() < until,
                "{path}: {have} of {length}, {status:#?}"
            );
            thread::sleep(Duration::from_millis(3));
        }
    }
    let open = tablet.open.as_mut().unwrap();
    open.take_foreign().unwrap();
    let open_here = format!("{:?}", open.state());
    tablet.open = None;
    let states = [0, 2].map(|at| {
        let open = tablet.store.open_job(run.job(at)).unwrap();
        format!("{:?}", open.state())
    });
    assert!(states.contains(&open_here), "read anew it is the same");
    run.say(which, "state", &states.join("\n"));
}

/// Taps, cuts and takes in what comes; gives how many events were acknowledged.
fn taps_of(run: &Run, which: usize, tablet: &mut Tablet, shop: &SharedShop) -> usize {
    let seed: u64 = run.said(0, "seed").unwrap().parse().unwrap();
    let mut dice = Dice(seed * 10 + which as u64);
    let mut signs = technician(&tablet.person, u128::from(seed * 10 + which as u64 + 1));
    let mut is_cut = false;
    let mut taps = 0;
    for _ in 0..STEPS {
        if dice.one_in(8) {
            is_cut = !is_cut;
            shop.set_folder((!is_cut).then(|| run.shop()).as_deref());
        }
        taps += tap(tablet, &mut signs, &mut dice);
        let job = tablet.open.as_ref().unwrap().id();
        shop.tapped(job);
        if shop.take_news().contains(&News::Lines(job)) {
            tablet.take_foreign();
        }
        thread::sleep(Duration::from_millis(dice.below(6) as u64));
    }
    taps
}

fn spawn(folder: &Path, which: usize) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["processes::one_of_three", "--exact", "--nocapture"])
        .env(RUN, folder)
        .env(WHICH, which.to_string())
        .spawn()
        .unwrap()
}

#[test]
fn three_processes_end_with_the_same_state_to_the_byte() {
    let (mut taps, mut conflicts) = (0, 0);
    for seed in 0..SEEDS {
        let scratch = scratch();
        let run = Run(scratch.path().to_owned());
        fs::create_dir(run.shop()).unwrap();
        run.say(0, "seed", &seed.to_string());
        for (which, layout) in [(0, "inline-4-8v"), (2, "inline-3-12v")] {
            let mut tablet = run.tablet(which);
            let job = tablet.create(layout, "Bay");
            run.say(which, "job", &job.to_string());
        }
        let three: Vec<Child> = (0..3).map(|which| spawn(scratch.path(), which)).collect();
        for mut child in three {
            assert!(child.wait().unwrap().success(), "seed {seed}");
        }
        let states = [0, 1, 2].map(|which| run.said(which, "state").unwrap());
        assert_eq!(states[0], states[1], "seed {seed}");
        assert_eq!(states[0], states[2], "seed {seed}");
        for which in 0..3 {
            let tablet = run.tablet(which);
            let job = run.job(if which == 2 { 2 } else { 0 });
            let ids = acknowledged(&tablet.root, job, tablet.id());
            let done = run.said(which, "done").unwrap();
            let said: usize = done.split(' ').next_back().unwrap().parse().unwrap();
            let opened = usize::from(which != 1);
            assert_eq!(ids.len(), said + opened, "seed {seed}: on its own disk");
            let open = run.tablet((which + 1) % 3).store.open_job(job).unwrap();
            assert!(ids.iter().all(|id| open.state().knows(*id)), "seed {seed}");
            taps += ids.len();
            conflicts += open.state().conflicts().len();
        }
    }
    println!("{SEEDS} runs of three processes: {taps} taps, {conflicts} conflicts, lost: 0");
    assert!(taps > 500);
}
