//! The board: what it shows, in which order, and that an update is as small as its cause.

use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use serde_json::Value;
use trayzero::cli;
use trayzero::data::store::Stamp;
use trayzero::shop::{Block, Board, BoardFilter, Looking, Need, Tile, in_order};
use trayzero::ui::words::Language;
use trayzero_core::job::{Entry, Event, JobState, Person, Reading, SearchPlace, SignOff, Stage};
use trayzero_core::journal::{Hlc, Limits, Writer, event_id};
use trayzero_core::parts::{Item, Place};
use trayzero_core::shop_log::Proofs;
use trayzero_tests::yard::looking;
use uuid::Uuid;

use super::converge::technician;
use super::parts::{START, opening, scratch};

const TABLET: Uuid = Uuid::from_u128(0xB0A2D);
const MINUTE_MS: i64 = 60_000;

/// Writes jobs straight into a folder, as some tablet did.
struct Bench {
    state: JobState,
    entries: Vec<Entry>,
    at_ms: i64,
}

impl Bench {
    fn new(bay: &str) -> Self {
        Self::of("inline-4-8v", bay)
    }

    fn of(layout: &str, bay: &str) -> Self {
        let mut bench = Self {
            state: JobState::new(),
            entries: Vec::new(),
            at_ms: START.at_ms,
        };
        let opening = opening(layout, bay, &Person::new("Ada"));
        bench.tap(0, Event::JobOpened(Box::new(opening)));
        bench
    }

    fn tap(&mut self, after_min: i64, event: Event) -> Uuid {
        self.at_ms += after_min * MINUTE_MS + 1;
        let number = self.entries.len() as u64;
        let mut chance = [0; 10];
        chance[2..].copy_from_slice(&number.to_be_bytes());
        let last = self
            .entries
            .last()
            .map_or(Hlc::default(), |e| e.clock.into());
        let entry = Entry {
            id: event_id(self.at_ms, &chance),
            tablet: TABLET,
            at_ms: self.at_ms,
            offset_min: 60,
            clock: last.tick(self.at_ms).pair(),
            after: None,
            paper: None,
            who: Person::new("Ada"),
            event,
        };
        self.state.apply(&entry).unwrap();
        self.entries.push(entry);
        self.entries[self.entries.len() - 1].id
    }

    /// Plays on by the script for as long as `goes_on` says.
    fn play(&mut self, goes_on: impl Fn(&JobState) -> bool) {
        let mut script = technician(&Person::new("Ada"), 9);
        while goes_on(&self.state) {
            let events = script.tap(&self.state, None);
            assert!(!events.is_empty(), "the script has an answer to every step");
            for event in events {
                self.tap(0, event);
            }
            self.at_ms += MINUTE_MS / 2;
        }
    }

    fn write(&self, root: &Path, job: u128) -> Uuid {
        let job = Uuid::from_u128(job);
        let mut writer = Writer::open(root, job, TABLET).unwrap().writer;
        for part in self.entries.chunks(500) {
            writer.append(part).unwrap();
        }
        job
    }
}

fn signed(person: &str, entering: u128) -> SignOff {
    SignOff {
        person: Person::new(person),
        entering: Uuid::from_u128(entering),
        proof: None,
    }
}

/// Five bays, each with something else the matter. The latest tap is at `now`.
fn shop_of_bays(root: &Path) -> i64 {
    let mut rests = Bench::new("rests");
    rests.tap(
        1,
        Event::Paused {
            why: "lunch".into(),
        },
    );
    let mut air = Bench::new("air");
    air.play(|state| state.air_on().is_none());
    let mut adrift = Bench::new("adrift");
    adrift.play(|state| state.loose() == 0);
    let item = adrift
        .state
        .ledger()
        .accounts()
        .find(|(_, account)| account.at(Place::Tray) > 0)
        .unwrap()
        .0;
    let dropped = Event::PartDropped {
        item,
        count: 1,
        from: Place::Tray,
        bank: None,
        valve: None,
    };
    adrift.tap(1, dropped);
    let mut leaks = Bench::new("leaks");
    leaks.tap(
        1,
        Event::LeakRead {
            cylinder: 2,
            when: Reading::Before,
            supply_bar: 6.0,
            cylinder_bar: 3.0,
            heard: Vec::new(),
        },
    );
    let mut works = Bench::new("works");
    works.play(|state| state.verified_count() < 5);
    let mut quiet = Bench::new("quiet");
    quiet.play(|state| state.verified_count() < 1);
    let now = [&rests, &air, &adrift, &leaks, &works]
        .iter()
        .map(|bench| bench.at_ms)
        .max()
        .unwrap()
        + 60 * MINUTE_MS;
    // All but the quiet and the air bay have just been at work.
    for (bench, at) in [
        (&mut rests, 1),
        (&mut adrift, 2),
        (&mut leaks, 3),
        (&mut works, 4),
    ] {
        bench.at_ms = now - at * MINUTE_MS;
        bench.tap(
            0,
            Event::Noted {
                text: "here".into(),
            },
        );
    }
    let benches = [works, rests, quiet, leaks, adrift, air];
    for (bench, job) in benches.iter().zip(1..) {
        bench.write(root, job);
    }
    now
}

