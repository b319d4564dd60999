//! The demo shop: one whole job on the command line, and the depot behind the window.

#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod bays;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde_json::Value;
use tempfile::TempDir;
use trayzero::cli;
use trayzero::data::store::{Clock, JobSummary, Store, SystemClock};
use trayzero::demo::{create_demo_data, open_demo_folder};
use trayzero::desk::Desk;
use trayzero::ui::screens::top;
use trayzero_core::job::{DropStatus, JobPhase};

struct Run {
    exit: u8,
    out: String,
    err: String,
}

fn trayzero(args: &[&str]) -> Run {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let all = ["trayzero"].iter().chain(args).copied();
    let exit = cli::run(all, &mut out, &mut err);
    Run {
        exit,
        out: String::from_utf8(out).unwrap(),
        err: String::from_utf8(err).unwrap(),
    }
}

fn demo_into(folder: &Path) -> Run {
    trayzero(&["demo", "--out", folder.to_str().unwrap()])
}

/// Every file below a folder with its bytes.
fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut all = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                all.insert(path.clone(), fs::read(path).unwrap());
            }
        }
    }
    all
}

/// The texts stand in the output one after another.
fn assert_in_order(out: &str, texts: &[&str]) {
    let mut rest = out;
    for text in texts {
        let Some((_, after)) = rest.split_once(text) else {
            panic!("\"{text}\" is missing, or comes too early, in\n{out}");
        };
        rest = after;
    }
}

#[test]
fn the_demo_plays_one_whole_job_and_leaves_journal_record_and_picture() {
    let scratch = TempDir::new().unwrap();
    let folder = scratch.path().join("new");
    let run = demo_into(&folder);
    assert_eq!(
        (run.exit, run.err.as_str()),
        (cli::EXIT_DONE, ""),
        "{}",
        run.out
    );

    let valves: Vec<String> = (1..=8).map(|n| format!("verified, {n} of 8")).collect();
    assert_in_order(
        &run.out,
        &valves.iter().map(String::as_str).collect::<Vec<_>>(),
    );
    assert_in_order(
        &run.out,
        &[
            "1 lock dropped; 1 adrift",
            "verified, 8 of 8",
            "the gate refuses:",
            "R505 1 lock adrift",
            "Found it; 0 adrift",
            "Blind count, Tomas",
            "Blind count, Joris",
            "The cover is on",
            "Job closed",
            "read again: the same state",
        ],
    );

    let store = Store::open(&folder, SystemClock.now()).unwrap();
    let listed = store.jobs().unwrap();
    assert!(listed.faults.is_empty(), "{:?}", listed.faults);
    assert_eq!((listed.jobs.len(), listed.finished), (0, 1));
    let only = &store.finished(0, 2)[0];
    let job = store.open_job(only.job).unwrap();
    let state = job.state();
    assert_eq!(state.phase(), JobPhase::Closed);
    assert_eq!(state.verified_count(), 8);
    assert_eq!((state.loose(), state.aboard(), state.adrift()), (0, 0, 0));
    assert!(
        state
            .drops()
            .iter()
            .all(|d| matches!(d.status, DropStatus::Found(_)))
    );
    assert_eq!(state.drops().len(), 1);
    assert!(state.conflicts().is_empty());

    let check = trayzero(&["check", folder.to_str().unwrap()]);
    assert_eq!(check.exit, cli::EXIT_DONE, "{}", check.out);

    // PNG, third edition: signature, then IHDR with width and height as big-endian words.
    let picture = fs::read(folder.join("bay.png")).unwrap();
    assert_eq!(
        picture[..8],
        [0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a]
    );
    assert_eq!(
        picture[16..24],
        [0, 0, 0x05, 0x00, 0, 0, 0x03, 0x20],
        "1280 by 800"
    );
    assert!(picture.len() > 20_000, "an empty ground packs far smaller");

    // ISO 32000: a header at the start, the end-of-file mark at the end.
    let record = fs::read(folder.join("record.pdf")).unwrap();
    assert!(record.starts_with(b"%PDF-") && record.trim_ascii_end().ends_with(b"%%EOF"));
}

