//! A bucket in place of the shop folder: what it costs, what it may be like, and what becomes
//! of jobs that are over.

use std::fs;
use std::path::{Path, PathBuf};

use tempfile::TempDir;
use trayzero::data::shared_layouts::{keep, library_of};
use trayzero::data::store::{Clock, FinishedJobs};
use trayzero::shop::{Board, BucketFault, Round, ShopFault, Surroundings, Visit};
use trayzero::ui::words::{DE, EN};
use trayzero_core::journal::{Limits, journal_path};
use trayzero_core::shop_log::Proofs;
use trayzero_tests::figures::say;
use trayzero_tests::object_server::{Asked, KEY, ObjectServer, Trouble};
use uuid::Uuid;

use super::converge::{tap, technician};
use super::parts::{Dice, Tablet, layout, meet_all, scratch};

/// Tablets that share a bucket.
struct Bays {
    server: ObjectServer,
    scratch: TempDir,
    place: PathBuf,
}

impl Bays {
    fn new() -> Self {
        let server = ObjectServer::start();
        Self {
            place: server.place("north/hall-2"),
            server,
            scratch: scratch(),
        }
    }

    fn tablet(&self, name: &str) -> Tablet {
        self.tablet_with(name, &self.server.surroundings())
    }

    fn tablet_with(&self, name: &str, around: &Surroundings) -> Tablet {
        Tablet::within(&self.scratch.path().join(name), &self.place, name, around)
    }

    fn asked_by(&self, work: impl FnOnce()) -> Asked {
        let before = self.server.asked();
        work();
        self.server.asked() - before
    }

    fn names(&self, of: &str) -> Vec<String> {
        self.server.objects(|objects| {
            let names = objects.keys().filter(|name| name.contains(of));
            names.cloned().collect()
        })
    }
}

/// The lines of a tablet's journal, as they lie in a data folder.
fn lines(root: &Path, job: Uuid, tablet: Uuid) -> Vec<u8> {
    fs::read(journal_path(root, job, tablet)).unwrap_or_default()
}

/// Taps a whole job through; gives how many events were acknowledged.
fn work_through(tablet: &mut Tablet) -> usize {
    let mut signs = technician(&tablet.person, 9);
    let mut taps = 0;
    loop {
        let events = signs.tap(tablet.open.as_ref().unwrap().state(), None);
        if events.is_empty() {
            return taps;
        }
        let now = tablet.clock.advance(20_000);
        let open = tablet.open.as_mut().unwrap();
        open.propose(now, &tablet.person, &events).unwrap();
        taps += events.len();
    }
}

/// The job was found to be over, as a look at the bays finds it.
fn note_finished(tablet: &Tablet) {
    tablet.store.jobs().unwrap();
    assert_eq!(
        FinishedJobs::read(&tablet.root).count(),
        1,
        "the job is over"
    );
}

#[test]
fn a_tap_is_two_requests_a_look_is_one_and_what_is_over_costs_nothing() {
    let bays = Bays::new();
    let (mut ada, mut ben) = (bays.tablet("Ada"), bays.tablet("Ben"));
    let job = ada.create("inline-4-8v", "Bay 1");
    for _ in 0..3 {
        ada.meet();
        ben.meet();
    }
    let idle = bays.asked_by(|| drop(ben.meet()));
    assert_eq!((idle.lists, idle.gets, idle.puts), (1, 0, 0), "{idle:?}");
    ada.note("a tap");
    let tapped = bays.asked_by(|| drop(ada.meet()));
    assert_eq!(
        (tapped.puts, tapped.gets, tapped.deletes),
        (2, 0, 0),
        "{tapped:?}"
    );
    let seen = bays.asked_by(|| drop(ben.meet()));
    assert_eq!((seen.lists, seen.gets, seen.puts), (1, 2, 0), "{seen:?}");
    let all = lines(&ada.root, job, ada.id());
    assert!(lines(&ben.root, job, ada.id()) == all);
    // A whole job, a round after each tap: what a bay costs in its days.
    let mut signs = technician(&ada.person, 9);
    let mut dice = Dice(7);
    let mut taps = 0;
    let worked = bays.asked_by(|| {
        for _ in 0..120 {
            taps += tap(&mut ada, &mut signs, &mut dice).min(1) as u64;
            ada.meet();
        }
    });
    assert!(taps > 80);
    // Every eighth piece or so all become one, in the very request that was due.
    assert!(worked.puts <= 2 * taps + 2, "{worked:?} for {taps} taps");
    println!(
        "bucket: a look {} B, a tap {} B up, seen by one tablet {} B; {taps} taps: {worked:?}",
        idle.bytes_down, tapped.bytes_up, seen.bytes_down
    );
    say("requests of a tap to a bucket", tapped.puts);
    say("bytes of a tap to a bucket", worked.bytes_up / taps);
    say(
        "requests of a quiet look at a bucket",
        idle.lists + idle.gets,
    );
}

