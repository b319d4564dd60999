//! Journals that earlier versions have written, kept as they were: read, replayed, and held
//! against what a reader of their JSON lines finds that shares no code with core.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;
use sha2::{Digest, Sha256};
use trayzero::cli;
use trayzero::data::store::Stamp;
use trayzero_core::job::{Entry, Event, JobPhase, JobState};
use trayzero_core::journal::{Limits, Writer, journal_path, merge, read_journal};
use trayzero_tests::entries::{MORNING_MS, id_of, weighed};
use trayzero_tests::told;
use uuid::Uuid;

/// One journal as the JSON says it.
struct Kept {
    path: PathBuf,
    job: Uuid,
    tablet: Uuid,
    lines: Vec<Value>,
}

fn folder(version: &str) -> PathBuf {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR"));
    tests.join("fixtures/journals").join(version)
}

fn names_in(folder: &Path) -> Vec<PathBuf> {
    let all = fs::read_dir(folder).unwrap();
    let mut all: Vec<PathBuf> = all.map(|entry| entry.unwrap().path()).collect();
    all.sort();
    all
}

fn uuid_of(path: &Path) -> Uuid {
    path.file_stem().unwrap().to_str().unwrap().parse().unwrap()
}

/// Reads the lines by hand: each closes with the hash over the link before it and its body.
fn read_by_hand(path: &Path) -> Kept {
    let text = fs::read_to_string(path).unwrap();
    let mut link = [0_u8; 32];
    let mut lines: Vec<Value> = Vec::new();
    for line in text.lines() {
        let (body, tail) = line.rsplit_once(",\"link\":\"").unwrap();
        let hash = Sha256::new().chain_update(link).chain_update(body);
        link = hash.finalize().into();
        let mut digits = String::new();
        for byte in link {
            write!(digits, "{byte:02x}").unwrap();
        }
        assert_eq!(tail, format!("{digits}\"}}"), "{}", path.display());
        lines.push(serde_json::from_str(line).unwrap());
    }
    let job = uuid_of(path.parent().unwrap());
    let tablet = uuid_of(path);
    assert_eq!(lines[0]["job"], job.to_string());
    assert_eq!(lines[0]["tablet"], tablet.to_string());
    lines.remove(0);
    Kept {
        path: path.to_owned(),
        job,
        tablet,
        lines,
    }
}

/// Every journal of a version, by job.
fn kept(version: &str) -> BTreeMap<Uuid, Vec<Kept>> {
    let mut all: BTreeMap<Uuid, Vec<Kept>> = BTreeMap::new();
    for job in names_in(&folder(version).join("jobs")) {
        for file in names_in(&job) {
            let journal = read_by_hand(&file);
            all.entry(journal.job).or_default().push(journal);
        }
    }
    all
}

/// What core reads of a job, folded; each line is what the JSON says.
fn replayed(journals: &[Kept]) -> (Vec<Entry>, JobState) {
    let mut read_all = Vec::new();
    for kept in journals {
        let read = read_journal(&kept.path, kept.job, kept.tablet, Limits::OWN).unwrap();
        assert!(read.fault.is_none() && read.torn.is_none() && read.unknown == 0);
        assert!(weighed(&kept.path, kept.job, kept.tablet).bad.is_empty());
        assert_eq!(read.entries.len(), kept.lines.len());
        for (entry, line) in read.entries.iter().zip(&kept.lines) {
            assert_eq!(line["id"], entry.id.to_string());
            assert_eq!(line["who"], *entry.who.0);
            assert_eq!(line["clock"], serde_json::json!(entry.clock));
            assert_eq!(line["event"], serde_json::to_value(&entry.event).unwrap());
        }
        read_all.push(read.entries);
    }
    let merged = merge(read_all);
    assert!(merged.clashes.is_empty());
    let mut state = JobState::new();
    for entry in &merged.entries {
        state.fold(entry);
    }
    (merged.entries, state)
}

/// The lines as the model of what was told reads them.
fn told_by(journals: &[Kept]) -> told::Told {
    let line = |kept: &Kept, line: &Value| {
        let mut line = line.clone();
        line["tablet"] = kept.tablet.to_string().into();
        line.to_string()
    };
    let all = journals
        .iter()
        .flat_map(|kept| kept.lines.iter().map(move |one| line(kept, one)));
    told::read(&all.collect::<Vec<String>>())
}

/// How often an event stands in the JSON.
fn count(journals: &[Kept], name: &str) -> usize {
    let lines = journals.iter().flat_map(|kept| &kept.lines);
    lines.filter(|line| !line["event"][name].is_null()).count()
}

