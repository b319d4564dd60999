//! Shop folders that fail, and what lies in them that nobody of ours has put there.
// Long because it is a list: one trouble after another.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use ed25519_dalek::SigningKey;
use trayzero::shop::{ExchangePace, News, NotConfirmed, SharedShop, ShopFault, WhyNotConfirmed};
use trayzero_core::job::{Entry, Event, SignOff};
use trayzero_core::journal::{Link, Writer, job_path, journal_path, seal_over};
use uuid::Uuid;

use super::parts::{Tablet, scratch, shared_clock};

struct Two {
    _scratch: tempfile::TempDir,
    shop: PathBuf,
    one: Tablet,
    other: Tablet,
    job: Uuid,
}

/// Two tablets that have met, and a job of the first one.
fn two() -> Two {
    let scratch = scratch();
    let shop = scratch.path().join("shop");
    fs::create_dir(&shop).unwrap();
    let mut one = Tablet::new(&scratch.path().join("one"), &shop, "Ada");
    let mut other = Tablet::new(&scratch.path().join("other"), &shop, "Ben");
    let job = one.create("inline-4-8v", "Bay 1");
    one.meet();
    other.meet();
    Two {
        shop,
        one,
        other,
        job,
        _scratch: scratch,
    }
}

impl Two {
    /// The journal of the first tablet as it lies in the shop folder.
    fn shown(&self) -> PathBuf {
        journal_path(&self.shop, self.job, self.one.id())
    }

    /// The second tablet's copy of it.
    fn copy(&self) -> PathBuf {
        journal_path(&self.other.root, self.job, self.one.id())
    }
}

fn bytes(path: &Path) -> Vec<u8> {
    fs::read(path).unwrap()
}

#[test]
fn a_half_written_line_is_simply_not_read_yet() {
    let mut all = two();
    all.one.note("whole");
    all.one.meet();
    let whole = bytes(&all.shown());
    let before = bytes(&all.copy());
    for cut in [before.len() + 1, whole.len() - 1, whole.len() - 40] {
        fs::write(all.shown(), &whole[..cut]).unwrap();
        let round = all.other.meet();
        assert_eq!(round.file_faults, []);
        assert_eq!(bytes(&all.copy()), before, "cut at {cut}");
    }
    let round = all.one.meet();
    let why = &round.file_faults[0].why;
    assert!(
        why.to_string().contains("put right"),
        "its own tablet goes on from there: {why}"
    );
    assert_eq!(bytes(&all.shown()), whole);
    assert_eq!(all.other.meet().pulled, [all.job]);
    assert_eq!(bytes(&all.copy()), whole);
}

#[test]
fn rubbish_is_listed_left_alone_and_breaks_nothing() {
    let mut all = two();
    let jobs = all.shop.join("jobs");
    let other = Uuid::from_u128(77);
    let secret = all.other.root.join("secret.txt");
    fs::write(&secret, "not for the shop").unwrap();
    fs::write(jobs.join("notes.txt"), "hello").unwrap();
    fs::create_dir_all(jobs.join("deep/deeper/deepest")).unwrap();
    fs::write(job_path(&all.shop, all.job).join("readme.md"), "x").unwrap();
    let faulty = journal_path(&all.shop, all.job, other);
    fs::write(&faulty, "{\"format\":1}\nrubbish\n").unwrap();
    fs::write(all.shop.join("tablets/card.json"), "{}").unwrap();
    fs::create_dir(journal_path(&all.shop, all.job, Uuid::from_u128(78))).unwrap();
    #[cfg(unix)]
    {
        use std::os::unix::fs::symlink;
        symlink(
            &secret,
            journal_path(&all.shop, all.job, Uuid::from_u128(79)),
        )
        .unwrap();
        symlink(&all.other.root, job_path(&all.shop, Uuid::from_u128(80))).unwrap();
    }
    let huge = fs::File::create(journal_path(&all.shop, all.job, Uuid::from_u128(81))).unwrap();
    huge.set_len(1 << 30).unwrap();
    all.one.note("goes on");
    all.one.meet();
    let begun = Instant::now();
    let round = all.other.meet();
    assert!(
        begun.elapsed() < Duration::from_secs(5),
        "nothing huge is read"
    );
    assert_eq!(
        round.pulled,
        [all.job],
        "the good journal is read all the same"
    );
    assert_eq!(bytes(&all.copy()), bytes(&all.shown()));
    let faults: Vec<String> = round.file_faults.iter().map(ToString::to_string).collect();
    let is_named = faults.iter().any(|f| f.contains("card.json"));
    assert!(is_named, "{faults:#?}");
    // Of tablets that nobody has admitted nothing is read; that they are there is said.
    for stranger in [other, Uuid::from_u128(81)] {
        assert!(
            round.not_confirmed.contains(&NotConfirmed {
                job: all.job,
                tablet: stranger,
                why: WhyNotConfirmed::Stranger,
            }),
            "{stranger}: {:#?}",
            round.not_confirmed
        );
    }
    let left: Vec<String> = round.left_alone.iter().map(ToString::to_string).collect();
    let expected = if cfg!(unix) { 6 } else { 4 };
    assert_eq!(left.len(), expected, "{left:#?}");
    assert_eq!(
        bytes(&faulty),
        b"{\"format\":1}\nrubbish\n",
        "left as it was"
    );
    assert!(!journal_path(&all.other.root, all.job, other).exists());
    let open = all.other.store.open_job(all.job).unwrap();
    assert!(open.read_only().is_none());
}