#[test]
fn who_needs_the_foreman_most_comes_first_with_the_reason() {
    let root = scratch();
    let now = shop_of_bays(root.path());
    let mut board = Board::of_folder(root.path(), Limits::OWN, Proofs::default()).unwrap();
    board.work_out_to_go();
    let placed = in_order(&board.cards(), BoardFilter::UnderWay, now, 10);
    let order: Vec<(&str, Need)> = placed
        .iter()
        .map(|p| (p.card.summary.bay.as_str(), p.need))
        .collect();
    assert_eq!(
        order,
        [
            ("air", Need::AirForgotten),
            ("adrift", Need::Adrift),
            ("leaks", Need::ForemanWanted),
            ("quiet", Need::Quiet),
            ("rests", Need::Paused),
            ("works", Need::Working),
        ]
    );
    let air = &placed[0].card;
    assert_eq!(air.summary.air.unwrap().cylinder, air.stages[0].0.cylinder);
    assert!(now - air.summary.air.unwrap().since_ms >= 60 * MINUTE_MS);
    let adrift = &placed[1].card;
    assert!(matches!(
        adrift.blocks[..],
        [Block::Adrift { count: 1, .. }]
    ));
    assert_eq!(adrift.summary.adrift, 1);
    let works = &placed[5].card;
    assert_eq!((works.summary.verified, works.summary.valves), (5, 8));
    let to_go = works.to_go.unwrap();
    assert!(to_go.low_min <= to_go.about_min && to_go.about_min > 0.0);
    assert!(to_go.high_min >= to_go.about_min);
    assert!(to_go.footing.is_rough(), "the shop has finished no job");
    let shown = |filter| in_order(&board.cards(), filter, now, 10).len();
    assert_eq!(
        shown(BoardFilter::AirOn),
        placed
            .iter()
            .filter(|p| p.card.summary.air.is_some())
            .count()
    );
    assert_eq!((shown(BoardFilter::Over), shown(BoardFilter::All)), (0, 6));
}

/// No clock runs towards the end of a bay that waits for parts, and the wall says why.
#[test]
fn a_bay_that_rests_shows_why_and_no_end_as_if_work_went_on() {
    let root = scratch();
    let now_ms = shop_of_bays(root.path());
    let mut board = Board::of_folder(root.path(), Limits::OWN, Proofs::default()).unwrap();
    board.work_out_to_go();
    let placed = in_order(&board.cards(), BoardFilter::UnderWay, now_ms, 10);
    let rests = placed.iter().find(|p| p.need == Need::Paused).unwrap();
    let looking = Looking {
        now_ms,
        ..looking()
    };
    let tile = Tile::of(rests, &looking);
    let face = |with_names| Language::English.words().tile(&tile, &looking, with_names);
    let end = face(true).end.unwrap();
    assert_eq!(end.time, "rests");
    assert!(
        end.range.starts_with("if it goes on now: "),
        "{}",
        end.range
    );
    assert!(face(true).why.ends_with(": lunch"), "{}", face(true).why);
    let why = face(false).why;
    assert!(
        why.starts_with("Work rests since ") && !why.contains("lunch"),
        "{why}"
    );
}