#[test]
fn a_job_that_is_over_becomes_one_piece_is_not_listed_again_and_can_go_on() {
    let bays = Bays::new();
    let mut ada = bays.tablet("Ada");
    let job = ada.create("inline-3-12v", "Bay 1");
    ada.meet();
    let taps = work_through(&mut ada);
    assert!(taps > 100);
    ada.meet();
    ada.open = None;
    let head = bays.names("/heads/");
    assert_eq!(head.len(), 1);
    let size = |name: &str| bays.server.objects(|objects| objects[name].len());
    note_finished(&ada);
    ada.meet();
    let pieces = bays.names(&format!("lines/{job}/"));
    assert_eq!(pieces.len(), 1, "{pieces:?}");
    assert!(size(&head[0]) < 100, "the head no longer tells of it");
    assert_eq!(bays.names("/past/").len(), 1);
    // Whoever comes later gets it whole, and does not ask for it again.
    let mut ben = bays.tablet("Ben");
    ben.meet();
    ben.meet();
    let all = lines(&ada.root, job, ada.id());
    assert!(lines(&ben.root, job, ada.id()) == all);
    let quiet = bays.asked_by(|| drop(ben.meet()));
    assert_eq!((quiet.lists, quiet.gets), (1, 0));
    // It goes on, on the tablet that closed it and after a restart.
    ada.restart();
    ada.open = Some(ada.store.open_job(job).unwrap());
    ada.note("it came back");
    ada.meet();
    ben.meet();
    let longer = lines(&ada.root, job, ada.id());
    assert!(longer.len() > all.len());
    assert!(lines(&ben.root, job, ada.id()) == longer);
    let mut cleo = bays.tablet("Cleo");
    cleo.meet();
    cleo.meet();
    assert!(lines(&cleo.root, job, ada.id()) == longer);
}

/// A sentence for the fault of a round, in both languages, with nothing in it that is secret.
fn said(round: &Round) -> [String; 2] {
    let fault = round.fault.as_ref().expect("a fault");
    let said = [EN.shop_fault(fault), DE.shop_fault(fault)];
    for text in &said {
        assert!(text.contains("s3://bays/north/hall-2"), "{text}");
        assert!(
            !text.contains("Signature") && !text.contains("127.0.0.1"),
            "{text}"
        );
    }
    assert_ne!(said[0], said[1]);
    said
}

