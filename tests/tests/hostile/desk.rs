//! Hostile disks below the whole app: each is said in words on the screen with its way
//! out, the tap is not taken, and nothing that was shown is lost.

use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;
use std::time::{Duration, Instant};

use trayzero::data::store::{Clock, SetClock, Stamp, Store};
use trayzero::desk::{Desk, Outcome};
use trayzero::shop::ExchangePace;
use trayzero::ui::intent::{Intent, Screen, SignedAct, TypedCode};
use trayzero::ui::view::Notice;
use trayzero::ui::words::Words;
use trayzero_core::job::{Event, JobState, Opening, Person};
use trayzero_core::journal::{Limits, list_jobs, read_journal};
use trayzero_tests::engines::one_cylinder;
use trayzero_tests::figures::say;
use trayzero_tests::small_disk::SmallDisk;

pub const START: Stamp = Stamp {
    at_ms: 1_796_000_000_000,
    offset_min: 60,
};

/// A desk with an open job, and the clock on its wall.
pub struct Sat {
    pub desk: Desk,
    pub clock: Arc<SetClock>,
    root: PathBuf,
    taps: usize,
}

impl Sat {
    pub fn at(root: &Path) -> Self {
        let clock = Arc::new(SetClock::at(START));
        let store = Store::open(root, START).unwrap();
        let mut desk = Desk::open(store, Arc::clone(&clock) as Arc<dyn Clock>).unwrap();
        let opening = Opening {
            order_number: None,
            layout: one_cylinder(),
            vehicle: "Van 12".to_owned(),
            bay: "Bay 1".to_owned(),
            technician: Person::new("Ada"),
        };
        assert_eq!(
            desk.carry_out(Intent::NewJob(Box::new(opening))),
            Outcome::Moved
        );
        Self {
            desk,
            clock,
            root: root.to_owned(),
            taps: 0,
        }
    }

    /// One tap, a second later.
    pub fn tap(&mut self) -> Outcome {
        self.clock.advance(1_000);
        self.taps += 1;
        let text = format!("tap {}", self.taps);
        self.desk
            .carry_out(Intent::Tap(vec![Event::Noted { text }]))
    }

    fn words(&self) -> &'static Words {
        self.desk.settings().language.words()
    }

    pub fn state(&self) -> JobState {
        self.desk.state().unwrap().clone()
    }

    /// A tap that the disk does not take: the message begins with that and holds a word
    /// of the cause, the way out is this one, and what is shown stays.
    fn is_not_taken(&mut self, cause: &str, way: &str) {
        let shown = self.state();
        assert_eq!(self.tap(), Outcome::Stayed, "{cause}");
        let Some(Notice::Fault { what, way_out }) = self.desk.view().notice else {
            panic!("{cause}: nothing is said");
        };
        assert!(what.starts_with(self.words().disk_fault), "{what}");
        assert!(what.contains(cause) && what.contains(".jsonl"), "{what}");
        assert_eq!(way_out, way);
        assert_eq!(self.state(), shown, "{cause}");
    }

    /// Another program, started anew, finds on the disk what is shown here.
    fn finds_all_on_the_disk(self) {
        let shown = self.state();
        let job = self.desk.view().job.unwrap().id;
        drop(self.desk);
        let store = Store::open(&self.root, START).unwrap();
        let open = store.open_job(job).unwrap();
        assert_eq!(*open.state(), shown);
        assert!(open.read_only().is_none());
    }
}

#[test]
fn a_full_disk_is_said_and_the_taps_go_on_once_there_is_room() {
    let Some(disk) = SmallDisk::of(256, "a full disk below the app") else {
        return;
    };
    let mut sat = Sat::at(&disk.path().join("data"));
    sat.tap();
    let filler = disk.fill_up();
    while sat.tap() == Outcome::Taken {}
    let way = sat.words().disk_fault_way;
    for _ in 0..3 {
        sat.is_not_taken("no space left", way);
    }
    fs::remove_file(filler).unwrap();
    assert_eq!(sat.tap(), Outcome::Taken);
    sat.finds_all_on_the_disk();
}