#[test]
fn lines_changed_in_the_folder_are_reported_never_taken_and_put_right() {
    let mut all = two();
    all.one.note("first");
    all.one.note("second");
    all.one.meet();
    all.other.meet();
    let good = bytes(&all.copy());
    let text = String::from_utf8(good.clone()).unwrap();
    // The other tablet looks first: what it has read stays, and that is said.
    fs::write(all.shown(), &good[..good.len() - 100]).unwrap();
    let round = all.other.meet();
    assert_eq!(round.file_faults.len(), 1, "{:?}", round.file_faults);
    assert_eq!(bytes(&all.copy()), good, "what was read before is kept");
    fs::write(all.shown(), text.replace("first", "thirst")).unwrap();
    all.one.note("third");
    all.one.restart();
    let round = all.one.meet();
    assert!(
        round.file_faults[0]
            .why
            .to_string()
            .contains("not what this tablet wrote")
    );
    let own = journal_path(&all.one.root, all.job, all.one.id());
    assert_eq!(bytes(&all.shown()), bytes(&own), "put right by its owner");
    let round = all.other.meet();
    assert_eq!((round.file_faults, round.not_confirmed), (vec![], vec![]));
    assert_eq!(bytes(&all.copy()), bytes(&own), "and read on from there");
}

/// Changes a line in place, and sets the file's time back to what it was.
fn bend_unseen(file: &Path) {
    let before = fs::metadata(file).unwrap().modified().unwrap();
    let bent = String::from_utf8(bytes(file)).unwrap();
    assert!(bent.contains("first"));
    fs::write(file, bent.replace("first", "frist")).unwrap();
    let file = fs::File::options().write(true).open(file).unwrap();
    file.set_modified(before).unwrap();
}

#[test]
fn a_line_bent_and_set_back_in_time_is_put_right_and_arrives() {
    // At once, and after a time in which the owner takes its file for settled.
    for wait in [Duration::ZERO, Duration::from_millis(3_100)] {
        let mut all = two();
        all.one.note("first");
        all.one.meet();
        std::thread::sleep(wait);
        all.one.meet();
        bend_unseen(&all.shown());
        for _ in 0..2 {
            let round = all.other.meet();
            assert!(round.pulled.is_empty(), "nothing bent is taken");
        }
        all.one.meet();
        let own = bytes(&journal_path(&all.one.root, all.job, all.one.id()));
        assert_eq!(bytes(&all.shown()), own, "put right after {wait:?}");
        assert_eq!(all.other.meet().pulled, [all.job], "after {wait:?}");
        assert_eq!(bytes(&all.copy()), own);
    }
}

#[test]
fn lines_that_somebody_adds_in_another_tablets_name_are_found_out() {
    let mut all = two();
    // The forger has all that lies in the shop folder, and no tablet's key.
    let lair = scratch();
    fs::create_dir_all(job_path(lair.path(), all.job)).unwrap();
    let theirs = journal_path(lair.path(), all.job, all.one.id());
    fs::copy(all.shown(), &theirs).unwrap();
    let mut writer = Writer::open(lair.path(), all.job, all.one.id())
        .unwrap()
        .writer;
    let sign = Event::TakenOver {
        by: SignOff {
            person: all.other.person.clone(),
            entering: Uuid::from_u128(3),
            proof: None,
        },
    };
    let entry = Entry {
        id: Uuid::now_v7(),
        tablet: all.one.id(),
        at_ms: 1_796_000_900_000,
        offset_min: 0,
        clock: (1_796_000_900_000, 0),
        after: None,
        paper: None,
        who: all.one.person.clone(),
        event: sign,
    };
    writer.append(std::slice::from_ref(&entry)).unwrap();
    fs::copy(&theirs, all.shown()).unwrap();
    let round = all.other.meet();
    assert!(
        round.pulled.is_empty(),
        "a signature counts only with the tablet's own"
    );
    let open = all.other.store.open_job(all.job).unwrap();
    assert!(!open.state().knows(entry.id));
    let round = all.one.meet();
    assert!(
        round.file_faults[0]
            .why
            .to_string()
            .contains("more than this tablet wrote")
    );
    // Sealed with a key of the forger's own it is no better.
    let key = Tablet::new(&lair.path().join("forger"), &all.shop, "Eve");
    let seal = Event::Sealed(Box::new(key.store.tablet().seal(writer.link())));
    let sealed = Entry {
        id: Uuid::now_v7(),
        clock: (1_796_000_900_001, 0),
        event: seal,
        ..entry.clone()
    };
    writer.append(&[sealed]).unwrap();
    fs::copy(&theirs, all.shown()).unwrap();
    let round = all.other.meet();
    assert!(round.pulled.is_empty());
    assert!(
        round.file_faults[0].why.to_string().contains("another key"),
        "{:?}",
        round.file_faults
    );
    assert_eq!(round.key_conflicts.len(), 1, "the foreman is shown it");
    assert_eq!(round.key_conflicts[0].tablet, all.one.id());
    let open = all.other.store.open_job(all.job).unwrap();
    assert!(!open.state().knows(entry.id));
}