#[test]
fn a_folder_that_holds_anything_is_refused_and_left_as_it_is() {
    let scratch = TempDir::new().unwrap();
    assert_eq!(
        demo_into(scratch.path()).exit,
        cli::EXIT_DONE,
        "empty is good"
    );
    let before = files(scratch.path());
    assert!(before.len() >= 5, "{:?}", before.keys());
    let again = demo_into(scratch.path());
    assert_eq!((again.exit, again.out.as_str()), (cli::EXIT_BAD_INPUT, ""));
    assert!(
        again.err.contains(scratch.path().to_str().unwrap()),
        "{}",
        again.err
    );
    assert!(again.err.contains("not empty"), "{}", again.err);
    assert_eq!(files(scratch.path()), before);

    let other = TempDir::new().unwrap();
    fs::write(other.path().join("letters.txt"), "mine").unwrap();
    let refused = demo_into(other.path());
    assert_eq!(refused.exit, cli::EXIT_BAD_INPUT);
    assert!(refused.err.contains("letters.txt"), "{}", refused.err);
    assert_eq!(files(other.path()).len(), 1);
}

#[test]
fn a_file_in_place_of_the_folder_is_named_and_left_alone() {
    let scratch = TempDir::new().unwrap();
    let file = scratch.path().join("note");
    fs::write(&file, "mine").unwrap();
    let run = demo_into(&file);
    assert_eq!((run.exit, run.out.as_str()), (cli::EXIT_BAD_INPUT, ""));
    assert!(run.err.contains(file.to_str().unwrap()), "{}", run.err);
    assert_eq!(fs::read(&file).unwrap(), b"mine");
    let without = trayzero(&["demo"]);
    assert_eq!(without.exit, cli::EXIT_BAD_INPUT);
    assert!(without.err.contains("--out"), "{}", without.err);
}

#[test]
fn the_demo_answers_in_json_with_stable_names() {
    let scratch = TempDir::new().unwrap();
    let run = trayzero(&["demo", "--json", "--out", scratch.path().to_str().unwrap()]);
    assert_eq!(run.exit, cli::EXIT_DONE, "{}", run.err);
    assert_eq!(run.out.lines().count(), 1);
    let answer: Value = serde_json::from_str(&run.out).unwrap();
    assert_eq!(answer["valves"], 8);
    assert_eq!(answer["adrift"], 0);
    assert_eq!(answer["same_when_read_again"], true);
    for file in ["journal", "record", "picture"] {
        assert!(
            Path::new(answer[file].as_str().unwrap()).is_file(),
            "{answer}"
        );
    }
}

#[test]
fn the_depot_fills_a_scratch_folder_that_goes_away() {
    let now = SystemClock.now();
    let folder = open_demo_folder(now).unwrap();
    let path = folder.path().to_owned();
    let store = Store::open(&path, now).unwrap();
    let listed = store.jobs().unwrap();
    assert!(listed.faults.is_empty(), "{:?}", listed.faults);
    assert_eq!((listed.jobs.len(), listed.finished), (4, 1));
    let open: Vec<&str> = listed
        .jobs
        .iter()
        .filter(|j| j.summary.phase == JobPhase::Open)
        .map(|j| j.summary.bay.as_str())
        .collect();
    let mut bays = open.clone();
    bays.sort_unstable();
    assert_eq!(bays, ["Bay 1", "Bay 2", "Bay 3", "Bay 4"]);
    let adrift: u32 = listed.jobs.iter().map(|j| j.summary.adrift).sum();
    assert_eq!(adrift, 1);
    let latest = listed.jobs.iter().map(|j| j.summary.last_ms).max().unwrap();
    assert_eq!(
        now.at_ms - latest,
        3 * 60_000,
        "the last tap was three minutes ago"
    );
    let check = trayzero(&["check", path.to_str().unwrap()]);
    assert_eq!(check.exit, cli::EXIT_DONE, "{}", check.out);
    drop((store, folder));
    assert!(!path.exists());
}

#[test]
fn the_depot_moves_into_a_data_folder_of_its_own() {
    let scratch = TempDir::new().unwrap();
    let now = SystemClock.now();
    let store = Store::open(scratch.path(), now).unwrap();
    let jobs = create_demo_data(&store, now).unwrap();
    assert_eq!(jobs.len(), 5);
    for job in jobs {
        let job = store.open_job(job).unwrap();
        assert!(job.read_only().is_none(), "{}", job.state().vehicle());
        assert!(job.state().ledger().is_conserved());
    }
}