#[test]
fn a_disk_that_turned_read_only_is_said_and_the_job_can_be_read() {
    let Some(disk) = SmallDisk::of(256, "a read-only disk below the app") else {
        return;
    };
    let root = disk.path().join("data");
    let mut sat = Sat::at(&root);
    sat.tap();
    let (shown, job) = (sat.state(), sat.desk.view().job.unwrap().id);
    sat.desk.carry_out(Intent::LeaveJob);
    disk.remount("ro");
    sat.desk.carry_out(Intent::OpenJob(job));
    {
        let view = sat.desk.view();
        let why = format!("{:?}", view.job.as_ref().unwrap().read_only);
        assert!(why.contains("ReadOnly {"), "{why}");
    }
    // The seal at the leaving is one event more than was shown.
    assert_eq!(sat.state().ledger(), shown.ledger());
    assert_eq!(sat.tap(), Outcome::Stayed);
    let Some(Notice::Fault { what, .. }) = sat.desk.view().notice else {
        panic!("nothing is said");
    };
    assert!(what.starts_with(sat.words().read_only), "{what}");
    disk.remount("rw");
    sat.desk.carry_out(Intent::OpenJob(job));
    assert_eq!(sat.tap(), Outcome::Taken);
    sat.finds_all_on_the_disk();
}

#[test]
fn a_folder_deleted_while_open_is_said_and_written_anew_with_all_that_was_shown() {
    let root = tempfile::tempdir().unwrap();
    let mut sat = Sat::at(root.path());
    for _ in 0..40 {
        sat.tap();
    }
    fs::remove_dir_all(root.path().join("jobs")).unwrap();
    let way = sat.words().disk_gone_way;
    sat.is_not_taken("was deleted", way);
    assert_eq!(sat.tap(), Outcome::Taken);
    sat.finds_all_on_the_disk();
}

/// Deleted, and then nothing can be written there for a while: what is known in memory
/// has to wait for the disk, not to be forgotten.
#[test]
fn a_folder_deleted_and_not_to_be_made_again_at_once_loses_nothing_either() {
    let root = tempfile::tempdir().unwrap();
    let mut sat = Sat::at(root.path());
    for _ in 0..10 {
        sat.tap();
    }
    let jobs = root.path().join("jobs");
    fs::remove_dir_all(&jobs).unwrap();
    fs::write(&jobs, "in the way").unwrap();
    let way = sat.words().disk_gone_way;
    sat.is_not_taken("was deleted", way);
    let way = sat.words().disk_other_way;
    for _ in 0..3 {
        sat.is_not_taken("making its folder", way);
    }
    fs::remove_file(jobs).unwrap();
    assert_eq!(sat.tap(), Outcome::Taken);
    sat.finds_all_on_the_disk();
}

#[test]
fn a_clock_set_back_a_day_is_said_once_and_the_taps_keep_their_order() {
    let root = tempfile::tempdir().unwrap();
    let mut sat = Sat::at(root.path());
    sat.tap();
    assert_eq!(sat.desk.view().notice, None);
    sat.clock.advance(-86_400_000);
    assert_eq!(sat.tap(), Outcome::Taken);
    let said = sat.words().clock_behind(86_399_000 / 60_000);
    assert_eq!(sat.desk.view().notice, Some(&Notice::Said(said)));
    assert_eq!(sat.tap(), Outcome::Taken);
    assert_eq!(sat.desk.view().notice, None, "said once");
    sat.clock.advance(86_400_000);
    sat.tap();
    sat.clock.advance(-86_400_000);
    sat.tap();
    assert!(sat.desk.view().notice.is_some(), "and again the next time");
    let read = one_journal(root.path());
    let texts: Vec<String> = read
        .iter()
        .filter_map(|event| match event {
            Event::Noted { text } => Some(text.clone()),
            _ => None,
        })
        .collect();
    let in_order: Vec<String> = (1..=sat.taps).map(|n| format!("tap {n}")).collect();
    assert_eq!(texts, in_order);
    sat.finds_all_on_the_disk();
}