/// Nothing of what is written is lost: every line is known, as taken or as a conflict, and
/// what was told lost and never ended is adrift.
fn assert_nothing_is_lost(name: &str, journals: &[Kept], state: &JobState) {
    let lines: Vec<&Value> = journals.iter().flat_map(|kept| &kept.lines).collect();
    for line in &lines {
        let id: Uuid = line["id"].as_str().unwrap().parse().unwrap();
        assert!(state.knows(id), "{name}: {line}");
    }
    let shown = state.event_count() + state.conflicts().len();
    assert_eq!(shown, lines.len(), "{name}");
    let told = told_by(journals);
    let adrift: BTreeSet<String> = state.drops_adrift().map(|d| d.id.to_string()).collect();
    let told_adrift: BTreeSet<String> = told.adrift.keys().cloned().collect();
    assert_eq!(adrift, told_adrift, "{name}");
    assert!(state.ledger().is_conserved(), "{name}");
}

/// One kept job: its number, what happened in it, how the version that wrote it had ended
/// it, and the code of the first thing that does not stand by today's rules.
type Row = (u64, &'static str, JobPhase, Option<&'static str>);

const BEFORE: [Row; 8] = [
    (1, "one tablet, nothing against it", JobPhase::Closed, None),
    (
        2,
        "a lock missing while the job rested",
        JobPhase::Closed,
        Some("R123"),
    ),
    (
        3,
        "a lock that flew off at the second tablet",
        JobPhase::Closed,
        Some("R301"),
    ),
    (
        4,
        "a lock dropped from an empty tray",
        JobPhase::Closed,
        Some("R401"),
    ),
    (
        5,
        "a rag put aboard of a closed bank",
        JobPhase::Closed,
        Some("R201"),
    ),
    (
        6,
        "a cover taken back by one tap",
        JobPhase::Closed,
        Some("R125"),
    ),
    (
        7,
        "a report of a loss taken back by one tap",
        JobPhase::Closed,
        Some("R125"),
    ),
    (
        8,
        "the crank turned under air",
        JobPhase::Open,
        Some("R213"),
    ),
];

/// The end of a job as its own lines have it, whatever stands of it now.
fn ended_as(journals: &[Kept]) -> JobPhase {
    if count(journals, "job_closed") > 0 {
        JobPhase::Closed
    } else {
        JobPhase::Open
    }
}

#[test]
fn jobs_of_the_version_before_are_read_and_what_it_closed_over_is_open_as_a_conflict() {
    let jobs = kept("before");
    assert_eq!(jobs.len(), BEFORE.len());
    for ((number, name, phase, first), (job, journals)) in BEFORE.into_iter().zip(&jobs) {
        assert_eq!(*job, id_of(1 << 45 | number), "{name}");
        assert_eq!(ended_as(journals), phase, "{name}");
        let (_, state) = replayed(journals);
        assert_nothing_is_lost(name, journals, &state);
        let codes: Vec<&str> = state.conflicts().iter().map(|c| c.refusal.code()).collect();
        assert_eq!(codes.first().copied(), first, "{name}: {codes:?}");
        // A look that did not say what was seen has ended nothing.
        assert_eq!(state.open_conflicts().count(), codes.len(), "{name}");
        if first.is_none() {
            assert_eq!(state.phase(), JobPhase::Closed, "{name}");
            let verified = journals.iter().flat_map(|kept| &kept.lines);
            let verified = verified.filter(|l| l["event"]["stage_seen"]["stage"] == "verified");
            assert_eq!(state.verified_count(), verified.count(), "{name}");
        } else {
            assert_eq!(state.phase(), JobPhase::Open, "{name}: to be looked at");
        }
    }
}

#[test]
fn jobs_of_the_version_before_that_were_opened_again_can_be_brought_to_their_end() {
    for ((_, name, ..), (_, journals)) in BEFORE.into_iter().zip(&kept("before")) {
        let (entries, _) = replayed(journals);
        let ended = (1..=5_u64).any(|seed| {
            let mut tablet = told::Tablet::new(9, entries.clone());
            told::finish(&mut tablet, seed);
            let told = tablet.told();
            tablet.job.phase() == JobPhase::Closed && told.keeps_job_open().is_none()
        });
        assert!(ended, "{name}");
    }
}