#[test]
fn blind_counts_that_differ_and_conflicts_are_seen_from_the_board() {
    let root = scratch();
    let mut bench = Bench::new("counts");
    bench.play(|state| state.verified_count() < 8 || state.round_counts().is_empty());
    let mut lines = match &bench.entries.last().unwrap().event {
        Event::BlindCount { lines, .. } => lines.clone(),
        other => panic!("the script has counted: {other:?}"),
    };
    lines[0].count += 1;
    let by = signed("Noor", 77);
    bench.tap(1, Event::BlindCount { by, lines });
    let job = bench.write(root.path(), 1);
    let board = Board::of_folder(root.path(), Limits::OWN, Proofs::default()).unwrap();
    let card = board.card(job).unwrap();
    let since_ms = bench.at_ms;
    assert_eq!(card.blocks, [Block::CountsDiffer { since_ms }]);
    assert_eq!(card.need(bench.at_ms, 10), Need::CountsDiffer);
    // Another tablet found a part that was never dropped, as far as this one knows.
    let other = Uuid::from_u128(5);
    let last = bench.entries.last().unwrap();
    let found = Entry {
        id: event_id(last.at_ms + 1, &[9; 10]),
        tablet: other,
        at_ms: last.at_ms + 1,
        offset_min: 60,
        clock: Hlc::from(last.clock).tick(last.at_ms + 1).pair(),
        after: None,
        paper: None,
        who: Person::new("Ben"),
        event: Event::PartFound {
            dropped: Uuid::from_u128(4),
            found_at: SearchPlace::Sump,
            to: Place::Tray,
        },
    };
    let mut writer = Writer::open(root.path(), job, other).unwrap().writer;
    writer.append(&[found]).unwrap();
    let mut board = board;
    assert_eq!(board.read_on().unwrap(), [job]);
    let card = board.card(job).unwrap();
    let conflict = Block::Conflicts {
        count: 1,
        since_ms: since_ms + 1,
    };
    assert_eq!(card.blocks[0], conflict);
    assert_eq!(card.need(bench.at_ms, 10), Need::Conflict);
    assert_eq!(card.tablets, [other, TABLET]);
}

#[test]
fn a_conflict_names_what_the_other_tablet_did_to_the_same_valve() {
    let root = scratch();
    let mut bench = Bench::new("both");
    bench.play(|state| state.unlocked().next().is_none());
    let valve = bench.state.unlocked().next().unwrap();
    let stage = Stage::LocksOut;
    let seen = bench.entries.iter().rev().find(|e| {
        matches!(e.event, Event::StageSeen { valve: v, stage: s, .. } if (v, s) == (valve, stage))
    });
    let seen = seen.unwrap().id;
    // A later event about the same kind of part, which has nothing to do with it.
    let dropped = Event::PartDropped {
        item: Item::Lock,
        count: 1,
        from: Place::Tray,
        bank: None,
        valve: None,
    };
    bench.tap(1, dropped);
    let last = bench.entries.last().unwrap();
    let again = Entry {
        id: event_id(last.at_ms + 1, &[7; 10]),
        tablet: Uuid::from_u128(5),
        at_ms: last.at_ms + 1,
        clock: Hlc::from(last.clock).tick(last.at_ms + 1).pair(),
        who: Person::new("Ben"),
        event: Event::StageSeen {
            valve,
            stage,
            locks_dropped: 0,
            seals_spoiled: 0,
        },
        ..last.clone()
    };
    let job = bench.write(root.path(), 1);
    let mut writer = Writer::open(root.path(), job, again.tablet).unwrap().writer;
    writer.append(std::slice::from_ref(&again)).unwrap();
    let board = Board::of_folder(root.path(), Limits::OWN, Proofs::default()).unwrap();
    let conflicts = board.state(job).unwrap().conflicts();
    assert_eq!(conflicts.len(), 1);
    assert_eq!(conflicts[0].entry.id, again.id);
    assert_eq!(conflicts[0].against, Some(seen));
}