#[test]
fn a_second_copy_of_the_app_reads_along_and_says_why_it_cannot_write() {
    let root = tempfile::tempdir().unwrap();
    let mut first = Sat::at(root.path());
    first.tap();
    let job = first.desk.view().job.unwrap().id;
    let store = Store::open(root.path(), START).unwrap();
    let clock: Arc<dyn Clock> = Arc::new(SetClock::at(START));
    let mut second = Desk::open(store, clock).unwrap();
    second.carry_out(Intent::OpenJob(job));
    let text = "from the second copy".to_owned();
    assert_eq!(
        second.carry_out(Intent::Tap(vec![Event::Noted { text }])),
        Outcome::Stayed
    );
    {
        let view = second.view();
        let why = format!("{:?}", view.job.as_ref().unwrap().read_only);
        assert!(why.contains("SecondWriter"), "{why}");
        let Some(Notice::Fault { what, .. }) = view.notice else {
            panic!("nothing is said");
        };
        assert!(what.starts_with(view.words.read_only), "{what}");
        assert!(what.contains("another copy"), "{what}");
    }
    assert_eq!(second.state(), first.desk.state());
    assert_eq!(first.tap(), Outcome::Taken);
    second.carry_out(Intent::Go(Screen::Bays));
    drop(second);
    first.finds_all_on_the_disk();
}

/// The events of the only journal of a data folder.
fn one_journal(root: &Path) -> Vec<Event> {
    let listing = list_jobs(root).unwrap();
    let [job] = &listing.jobs[..] else {
        panic!("{listing:?}");
    };
    let [file] = &job.journals[..] else {
        panic!("{job:?}");
    };
    let read = read_journal(&file.path, job.job, file.tablet, Limits::OWN).unwrap();
    assert_eq!((&read.torn, &read.fault), (&None, &None));
    read.entries.into_iter().map(|entry| entry.event).collect()
}

/// Every file below a folder, one after the other.
fn all_text(folder: &Path) -> String {
    let mut text = String::new();
    for name in fs::read_dir(folder).unwrap() {
        let path = name.unwrap().path();
        if path.is_dir() {
            text.push_str(&all_text(&path));
        } else {
            text.push_str(&String::from_utf8_lossy(&fs::read(&path).unwrap()));
        }
    }
    text
}

/// A code goes from the screen to the desk in an intent; a crash there would print it. It
/// is in no such text, in no notice, and in no file here or in the shop folder.
#[test]
fn a_code_on_its_way_from_the_screen_is_in_no_text_and_no_file() {
    const FOREMAN: &str = "forge-71-anvil";
    const WRONG: &str = "wrong-72-hammer";
    let root = tempfile::tempdir().unwrap();
    let shop = tempfile::tempdir().unwrap();
    let mut sat = Sat::at(root.path());
    let mut settings = sat.desk.settings().clone();
    settings.shop_folder = Some(shop.path().to_owned());
    sat.desk.carry_out(Intent::Settings(Box::new(settings)));
    sat.desk.join_shop(ExchangePace::default(), Box::new(|| {}));
    let typed = |code: &str| TypedCode(code.to_owned());
    let mira = Person::new("Mira");
    let sign = |code: &str| Intent::Sign {
        act: SignedAct::TakeOver,
        codes: vec![(mira.clone(), typed(code))],
    };
    let intents = [
        Intent::AddPerson {
            name: "Mira".to_owned(),
            role: trayzero_core::shop_log::Role::Foreman,
            code: typed(FOREMAN),
            by: None,
        },
        sign(WRONG),
        Intent::ResetCode {
            person: mira.clone(),
            code: typed(WRONG),
            by: (mira.clone(), typed(WRONG)),
        },
        sign(FOREMAN),
    ];
    let mut told = String::new();
    for intent in intents {
        write!(told, "{intent:?}").unwrap();
        sat.clock.advance(60_000);
        // The wait after a wrong code runs by the time that the program is up.
        std::thread::sleep(Duration::from_millis(2_100));
        sat.desk.carry_out(intent);
        write!(told, "{:?}", sat.desk.view().notice).unwrap();
    }
    let signed = sat.desk.state().unwrap().technician().cloned();
    assert_eq!(signed, Some(mira), "the right code signs");
    told.push_str(&all_text(root.path()));
    let until = Instant::now() + Duration::from_secs(20);
    let crew = || all_text(shop.path()).contains("\"founded\"");
    while !crew() && Instant::now() < until {
        std::thread::sleep(Duration::from_millis(20));
    }
    assert!(crew(), "the shop log has come to the shop folder");
    told.push_str(&all_text(shop.path()));
    for code in [FOREMAN, WRONG] {
        assert!(!told.contains(code), "{code} is told somewhere");
    }
}