#[test]
fn whatever_the_bucket_is_like_one_sentence_says_it_work_goes_on_and_all_is_caught_up() {
    let troubles = [
        (Trouble::Silent, "does not answer"),
        (Trouble::Busy, "answers that it cannot now"),
        (Trouble::Half, "break off"),
        (Trouble::Full, "is full"),
        (Trouble::ClockAhead(3_600), "60 min behind"),
        (Trouble::ClockAhead(-3_600), "60 min ahead"),
    ];
    let bays = Bays::new();
    let (mut ada, mut ben) = (bays.tablet("Ada"), bays.tablet("Ben"));
    let job = ada.create("inline-4-8v", "Bay 1");
    ada.meet();
    ben.meet();
    for (trouble, sentence) in troubles {
        bays.server.set(trouble);
        ada.note("taken all the same");
        let round = ada.exchange.round();
        let [english, _] = said(&round);
        assert!(english.contains(sentence), "{trouble:?}: {english}");
        assert!(
            round.behind_bytes > 0,
            "{trouble:?}: it is not there, and that is said"
        );
        bays.server.set(Trouble::Well);
        let round = ada.exchange.round();
        assert_eq!((round.fault, round.behind_bytes), (None, 0), "{trouble:?}");
        ben.meet();
        let all = lines(&ada.root, job, ada.id());
        assert!(lines(&ben.root, job, ada.id()) == all, "{trouble:?}");
    }
    // Every other request goes wrong: some rounds say so, and in the end all is there.
    bays.server.set(Trouble::HalfBusy);
    for _ in 0..20 {
        ada.note("again and again");
        ada.exchange.round();
        ben.exchange.round();
    }
    bays.server.set(Trouble::Well);
    for _ in 0..2 {
        ada.meet();
        ben.meet();
    }
    let all = lines(&ada.root, job, ada.id());
    assert!(lines(&ben.root, job, ada.id()) == all);
    // A server that knows no conditions serves as well.
    bays.server.set(Trouble::NoConditions);
    ada.note("without conditions");
    ada.meet();
    ben.meet();
    let all = lines(&ada.root, job, ada.id());
    assert!(lines(&ben.root, job, ada.id()) == all);
}

#[test]
fn a_key_that_is_wrong_or_missing_is_said_and_nothing_secret_is_kept_or_told() {
    let bays = Bays::new();
    let wrong = bays.server.surroundings_with("somebody else");
    let mut ada = bays.tablet_with("Ada", &wrong);
    ada.create("inline-4-8v", "Bay 1");
    let [english, _] = said(&ada.exchange.round());
    assert!(
        english.contains("says no to this tablet's keys"),
        "{english}"
    );
    let fault_of = |place: &str, around: &Surroundings| {
        let root = bays.scratch.path().join("x");
        let mut tablet = Tablet::within(&root, Path::new(place), "X", around);
        match tablet.exchange.round().fault {
            Some(ShopFault::Bucket { why, .. }) => why,
            other => panic!("{other:?}"),
        }
    };
    let right = bays.server.surroundings();
    let none = Surroundings::default();
    let mut keyless = bays.server.variables(KEY);
    keyless.remove("AWS_ACCESS_KEY_ID");
    let keyless = Surroundings::new(keyless, None);
    for (place, around, why) in [
        ("s3://bays/north", &none, BucketFault::NoEndpoint),
        ("s3://bays/north", &keyless, BucketFault::NoKeys),
        ("s3://bays/../north", &right, BucketFault::BadAddress),
        ("s3://other/north", &right, BucketFault::NoBucket),
    ] {
        assert_eq!(fault_of(place, around), why, "{place}");
    }
    // The right keys again: everything is brought.
    let mut ada = bays.tablet("Ada");
    ada.meet();
    assert_eq!(bays.names("/lines/").len(), 1);
    let mut files = vec![bays.scratch.path().to_owned()];
    let mut looked_at = 0;
    while let Some(path) = files.pop() {
        if path.is_dir() {
            let names = fs::read_dir(&path).unwrap();
            files.extend(names.map(|name| name.unwrap().path()));
            continue;
        }
        let bytes = fs::read(&path).unwrap();
        let has = |text: &str| {
            bytes
                .windows(text.len())
                .any(|part| part == text.as_bytes())
        };
        assert!(!has("not looked at") && !has("X-Amz"), "{}", path.display());
        looked_at += 1;
    }
    assert!(looked_at > 8);
    assert!(!format!("{:?}", ada.exchange).contains("not looked at"));
}