#[test]
fn a_journal_of_the_version_before_is_written_on_by_its_own_tablet() {
    for kept in kept("before").values().flatten() {
        let data = tempfile::tempdir().unwrap();
        let file = journal_path(data.path(), kept.job, kept.tablet);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::copy(&kept.path, &file).unwrap();
        let mut opened = Writer::open(data.path(), kept.job, kept.tablet).unwrap();
        let last = opened.read.entries.last().unwrap().clone();
        let text = "goes on".to_owned();
        let next = Entry {
            id: Uuid::from_u128(1 << 100),
            clock: opened.writer.clock().tick(last.at_ms + 1).pair(),
            event: Event::Noted { text },
            ..last
        };
        opened.writer.append(&[next]).unwrap();
        let before = fs::read(&kept.path).unwrap();
        assert!(
            fs::read(&file).unwrap().starts_with(&before),
            "no byte is changed"
        );
        assert_eq!(read_by_hand(&file).lines.len(), kept.lines.len() + 1);
    }
}

/// What the board tells to a script of air that two tablets disagree about.
#[test]
fn the_board_says_that_it_does_not_know_of_air_and_gives_no_figure_for_it() {
    // The folder of the first tablet, as it was left.
    let data = tempfile::tempdir().unwrap();
    for kept in kept("before").values().flatten() {
        let file = journal_path(data.path(), kept.job, kept.tablet);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::copy(&kept.path, &file).unwrap();
    }
    let card = serde_json::json!({
        "format": 1, "tablet": id_of(1 << 46 | 1), "name": "Ada", "public_key": "00".repeat(32),
    });
    fs::write(data.path().join("tablet.json"), card.to_string()).unwrap();
    let mut out = Vec::new();
    let args = cli::board::BoardArgs {
        all: true,
        json: true,
        ..cli::board::BoardArgs::of(data.path())
    };
    let now = Stamp {
        at_ms: MORNING_MS + 4 * 3_600_000,
        offset_min: 60,
    };
    cli::board::run_at(&args, now, &mut out).unwrap();
    let answer: Value = serde_json::from_slice(&out).unwrap();
    let jobs = answer["jobs"].as_array().unwrap();
    assert_eq!(jobs.len(), BEFORE.len(), "{answer}");
    // In two of them air was taken off on the strength of what does not stand any more.
    let asked = [2, 3, 8].map(|number| id_of(1 << 45 | number).to_string());
    for job in jobs {
        let is_asked = asked.iter().any(|id| job["job"] == **id);
        assert!(job["air_on"].is_null(), "{job}");
        let known = job["air_not_known"].as_array().unwrap();
        assert_eq!(is_asked, !known.is_empty() && known[0] == 1, "{job}");
    }
}

/// Every proof in a JSON value.
fn proofs_in(value: &Value) -> Vec<String> {
    match value {
        Value::Object(fields) => fields
            .iter()
            .flat_map(|(name, inner)| match (name.as_str(), inner.as_str()) {
                ("proof", Some(proof)) => vec![proof.to_owned()],
                _ => proofs_in(inner),
            })
            .collect(),
        Value::Array(all) => all.iter().flat_map(proofs_in).collect(),
        _ => Vec::new(),
    }
}

#[test]
fn what_was_seen_second_signatures_and_proofs_are_read_as_they_were_written() {
    let jobs = kept("with_proofs");
    let (_, journals) = jobs.iter().next().unwrap();
    assert_eq!((jobs.len(), journals.len()), (1, 2));
    let (entries, state) = replayed(journals);
    assert_nothing_is_lost("with proofs", journals, &state);
    let written = journals.iter().flat_map(|kept| &kept.lines);
    let mut written: Vec<String> = written.flat_map(|line| proofs_in(&line["event"])).collect();
    let signed = entries.iter().flat_map(|entry| entry.event.signatures());
    let mut read: Vec<String> = signed
        .filter_map(|sign| Some(sign.proof.as_deref()?.to_owned()))
        .collect();
    written.sort();
    read.sort();
    assert_eq!(read, written);
    assert_eq!(
        written.len(),
        6,
        "a look, a search and its taking back, each by two"
    );
    let names = ["conflict_resolved", "search_signed", "withdrawn"];
    assert_eq!(names.map(|name| count(journals, name)), [1, 1, 1]);
    let conflict = &state.conflicts()[0];
    let lines = journals.iter().flat_map(|kept| &kept.lines);
    let mut looks = lines.filter_map(|line| line["event"].get("conflict_resolved"));
    let seen = serde_json::to_value(&conflict.seen).unwrap();
    assert_eq!(looks.next().unwrap()["seen"], seen);
    assert!(!conflict.is_open() && conflict.resolved_by_second.is_some());
    assert_eq!(
        (state.conflicts().len(), state.adrift()),
        (1, 1),
        "the search was taken back"
    );
}