const CHILD: &str = "TRAYZERO_TEST_FAILING_DISK";

/// Taps on a disk that fails somewhere, and says which taps were taken.
#[test]
#[ignore = "the child of the test below"]
fn failing_disk_child() {
    let root = std::env::var_os(CHILD).unwrap();
    let mut sat = Sat::at(Path::new(&root));
    let way = sat.words().disk_other_way;
    let mut was_refused = 0;
    while sat.taps < 30 {
        let shown = sat.state();
        if sat.tap() == Outcome::Taken {
            println!("taken tap {}", sat.taps);
            continue;
        }
        was_refused += 1;
        let view = sat.desk.view();
        let Some(Notice::Fault { what, way_out }) = view.notice else {
            panic!("nothing is said");
        };
        assert!(what.starts_with(view.words.disk_fault), "{what}");
        let is_named = what.contains("os error 5") || what.contains("earlier error");
        assert!(is_named, "{what}");
        assert_eq!(way_out, way);
        assert_eq!(sat.state(), shown);
    }
    println!("refused {was_refused}");
    assert!(was_refused > 0, "the disk failed");
    sat.finds_all_on_the_disk();
}

/// The library that stands before the C library, built from its source.
fn shim(folder: &Path) -> PathBuf {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("shim/failing_disk.c");
    let library = folder.join("failing_disk.so");
    let built = Command::new("cc")
        .args(["-shared", "-fPIC", "-O1", "-o"])
        .arg(&library)
        .arg(source)
        .arg("-ldl")
        .status()
        .unwrap();
    assert!(built.success(), "the failing disk is built");
    library
}

/// Every call on a journal in turn, write, sync or cut, fails in the middle of the work,
/// once or for a while. What was shown as taken is there; what was not is said.
#[test]
fn an_input_output_error_at_any_call_is_said_and_takes_nothing_that_was_shown() {
    let folder = tempfile::tempdir().unwrap();
    let library = shim(folder.path());
    let (mut failed, mut lost) = (0, 0);
    for fails_for in [1, 4] {
        // The first four calls make the job.
        for after in (4..40).step_by(fails_for) {
            let root = folder.path().join(format!("{fails_for}-{after}"));
            let run = Command::new(std::env::current_exe().unwrap())
                .args([
                    "--ignored",
                    "--exact",
                    "desk::failing_disk_child",
                    "--nocapture",
                ])
                .env(CHILD, &root)
                .env("LD_PRELOAD", &library)
                .env("TRAYZERO_FAIL_AFTER", after.to_string())
                .env("TRAYZERO_FAIL_CALLS", fails_for.to_string())
                .output()
                .unwrap();
            let said = String::from_utf8_lossy(&run.stdout);
            let errors = String::from_utf8_lossy(&run.stderr);
            assert!(run.status.success(), "call {after}: {said}{errors}");
            let events = one_journal(&root);
            for taken in said.lines().filter_map(|l| l.strip_prefix("taken ")) {
                let is_there = |e: &Event| matches!(e, Event::Noted { text } if text == taken);
                lost += u64::from(!events.iter().any(is_there));
                assert_eq!(lost, 0, "call {after}: {taken} is lost");
            }
            failed += 1;
        }
    }
    say("input/output errors in the middle", failed);
    say("acknowledged lost", lost);
}