#[test]
fn what_is_no_object_of_a_shop_is_left_alone_and_named() {
    let bays = Bays::new();
    let mut ada = bays.tablet("Ada");
    let job = ada.create("inline-4-8v", "Bay 1");
    ada.meet();
    let rubbish = [
        "now/holiday.jpg",
        "now/heads/x.json",
        "now/tablets/../../../x.json",
    ];
    bays.server.objects(|objects| {
        for name in rubbish {
            objects.insert(format!("north/hall-2/{name}"), b"rubbish".to_vec());
        }
        // Nobody looks at other folders of the prefix, nor at other prefixes.
        objects.insert("north/hall-2/else/x".to_owned(), b"rubbish".to_vec());
        objects.insert(
            "north/hall-20/now/shop.json".to_owned(),
            b"rubbish".to_vec(),
        );
    });
    let round = ada.meet();
    assert_eq!(
        round.left_alone.len(),
        rubbish.len(),
        "{:?}",
        round.left_alone
    );
    assert!(!bays.scratch.path().join("x.json").exists());
    bays.server.objects(|objects| {
        let there = |name: &str| objects.contains_key(&format!("north/hall-2/{name}"));
        assert!(rubbish.into_iter().all(there));
    });
    // A page for browsers goes there, under a name of its own.
    fs::write(ada.exchange.folder().join("board.html"), "<p>").unwrap();
    ada.meet();
    assert_eq!(bays.names("board.html"), ["north/hall-2/board.html"]);
    // An emptied bucket is filled again.
    bays.server.objects(std::collections::BTreeMap::clear);
    ada.meet();
    ada.meet();
    let mut ben = bays.tablet("Ben");
    ben.meet();
    ben.meet();
    let all = lines(&ada.root, job, ada.id());
    assert!(lines(&ben.root, job, ada.id()) == all);
}

#[test]
fn a_shop_in_a_bucket_is_seen_from_outside_and_nothing_is_written_there() {
    let bays = Bays::new();
    let mut ada = bays.tablet("Ada");
    let job = ada.create("inline-4-8v", "Bay 1");
    ada.meet();
    let cache = bays.scratch.path().join("cache");
    let mut visit = Visit::within(&bays.place, None, &cache, &bays.server.surroundings());
    let looked = bays.asked_by(|| visit.look().unwrap());
    assert_eq!((looked.puts, looked.deletes), (0, 0));
    let board = Board::of_folder(visit.folder(), Limits::FOREIGN, Proofs::default()).unwrap();
    assert!(board.state(job).is_some());
    bays.server.set(Trouble::Silent);
    let fault = visit.look().unwrap_err();
    assert!(EN.shop_fault(&fault).contains("does not answer"));
    // What was seen can still be read.
    assert!(Board::of_folder(visit.folder(), Limits::FOREIGN, Proofs::default()).is_ok());
}

#[test]
fn layouts_travel_through_a_bucket_as_through_a_folder() {
    let bays = Bays::new();
    let (mut one, mut two) = (bays.tablet("one"), bays.tablet("two"));
    meet_all(std::slice::from_mut(&mut one));
    meet_all(std::slice::from_mut(&mut two));
    let mut pump = layout("inline-4-8v");
    "Yard pump".clone_into(&mut pump.name);
    let folder = one.store.layouts_folder();
    let kept = (one.store.tablet(), one.clock.now());
    let name = keep(&folder, &pump, ("Mira", Vec::new()), (kept.0, kept.1)).unwrap();
    meet_all(std::slice::from_mut(&mut one));
    assert_eq!(
        bays.names("layouts"),
        [format!("north/hall-2/now/layouts/{name}.json")]
    );
    meet_all(std::slice::from_mut(&mut two));
    let library = library_of(&two.store.layouts_folder(), two.store.tablet().id());
    assert_eq!(library.entries[0].layout, pump);
    assert_eq!(library.entries[0].made.as_ref().unwrap().who, "Mira");
}