#[test]
fn a_changed_key_waits_for_the_foreman() {
    let mut all = two();
    let card = all.shop.join(format!("tablets/{}.json", all.one.id()));
    let pinned = all.one.store.tablet().public_key();
    // The first tablet's identity with a new key, as after a copied folder.
    fs::write(all.one.root.join("tablet.key"), "11".repeat(32)).unwrap();
    let text = fs::read_to_string(all.one.root.join("tablet.json")).unwrap();
    let key = public_key_of(0x11);
    fs::write(
        all.one.root.join("tablet.json"),
        text.replace(&pinned, &key),
    )
    .unwrap();
    let before = bytes(&card);
    all.one.restart();
    all.one.meet();
    assert_ne!(bytes(&card), before);
    let round = all.other.meet();
    let conflict = &round.key_conflicts[0];
    assert_eq!((&conflict.pinned, &conflict.shown), (&pinned, &key));
    all.other.exchange.accept_key(all.one.id(), &pinned);
    let round = all.other.meet();
    assert_eq!(
        round.key_conflicts.len(),
        1,
        "only the key that is shown now"
    );
    all.other.exchange.accept_key(all.one.id(), &key);
    let round = all.other.meet();
    assert_eq!(round.key_conflicts, []);
    all.other.restart();
    assert_eq!(all.other.meet().key_conflicts, [], "and stays accepted");
}

/// The public key of the secret that repeats one byte.
pub fn public_key_of(byte: u8) -> String {
    let key = SigningKey::from_bytes(&[byte; 32]);
    seal_over(Link::BEFORE_ALL, &key).key
}

#[test]
fn an_empty_mount_point_is_not_taken_for_the_shop_folder() {
    let mut all = two();
    let away = all.shop.with_extension("away");
    fs::rename(&all.shop, &away).unwrap();
    all.one.note("meanwhile");
    let round = all.one.exchange.round();
    assert!(matches!(round.fault, Some(ShopFault::Vanished { .. })));
    assert!(round.behind_bytes > 0);
    fs::create_dir(&all.shop).unwrap();
    let round = all.one.exchange.round();
    assert!(matches!(
        round.fault,
        Some(ShopFault::NotTheShopFolder { .. })
    ));
    assert_eq!(
        fs::read_dir(&all.shop).unwrap().count(),
        0,
        "nothing is written"
    );
    fs::remove_dir(&all.shop).unwrap();
    fs::rename(&away, &all.shop).unwrap();
    assert_eq!(all.one.meet().behind_bytes, 0);
    all.other.meet();
    assert_eq!(bytes(&all.copy()), bytes(&all.shown()));
}

/// Waits for something that a thread does.
pub fn wait_for(what: &str, mut is_so: impl FnMut() -> bool) {
    let until = Instant::now() + Duration::from_secs(20);
    while !is_so() {
        assert!(Instant::now() < until, "waited in vain: {what}");
        std::thread::sleep(Duration::from_millis(5));
    }
}

pub const QUICK: ExchangePace = ExchangePace {
    poll: Duration::from_millis(20),
    retry_least: Duration::from_millis(20),
    retry_most: Duration::from_millis(40),
};

pub fn start(tablet: &Tablet) -> SharedShop {
    SharedShop::start(
        &tablet.store,
        Some(&tablet.shop),
        shared_clock(),
        QUICK,
        Box::new(|| {}),
    )
}