#[test]
fn the_command_line_shows_the_same_board_and_names_what_does_not_hold() {
    let root = scratch();
    let now = shop_of_bays(root.path());
    fs::write(root.path().join("jobs/rubbish.txt"), "x").unwrap();
    let faulty = Bench::new("faulty").write(root.path(), 99);
    let path = trayzero_core::journal::journal_path(root.path(), faulty, TABLET);
    let mut text = fs::read_to_string(&path).unwrap();
    text.push_str("rubbish\n");
    fs::write(&path, text).unwrap();
    // The folder is this tablet's own; of anybody else's lines nothing would be shown.
    let card = format!(
        r#"{{"format":1,"tablet":"{TABLET}","name":"one","public_key":"{}"}}"#,
        "00".repeat(32)
    );
    fs::write(root.path().join("tablet.json"), card).unwrap();
    let folder = root.path().to_str().unwrap();
    let run = |args: &[&str]| {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let code = cli::run(args, &mut out, &mut err);
        let text = |bytes| String::from_utf8(bytes).unwrap();
        (code, text(out), text(err))
    };
    let args = cli::board::BoardArgs {
        json: true,
        ..cli::board::BoardArgs::of(root.path())
    };
    let at = Stamp {
        at_ms: now,
        ..START
    };
    let mut out = Vec::new();
    let outcome = cli::board::run_at(&args, at, &mut out).unwrap();
    let err = outcome.notes.join("\n");
    let answer: Value = serde_json::from_slice(&out).unwrap();
    let jobs = answer["jobs"].as_array().unwrap();
    assert_eq!(jobs.len(), 7);
    assert_eq!(jobs[0]["need"], "air_forgotten");
    assert_eq!(jobs[0]["bay"], "air");
    assert!(jobs[0]["air_on"]["minutes"].as_i64().unwrap() >= 60);
    let works = jobs.iter().find(|job| job["bay"] == "works").unwrap();
    assert_eq!(
        (&works["verified"], &works["valves"]),
        (&5.into(), &8.into())
    );
    assert!(works["to_go"]["about_min"].as_f64().unwrap() > 0.0);
    assert!(answer["faults"][0].as_str().unwrap().contains("line 3"));
    assert!(
        answer["left_alone"][0]
            .as_str()
            .unwrap()
            .contains("rubbish.txt")
    );
    assert!(err.contains("rubbish.txt") && err.contains("line 3"));
    let (code, out, _) = run(&["trayzero", "board", folder]);
    assert_eq!(code, cli::EXIT_DONE);
    assert!(
        out.contains("a part is adrift") && out.contains("5 of 8 verified"),
        "{out}"
    );
    let (code, _, err) = run(&["trayzero", "board", "/no/such/folder"]);
    assert_eq!(code, cli::EXIT_BAD_INPUT);
    assert!(err.contains("/no/such/folder"), "{err}");
}

/// 200 jobs with 100,000 events. The bound on the update is the shop's own wish, loose
/// enough for a busy machine; the figures are printed.
#[test]
fn an_update_after_one_tap_is_a_small_part_of_the_first_board() {
    const JOBS: u128 = 200;
    const EVENTS: usize = 500;
    let root = scratch();
    let mut bench = Bench::of("v8-cross-plane-32v", "Bay");
    let until = EVENTS - 10;
    let mut script = technician(&Person::new("Ada"), 9);
    while bench.entries.len() < until {
        let events = script.tap(&bench.state, None);
        if events.is_empty() {
            break;
        }
        for event in events {
            bench.tap(0, event);
        }
    }
    while bench.entries.len() < EVENTS {
        bench.tap(
            0,
            Event::Noted {
                text: "more".into(),
            },
        );
    }
    for job in 1..=JOBS {
        bench.write(root.path(), job);
    }
    let begun = Instant::now();
    let mut board = Board::of_folder(root.path(), Limits::FOREIGN, Proofs::default()).unwrap();
    let first = begun.elapsed();
    assert_eq!(board.cards().len(), JOBS as usize);
    let (mut updates, mut looks) = (Vec::new(), Vec::new());
    for tap in 0..9 {
        let note = Event::Noted {
            text: format!("tap {tap}"),
        };
        bench.tap(1, note);
        let job = Uuid::from_u128(17);
        let opened = Writer::open(root.path(), job, TABLET).unwrap();
        let mut writer = opened.writer;
        writer
            .append(&bench.entries[bench.entries.len() - 1..])
            .unwrap();
        drop(writer);
        // As the board's thread does it: the exchange has said which job has new lines.
        let begun = Instant::now();
        if tap % 2 == 0 {
            assert!(board.read_job(job).unwrap());
            updates.push(begun.elapsed());
        } else {
            assert_eq!(board.read_on().unwrap(), [job]);
            looks.push(begun.elapsed());
        }
        assert_eq!(board.card(job).unwrap().summary.last_ms, bench.at_ms);
    }
    looks.sort();
    // The least: what else the machine does at the time only adds to it.
    let update: Duration = updates.into_iter().min().unwrap();
    println!(
        "{JOBS} jobs, {} events: first board {first:?}, update after one tap {update:?}, \
         a look at every job {:?}",
        JOBS as usize * EVENTS,
        looks[looks.len() / 2]
    );
    assert!(update < first / 50, "{update:?} of {first:?}");
}

#[test]
fn a_job_without_its_opening_has_no_card() {
    let root = scratch();
    let job = Uuid::from_u128(3);
    drop(Writer::open(root.path(), job, TABLET).unwrap());
    let board = Board::of_folder(root.path(), Limits::OWN, Proofs::default()).unwrap();
    assert!(board.cards().is_empty());
}