/// A picture's pixels, three bytes each, with its size.
fn pixels(bytes: &[u8]) -> ((u32, u32), Vec<[u8; 3]>) {
    let mut decoder = png::Decoder::new(std::io::Cursor::new(bytes));
    decoder.set_transformations(png::Transformations::normalize_to_color8());
    let mut reader = decoder.read_info().unwrap();
    let mut all = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut all).unwrap();
    let each = info.color_type.samples();
    assert!(each >= 3, "a picture in colour");
    let all = all.chunks(each).map(|p| [p[0], p[1], p[2]]).collect();
    ((info.width, info.height), all)
}

/// Share of the pixels that differ clearly.
fn differs(kept: &[u8], made: &[u8]) -> f64 {
    let ((kept_size, kept), (made_size, made)) = (pixels(kept), pixels(made));
    assert_eq!(kept_size, made_size);
    let far = |(a, b): &(&[u8; 3], &[u8; 3])| (0..3).any(|i| a[i].abs_diff(b[i]) > 24);
    let count = kept.iter().zip(&made).filter(far).count();
    count as f64 / kept.len() as f64
}

/// The README's pictures are what the program draws now. `bash assets/pictures/make` makes
/// them anew.
#[test]
fn the_pictures_of_the_readme_are_current() {
    let scratch = TempDir::new().unwrap();
    let folder = scratch.path().join("new");
    let run = demo_into(&folder);
    assert_eq!(run.exit, cli::EXIT_DONE, "{}", run.err);
    let page = std::process::Command::new("pdftoppm")
        .args(["-png", "-r", "70", "-f", "1", "-l", "1", "-singlefile"])
        .arg(folder.join("record.pdf"))
        .arg(folder.join("record"))
        .status()
        .expect("pdftoppm of poppler-utils is installed (tests/run installs it)");
    assert!(page.success());
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("../assets/pictures");
    let mut bytes = 0;
    let drawn = Path::new(env!("CARGO_MANIFEST_DIR")).join("../target/pictures/readme");
    fs::create_dir_all(&drawn).unwrap();
    // The record bears its times and its check value, the board its ends; the bay shows no
    // time of day.
    for (name, most) in [
        ("bay.png", 0.001),
        ("board.png", 0.02),
        ("record.png", 0.01),
    ] {
        let old = fs::read(kept.join(name)).unwrap();
        let new = fs::read(folder.join(name)).unwrap();
        fs::write(drawn.join(name), &new).unwrap();
        let share = differs(&old, &new);
        println!("{name}: {:.3} % of the pixels differ", share * 100.0);
        assert!(
            share <= most,
            "{name} is stale: {share}; run assets/pictures/make"
        );
        bytes += old.len();
    }
    assert!(bytes < 1_000_000, "{bytes} bytes of pictures");
}

#[test]
fn the_first_picture_tells_of_air_and_parts_before_the_board_has_read_anything() {
    let depot = open_demo_folder(SystemClock.now()).unwrap();
    let store = Store::open(depot.path(), SystemClock.now()).unwrap();
    let mut desk = Desk::open(store, Arc::new(SystemClock)).unwrap();
    assert!(desk.view().cards.is_empty());
    let first = top::counters(&desk.view());
    desk.read_board();
    let cards = desk.view().cards.to_vec();
    let sum = |of: fn(&JobSummary) -> u32| cards.iter().map(|c| of(&c.summary)).sum::<u32>();
    assert_eq!(
        (first.loose, first.aboard, first.adrift),
        (sum(|s| s.loose), sum(|s| s.aboard), sum(|s| s.adrift))
    );
    assert!(first.aboard > 0 && first.adrift > 0);
    let air = cards.iter().filter(|c| c.summary.air.is_some());
    let longest = air.min_by_key(|c| c.summary.air.unwrap().since_ms).unwrap();
    let first = first.air.unwrap();
    // Two bays have air on: the figure is of the longer one, and says that it is not all.
    assert_eq!(first.bay.as_deref(), Some("2 bays"));
    assert_eq!(first.cylinder, longest.summary.air.unwrap().cylinder);
}