#[test]
fn the_threads_carry_a_tap_to_the_other_tablets_board() {
    let mut all = two();
    let (here, there) = (start(&all.one), start(&all.other));
    wait_for("first board", || !there.cards().is_empty());
    all.one.note("a tap");
    here.tapped(all.job);
    assert!(here.flush(Duration::from_secs(10)));
    wait_for("news", || there.take_news().contains(&News::Lines(all.job)));
    let shown = all.one.open.as_ref().unwrap().state().last_ms();
    wait_for("the board", || {
        there
            .cards()
            .iter()
            .any(|card| card.summary.last_ms == shown)
    });
    let card = there.cards()[0].clone();
    assert_eq!((card.job, card.summary.bay.as_str()), (all.job, "Bay 1"));
    assert!(card.to_go.is_some() || there.cards()[0].to_go.is_some());
    assert_eq!(there.status().stale_since_ms(i64::MAX), None);
}

#[test]
fn a_folder_that_vanishes_is_said_and_caught_up_by_itself() {
    let mut all = two();
    let here = start(&all.one);
    assert!(here.flush(Duration::from_secs(10)));
    let away = all.shop.with_extension("away");
    fs::rename(&all.shop, &away).unwrap();
    all.one.note("meanwhile");
    here.tapped(all.job);
    wait_for("the fault", || here.status().fault.is_some());
    let status = here.status();
    assert!(status.fault.unwrap().to_string().contains("is not there"));
    assert!(here.status().stale_since_ms(i64::MAX).is_some());
    fs::rename(&away, &all.shop).unwrap();
    wait_for("catching up", || {
        let status = here.status();
        status.fault.is_none() && status.behind_bytes == 0
    });
    assert_eq!(
        bytes(&all.shown()),
        bytes(&journal_path(&all.one.root, all.job, all.one.id()))
    );
}

/// A small file system of its own in memory, unmounted at the end.
pub struct Small(PathBuf);

impl Small {
    /// Mounts one; `None` where this user may not, which the test then says.
    pub fn mount(at: &Path, kib: u32) -> Option<Self> {
        fs::create_dir_all(at).unwrap();
        let done = Command::new("mount")
            .args(["-t", "tmpfs", "-o", &format!("size={kib}k"), "tmpfs"])
            .arg(at)
            .output();
        match done {
            Ok(out) if out.status.success() => Some(Self(at.to_owned())),
            _ => None,
        }
    }

    pub fn remount(&self, option: &str) {
        let option = format!("remount,{option}");
        let status = Command::new("mount")
            .args(["-o", &option])
            .arg(&self.0)
            .status();
        assert!(status.unwrap().success(), "{option}");
    }
}

impl Drop for Small {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(&self.0).status();
    }
}

#[test]
fn a_folder_that_runs_full_turns_read_only_and_vanishes_holds_up_no_tap() {
    let scratch = scratch();
    let shop = scratch.path().join("shop");
    let Some(small) = Small::mount(&shop, 64) else {
        println!("NOT RUN: this user may not mount a small file system");
        return;
    };
    let mut one = Tablet::new(&scratch.path().join("one"), &shop, "Ada");
    let job = one.create("inline-4-8v", "Bay 1");
    let here = start(&one);
    assert!(here.flush(Duration::from_secs(10)));
    let own = journal_path(&one.root, job, one.id());
    let there = journal_path(&shop, job, one.id());
    // Runs full: taps go on, the copy may end anywhere.
    while fs::metadata(&own).unwrap().len() < 120 << 10 {
        one.note(&"full ".repeat(300));
        here.tapped(job);
    }
    wait_for("no space", || {
        matches!(here.status().fault, Some(ShopFault::Full { .. }))
    });
    assert!(here.status().behind_bytes > 0);
    // Turns read-only, with room again: still nothing but a word on the screen.
    small.remount("size=4m");
    wait_for("room again", || here.status().fault.is_none());
    assert_eq!(bytes(&own), bytes(&there), "caught up by itself");
    small.remount("ro");
    one.note("while read-only");
    here.tapped(job);
    wait_for("read-only", || {
        matches!(here.status().fault, Some(ShopFault::ReadOnly { .. }))
    });
    small.remount("rw");
    wait_for("writable again", || here.status().fault.is_none());
    assert_eq!(bytes(&own), bytes(&there));
    // Vanishes: an empty mount point is left behind.
    drop(small);
    one.note("while away");
    here.tapped(job);
    wait_for("gone", || {
        matches!(
            here.status().fault,
            Some(ShopFault::NotTheShopFolder { .. })
        )
    });
    assert_eq!(fs::read_dir(&shop).unwrap().count(), 0);
    let shown = one.open.as_ref().unwrap().state().clone();
    one.restart();
    assert_eq!(
        *one.open.as_ref().unwrap().state(),
        shown,
        "nothing is lost"
    );
}
